"""What stands before every page: which methods, how long, how often, and what a page may load.

The content security policy lets in our own files and, on Datasette's pages, the constant inline scripts of the
installed version, by hash. Datasette's pages have inline styles, so style-src is open there and closed on
ours.
"""

import hashlib
import re
import time
from base64 import b64encode
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

Scope = dict[str, Any]
Send = Callable[[dict[str, Any]], Awaitable[None]]
App = Callable[[Scope, Any, Send], Awaitable[None]]

LONGEST_PATH = 4_000
"""Characters of path and query together."""
BURST, PER_SECOND = 120, 30.0
"""Requests that one address may send at once, and a second after that (common practice, no source)."""
ADDRESSES = 2_000
"""Addresses that are remembered for that."""
LONGEST_FORM = 4_000
"""Bytes of a form that is sent to the practice log."""
TABLES = re.compile(r"^/library(?:[/.?]|$)")
CLOSED = re.compile(r"^/-/(?!static/|static-plugins/)|^/library\.db$")


def inline_hashes(templates: Path) -> list[str]:
    """Return the hashes of the constant inline scripts in Datasette's templates, as a policy writes them."""
    texts = re.findall(r"<script>(.*?)</script>", (templates / "_close_open_menus.html").read_text("utf-8"), re.S)
    texts += [f"DATASETTE_ALLOW_FACET = {value};" for value in ("true", "false")]
    return [f"'sha256-{b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in texts]


class Guard:
    """An ASGI application around another."""

    def __init__(self, app: App, hashes: list[str], *, writes: tuple[str, ...] = ()) -> None:
        self.app, self.writes = app, writes
        common = "default-src 'none'; img-src 'self' data:; connect-src 'self'; font-src 'self'; form-action 'self'; "
        common += "base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'; "
        self.ours = common + "script-src 'self'; style-src 'self'"
        self.tables = common + f"script-src 'self' {' '.join(hashes)}; style-src 'self' 'unsafe-inline'"
        self.seen: OrderedDict[str, tuple[float, float]] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Any, send: Send) -> None:
        """Refuse what is refused; pass on the rest with the headers."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        path = scope["path"]
        length = len(path) + len(scope.get("query_string", b""))
        writing = scope["method"] == "POST" and path in self.writes
        if not writing and scope["method"] not in ("GET", "HEAD"):
            await refuse(send, 405, "Only reading is possible here.", [(b"allow", b"GET, HEAD")])
        elif length > LONGEST_PATH:
            await refuse(send, 414, "That is too long. Ask in fewer words.")
        elif writing and not 0 < body_length(scope) <= LONGEST_FORM:
            await refuse(send, 413, "That is too much to write down.")
        elif not self.may(scope):
            await refuse(send, 429, "That was very often. Wait a few seconds.", [(b"retry-after", b"3")])
        elif CLOSED.match(path):
            await refuse(send, 404, "There is no such page.")
        else:
            await self.app(scope, receive, self.with_headers(send, self.tables if TABLES.match(path) else self.ours))

    def may(self, scope: Scope) -> bool:
        """Say whether this address has not asked too often: a bucket that fills again with time."""
        client = (scope.get("client") or ("", 0))[0]
        now = time.monotonic()
        left, then = self.seen.pop(client, (float(BURST), now))
        left = min(float(BURST), left + (now - then) * PER_SECOND)
        self.seen[client] = (max(0.0, left - 1), now)
        if len(self.seen) > ADDRESSES:
            self.seen.popitem(last=False)
        return left >= 1

    @staticmethod
    def with_headers(send: Send, policy: str) -> Send:
        """Return a send that adds the headers of every page."""

        async def sending(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                drop = (b"content-security-policy", b"referrer-policy", b"link", b"x-databases", b"server")
                headers = [pair for pair in message.get("headers", []) if pair[0].lower() not in drop]
                headers += [
                    (b"content-security-policy", policy.encode()),
                    (b"x-content-type-options", b"nosniff"),
                    (b"referrer-policy", b"no-referrer"),
                    (b"cross-origin-opener-policy", b"same-origin"),
                ]
                message = {**message, "headers": headers}
            await send(message)

        return sending


def body_length(scope: Scope) -> int:
    """Return how long the body says that it is; 0 when it does not say."""
    said = dict(scope.get("headers", ())).get(b"content-length", b"")
    return int(said) if said.isdigit() else 0


async def refuse(send: Send, status: int, sentence: str, headers: list[tuple[bytes, bytes]] | None = None) -> None:
    """Answer with a status and one sentence as plain text."""
    body = f"{sentence}\n".encode()
    start = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": [*start, *(headers or [])]})
    await send({"type": "http.response.body", "body": body})
