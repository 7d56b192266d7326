"""Start the pages on this machine or on the club's network, and say who can see them."""

import contextlib
import io
import os
import socket
import tempfile
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from kb.browse.desk import Desk
from kb.browse.tables import write_tables
from kb.errors import UsageError
from kb.facade import Library

Say = Callable[[str], None]


def site_folder() -> Path:
    """Return the folder with templates and static files, packed in the wheel or beside the package."""
    package = Path(__file__).parents[1]
    packed = package / "share" / "site"
    return packed if packed.is_dir() else package.parent / "site"


def application(library: Library, folder: Path, *, logs: bool = False) -> Any:
    """Return Datasette with our pages over a library; the staff's database is written into `folder`."""
    from kb.browse.app import build_app

    desk = Desk(library)
    desk.logs = logs
    desk.warm()
    database = write_tables(library.collection, folder / "library.db")
    app = build_app(desk, database, site_folder())
    app.desk = desk
    return app


def serve(  # noqa: PLR0913 - one argument an option of the command
    library: Library, *, port: int, share: bool, opens: bool, logs: bool, say: Say
) -> None:
    """Serve until Ctrl-C. Raises UsageError when the port is taken."""
    import asyncio

    import uvicorn

    host = "0.0.0.0" if share else "127.0.0.1"  # noqa: S104 - the club's network, when asked for
    _check_free(host, port)
    with tempfile.TemporaryDirectory(prefix="drillkb-") as folder:
        app = application(library, Path(folder), logs=logs)
        asyncio.run(app.invoke_startup())
        app.desk.shared = f"http://{own_address()}:{port}/" if share else None
        for line in greeting(port, share=share, logs=logs):
            say(line)
        if opens:
            threading.Timer(0.8, webbrowser.open, [f"http://127.0.0.1:{port}/"]).start()
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.run(
                app.app(),
                host=host,
                port=port,
                log_level="error",
                server_header=False,
                timeout_keep_alive=5,
                limit_concurrency=200,
                h11_max_incomplete_event_size=16_384,
            )
        app.desk.close()


def greeting(port: int, *, share: bool, logs: bool = False) -> list[str]:
    """Return what is printed at the start: addresses, a QR code, who can see the pages."""
    lines = [f"drillkb is open at http://127.0.0.1:{port}/ (stop it with Ctrl-C)."]
    if not share:
        return [*lines, "Only this computer can see it. With --share every phone on the club's network can."]
    address = f"http://{own_address()}:{port}/"
    lines += ["", f"On the club's network: {address}", "", qr_text(address)]
    lines.append(
        "Everyone on the same network can read the drills, the faults and the tables; nobody can change them. "
        + ("Everyone can write into the practice log too. " if logs else "The practice log is closed. ")
        + "Stop it with Ctrl-C when the session ends."
    )
    return lines


def qr_text(address: str) -> str:
    """Return a QR code for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(address, error="l").terminal(out, compact=True, border=2)
    return out.getvalue()


def own_address() -> str:
    """Return this machine's address on the network; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for documentation: only the route is looked up
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def _check_free(host: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name == "posix":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            raise UsageError(f"Port {port} is taken on this machine; choose another with --port.") from None
