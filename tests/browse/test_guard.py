"""What stands before the pages: content policy, length, rate."""

import asyncio
from typing import Any

import pytest

from kb.browse import guard
from tests.browse.conftest import Get

OURS = ["/", "/?q=piking", "/drill/vault-tall-fall", "/tray?cards=vault-tall-fall", "/sheet?cards=vault-tall-fall"]
TABLES = ["/library", "/library/drills", "/library/no-kit", "/library/drills/vault-tall-fall"]


@pytest.mark.parametrize("address", [*OURS, *TABLES])
def test_every_page_says_what_it_may_load(get: Get, address: str) -> None:
    """Scripts only from here or by hash; on our pages styles from here too; no frame, no other host."""
    answer = get(address)
    policy = dict(part.strip().split(" ", 1) for part in answer.headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == "'none'"
    assert "unsafe-inline" not in policy["script-src"]
    assert "http" not in answer.headers["content-security-policy"]
    assert ("'unsafe-inline'" in policy["style-src"]) == (address in TABLES)
    if address in OURS:
        assert policy["script-src"] == "'self'"
        assert "<style" not in answer.text
        assert " style=" not in answer.text
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"


def test_long_addresses_are_refused(get: Get) -> None:
    """A question of any length is cut or refused, and never stops the pages."""
    assert get("/", params={"q": "x" * 3000}).status_code == 200
    assert get("/", params={"q": "x" * 5000}).status_code == 414


def test_too_often_is_refused_and_recovers(monkeypatch: pytest.MonkeyPatch) -> None:
    """One address that asks without pause is held back; another is not; after a while the first may ask again."""
    now = [100.0]
    monkeypatch.setattr("kb.browse.guard.time.monotonic", lambda: now[0])
    statuses: list[int] = []

    async def app(_: Any, __: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b""})

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            statuses.append(message["status"])

    gate = guard.Guard(app, [])

    def ask(client: str) -> int:
        scope = {"type": "http", "path": "/", "query_string": b"", "method": "GET", "client": (client, 1)}
        asyncio.run(gate(scope, None, send))
        return statuses[-1]

    assert {ask("10.0.0.1") for _ in range(guard.BURST)} == {200}
    assert ask("10.0.0.1") == 429
    assert ask("10.0.0.2") == 200
    now[0] += 1
    assert ask("10.0.0.1") == 200
    for number in range(guard.ADDRESSES + 5):
        ask(f"10.1.{number // 250}.{number % 250}")
    assert len(gate.seen) <= guard.ADDRESSES
