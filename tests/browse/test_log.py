"""The practice log from the pages: only when asked for, never a name, never more than a form."""

import asyncio
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

import kb
from kb.browse.serve import application
from kb.facade import Library
from tests.browse.conftest import Get
from tests.support import small_library

CARD = "vault-timber-fall"
Post = Callable[[dict[str, str]], httpx.Response]


@pytest.fixture
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Library:
    """Return a small library that may be written, its log in its folder."""
    monkeypatch.delenv("DRILLKB_LOG")
    return kb.open_library(small_library(tmp_path))


@pytest.fixture
def post(library: Library, tmp_path: Path) -> Any:
    """Return a function that fills in the form of the log and sends it."""
    app = application(library, tmp_path, logs=True)

    def sending(fields: dict[str, str], *, token: bool = True) -> httpx.Response:
        async def story() -> httpx.Response:
            await app.invoke_startup()
            async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app.app()), base_url="http://gym") as client:
                page = await client.get(f"/log?card={CARD}")
                found = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
                secret = {"csrftoken": found[1]} if found and token else {}
                return await client.post("/log", data={"card": CARD, **secret, **fields})

        return asyncio.run(story())

    yield sending
    app.desk.close()


def test_what_came_of_it_is_written_down(library: Library, post: Any) -> None:
    """The entry is in the library's log, and the page says so."""
    answer = post({"group": "Slate", "child": "4", "result": "helped"})
    assert answer.status_code == 200
    assert "it helped with Slate" in answer.text
    (entry,) = kb.open_library(library.folder).log_entries()
    assert (entry.card, entry.group, entry.child, entry.result) == (CARD, "Slate", 4, "helped")


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"group": "Slate", "result": "wonderful"}, "one of the four"),
        ({"result": "helped", "child": "4"}, "name the squad"),
        ({"group": "Slate", "result": "helped", "child": "four"}, "number"),
        ({"group": "Slate", "result": "helped", "note": "Emily Brown did well"}, "name"),
    ],
)
def test_what_is_not_written_down(library: Library, post: Any, fields: dict[str, str], says: str) -> None:
    """The page says why, and nothing is in the log."""
    answer = post(fields)
    assert answer.status_code == 400
    assert says in answer.text
    assert kb.open_library(library.folder).log_entries() == ()


def test_a_form_of_another_site_is_refused(library: Library, post: Any) -> None:
    """Without the token that our page carries nothing is written; nor is a body that is too long."""
    assert post({"group": "Slate", "result": "helped"}, token=False).status_code == 403
    assert post({"group": "Slate", "result": "helped", "note": "x" * 5000}).status_code == 413
    assert kb.open_library(library.folder).log_entries() == ()


def test_closed_unless_asked_for(get: Get) -> None:
    """Without --log there is no page and nothing is taken."""
    assert get("/log?card=vault-tall-fall").status_code == 404
    assert get("/log", method="POST").status_code == 405
    assert "Log it" not in get("/drill/vault-tall-fall").text
