"""An edit that another program has put into the index shows in the pages of this one."""

import asyncio
from pathlib import Path
from typing import Any

import httpx

import kb
from kb.browse.serve import application
from tests.support import small_library


def test_an_edit_shows_and_open_pages_are_told(tmp_path: Path) -> None:
    """The page has the new words, the generation that open pages ask for is another, and a watcher is announced."""
    folder = small_library(tmp_path)
    app = application(kb.open_library(folder), tmp_path)
    card = sorted(folder.glob("vault/*.md"))[0]

    async def ask(address: str) -> str:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app.app()), base_url="http://gym") as client:
            return (await client.get(address)).text

    async def story() -> dict[str, Any]:
        await app.invoke_startup()
        seen = {"before": await ask(f"/drill/{card.stem}"), "generation": await ask("/generation")}
        watching = kb.open_library(folder)
        card.write_text(card.read_text("utf-8").replace("## Do\n", "## Do\nBlow a whistle first.\n", 1), "utf-8")
        watching.rebuild()
        (watching.home / "watching").touch()
        return {**seen, "after": await ask(f"/drill/{card.stem}"), "now": await ask("/generation")}

    seen = asyncio.run(story())
    app.desk.close()
    assert "whistle" not in seen["before"]
    assert "data-watch" not in seen["before"]
    assert "whistle" in seen["after"]
    assert "data-watch" in seen["after"]
    assert seen["generation"] != seen["now"]
