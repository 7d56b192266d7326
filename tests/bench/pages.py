"""The pages: time of an answer in process, fifty phones at once on a served port, memory after many questions."""

import asyncio
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx

import kb
from kb.browse.serve import application
from tests.bench.inside import QUESTIONS

ROOT = Path(__file__).parents[2]
PHONES, EACH = 50, 4
MANY = 10_000


def in_process() -> dict[str, float]:
    """Time an answer page and the first page inside one process, beside the question alone in the same run."""
    library = kb.open_library()
    with tempfile.TemporaryDirectory() as folder:
        app = application(library, Path(folder))
        taken = asyncio.run(_pages(app))
        app.desk.close()
    alone = []
    for question in QUESTIONS * 10:
        start = time.perf_counter()
        library.ask(question)
        alone.append((time.perf_counter() - start) * 1000)
    median = statistics.median(taken)
    return {
        "answer page, median ms": median,
        "answer page, p95 ms (under 60)": sorted(taken)[int(len(taken) * 0.95)],
        "answer page / the question alone": median / statistics.median(alone),
    }


async def _pages(app: object) -> list[float]:
    await app.invoke_startup()  # type: ignore[attr-defined]
    taken = []
    transport = httpx.ASGITransport(app=app.app())  # type: ignore[attr-defined]
    async with httpx.AsyncClient(transport=transport, base_url="http://gym") as client:
        for question in QUESTIONS:
            await client.get("/", params={"q": question})
        for question in QUESTIONS * 10:
            start = time.perf_counter()
            answer = await client.get("/", params={"q": question})
            taken.append((time.perf_counter() - start) * 1000)
            assert answer.status_code in (200, 429)
            await asyncio.sleep(0.03)  # below the rate limit
    return taken


def served() -> dict[str, float]:
    """Serve on a port; ask from fifty phones at once, then 10,000 questions one after another."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", UNLIMITED, "browse", "--no-open", "--port", str(port)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL) as server:
        where = f"http://127.0.0.1:{port}"
        _wait(where)
        phones = asyncio.run(_phones(where))
        before = _memory(server.pid)
        asyncio.run(_many(where))
        after = _memory(server.pid)
        server.send_signal(signal.SIGINT)
        server.wait(10)
    ordered = sorted(seconds for seconds, _ in phones)
    return {
        "phones at once": PHONES,
        "50 phones, p95 s (under 1)": ordered[int(len(ordered) * 0.95)],
        "50 phones, errors": sum(status != 200 for _, status in phones),
        "memory after 50 phones, MB": before,
        f"memory after {MANY} questions, MB (under 400)": after,
        "after / before": after / before,
    }


UNLIMITED = (
    "import kb.browse.guard as guard; guard.PER_SECOND = guard.BURST = 1e9\n"  # one machine plays fifty phones
    "from kb.cli import main; main()"
)


def _wait(where: str) -> None:
    for _ in range(300):
        try:
            if httpx.get(where).status_code == 200:
                return
        except httpx.TransportError:
            time.sleep(0.1)
    raise RuntimeError("the pages did not start")


async def _phones(where: str) -> list[tuple[float, int]]:
    async def phone(number: int) -> list[tuple[float, int]]:
        found = []
        async with httpx.AsyncClient(timeout=30) as client:
            for turn in range(EACH):
                question = f"{QUESTIONS[(number + turn) % len(QUESTIONS)]} {number}"
                start = time.perf_counter()
                answer = await client.get(where, params={"q": question})
                found.append((time.perf_counter() - start, answer.status_code))
        return found

    return [one for many in await asyncio.gather(*map(phone, range(PHONES))) for one in many]


async def _many(where: str) -> None:
    async with httpx.AsyncClient(timeout=30) as client:
        for number in range(MANY):
            await client.get(where, params={"q": f"{QUESTIONS[number % len(QUESTIONS)]} {number % 997}"})


def _memory(process: int) -> float:
    """Return the resident memory of a process in MB."""
    status = Path(f"/proc/{process}/status").read_text("utf-8")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024
