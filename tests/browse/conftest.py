"""The pages of the starter library: in this process, and on a port for a real browser."""

import asyncio
import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from kb.browse.serve import application
from kb.facade import Library
from tests.support import ROOT

Get = Callable[..., httpx.Response]
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"


@pytest.fixture(scope="session")
def pages(starter: Library, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Return the application of all pages over the starter library."""
    app = application(starter, tmp_path_factory.mktemp("browse"))
    loop = asyncio.new_event_loop()
    loop.run_until_complete(app.invoke_startup())
    app.loop, app.asgi = loop, app.app()
    yield app
    app.desk.close()
    loop.close()


@pytest.fixture(scope="session")
def get(pages: Any) -> Get:
    """Return a function that asks for an address and returns the answer."""

    def asking(address: str, method: str = "GET", **more: Any) -> httpx.Response:
        async def once() -> httpx.Response:
            transport = httpx.ASGITransport(app=pages.asgi, client=(f"10.0.{time.monotonic_ns() % 250}.1", 1))
            async with httpx.AsyncClient(transport=transport, base_url="http://gym") as client:
                return await client.request(method, address, **more)

        answer: httpx.Response = pages.loop.run_until_complete(once())
        return answer

    return asking


@pytest.fixture(scope="session")
def address(starter: Library) -> Iterator[str]:
    """Start `drillkb browse` on a free port, as a coach does, and return its address."""
    del starter
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", "from kb.cli import main; main()", "browse", "--no-open", "--port", str(port)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as server:
        where = f"http://127.0.0.1:{port}"
        for _ in range(300):
            with contextlib.suppress(httpx.TransportError):
                if httpx.get(where).status_code == 200:
                    break
            if server.poll() is not None:
                pytest.fail(f"drillkb browse stopped: {server.stdout.read() if server.stdout else ''}")
            time.sleep(0.1)
        yield where
        server.send_signal(signal.SIGINT)
        server.wait(10)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """Return Debian's Chromium, driven by Playwright. In continuous integration it has to be there."""
    if not Path(CHROMIUM).exists():
        if os.environ.get("DRILLKB_BROWSER") == "required":
            pytest.fail("Chromium is not installed, and this run requires it.")
        pytest.skip("Chromium is not installed: apt-get install --no-install-recommends chromium")
    from playwright.sync_api import sync_playwright

    flags = "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking"
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=CHROMIUM, args=[*flags.split(), "--disable-component-update", "--disable-sync"]
        )
        yield browser
        browser.close()
