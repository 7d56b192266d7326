"""Datasette with our pages in front: settings that cannot be forgotten, routes, and the hooks of the tables."""

import functools
import re
from collections.abc import Awaitable, Callable
from html import escape
from importlib.metadata import version
from pathlib import Path
from typing import Any

import msgspec
from datasette import handle_exception as datasette_errors
from datasette import hookimpl
from datasette.app import Datasette
from datasette.plugins import pm
from datasette.utils.asgi import NotFound, Request, Response
from markupsafe import Markup

from kb.browse.answers import ANSWERS
from kb.browse.desk import Desk, TooBusy
from kb.browse.guard import Guard, inline_hashes
from kb.browse.logging import log_page
from kb.browse.pages import PAGES, Query, first, number, tray_cards, whole
from kb.errors import DrillkbError, UnknownName, UsageError
from kb.keep.watch import is_watched
from kb.model import NOTICE, SheetKind, SheetOrder

SETTINGS = {
    "default_allow_sql": False,
    "allow_download": False,
    "allow_csv_stream": False,
    "suggest_facets": False,
    "sql_time_limit_ms": 500,
    "max_returned_rows": 500,
    "default_page_size": 50,
    "max_csv_mb": 5,
    "facet_time_limit_ms": 400,
    "num_sql_threads": 2,
}
LOOPBACK = re.compile(r"^(localhost|127\.|\[::1\])")
"""Hosts that only this machine reaches."""
LINKED = {("drills", "title"): "drill", ("faults", "name"): "fault", ("skills", "skill"): "ladder"}
"""Table and column of names that are pages of ours, and the first part of those pages' address."""


def build_app(desk: Desk, database: Path, site: Path) -> Datasette:
    """Return Datasette over the staff's database with our pages; `site` holds templates, static files, metadata."""
    import yaml

    metadata = yaml.safe_load((site / "datasette.yaml").read_text("utf-8"))
    queries = metadata["databases"]["library"]["queries"]
    desk.queries = [(name, query["title"], query["description"]) for name, query in queries.items()]
    datasette_errors.rich = None  # it would print a traceback with all values for every page that is not found
    app = Datasette(
        [],
        immutables=[str(database)],
        metadata=metadata,
        settings=SETTINGS,
        template_dir=str(site / "templates"),
        static_mounts=[("static", str(site / "static"))],
        memory=False,
    )
    plugin = Pages(desk, site)
    for known in [one for one in pm.get_plugins() if isinstance(one, Pages)]:
        pm.unregister(known)
    pm.register(plugin)
    return app


class Pages:
    """The hooks through which our pages come in."""

    def __init__(self, desk: Desk, site: Path) -> None:
        self.desk, self.site = desk, site
        self.__name__ = "drillkb-pages"  # Datasette lists its plugins by name

    @hookimpl
    def register_routes(self) -> list[tuple[str, Any]]:
        """Return the addresses of our pages, drawings and answers."""
        routes: list[tuple[str, Any]] = [
            (pattern, self.page(work, template)) for pattern, (work, template) in PAGES.items()
        ]
        routes += [(pattern, self.answer(work)) for pattern, work in ANSWERS.items()]
        return [
            *routes,
            (r"^/drill/(?P<id>[a-z0-9-]{1,80})\.svg$", self.drawing),
            (r"^/qr\.svg$", self.qr),
            (r"^/openapi\.json$", self.openapi),
            (r"^/sheet\.pdf$", self.pdf),
            (r"^/generation$", self.generation),
            *([(r"^/log$", self.log)] if self.desk.logs else []),
        ]

    @hookimpl
    def asgi_wrapper(self) -> Callable[[Any], Guard]:
        """Put the guard in front."""
        import datasette as package

        hashes = inline_hashes(Path(package.__file__).parent / "templates")
        return lambda app: Guard(app, hashes, writes=("/log",) if self.desk.logs else ())

    @hookimpl
    def render_cell(self, row: Any, value: Any, column: str, table: str | None) -> Any:
        """Link a row of the tables to our page of it, and show lists as words."""
        kind = LINKED.get((table or "", column))
        if kind and "id" in row.keys():  # noqa: SIM118 - a row of sqlite3 is no dict
            return Markup(f'<a href="/{kind}/{escape(str(row["id"]))}">{escape(str(value))}</a>')  # noqa: S704
        if column == "page" and table and isinstance(value, str):
            return Markup(f'<a href="{escape(value)}">open</a>')  # noqa: S704
        if isinstance(value, str) and column in ("levels", "equipment", "faults") and value.startswith("["):
            return ", ".join(map(str, msgspec.json.decode(value)))
        return self._query_link(column, value) if table is None else None

    @staticmethod
    def _query_link(column: str, value: Any) -> Any:
        """Link the ids in the results of a ready query."""
        if column in ("drill", "twin", "fault") and isinstance(value, str) and re.fullmatch(r"[a-z0-9-]+", value):
            kind = "fault" if column == "fault" else "drill"
            return Markup(f'<a href="/{kind}/{value}">{value}</a>')  # noqa: S704 - only letters, digits and hyphens
        return None

    @hookimpl
    def extra_template_vars(self) -> dict[str, Any]:
        """Return what every page shows."""
        return {"notice": NOTICE, "version": version("drillkb")}

    @hookimpl(tryfirst=True)
    def handle_exception(self, datasette: Datasette, request: Request, exception: Exception) -> Any:
        """Answer an error with a page of ours: one sentence, no traceback, no path."""
        status = getattr(exception, "status", 404 if isinstance(exception, NotFound) else 500)
        sentence = SENTENCES.get(status, SENTENCES[500])

        async def inner() -> Response:
            return await self.failed(datasette, request, status, sentence)

        return inner

    async def failed(self, datasette: Datasette, request: Request, status: int, sentence: str) -> Response:
        """Return an error as a page, or as JSON when JSON was asked for."""
        if request.path.startswith("/api/") or request.path.endswith(".json"):
            return Response(
                msgspec.json.encode({"error": sentence}).decode(),
                status=status,
                content_type="application/json; charset=utf-8",
            )
        context = {"sentence": sentence, "status": status, "here": ""}
        return Response.html(await datasette.render_template("error.html", context, request=request), status=status)

    def page(self, work: Any, template: str) -> Callable[..., Awaitable[Response]]:
        """Return a view that shows a page."""

        async def view(request: Request, datasette: Datasette) -> Response:
            names, query = request.url_vars, query_of(request)
            part = template == "ask.html" and request.headers.get("x-part") == "answer"
            try:
                context = await self.desk.do(functools.partial(self.desk.fresh, work, names, query))
            except DrillkbError as error:
                return await self.failed(datasette, request, *told(error))
            alone = self.desk.shared is None and LOOPBACK.match(request.headers.get("host", "")) is not None
            context["logs"] = self.desk.logs
            context["watched"] = is_watched(self.desk.library.home)
            context |= {"here": template.removesuffix(".html"), "alone": alone}
            html = await datasette.render_template("_answer.html" if part else template, context, request=request)
            return Response.html(html, headers={"cache-control": "no-cache", "vary": "x-part"})

        return view

    def answer(self, work: Any) -> Callable[..., Awaitable[Response]]:
        """Return a view that answers with JSON."""

        async def view(request: Request, datasette: Datasette) -> Response:
            try:
                found = await self.desk.do(
                    functools.partial(self.desk.fresh, work, request.url_vars, query_of(request))
                )
            except DrillkbError as error:
                return await self.failed(datasette, request, *told(error))
            return Response(msgspec.json.encode(found).decode(), content_type="application/json; charset=utf-8")

        return view

    async def drawing(self, request: Request, datasette: Datasette) -> Response:
        """Return the drawing of a card."""
        query = query_of(request)
        try:
            child = (
                number(query, "height", "The height"),
                number(query, "age", "The age"),
                whole(query, "level", "The level"),
            )
            svg = await self.desk.do(functools.partial(self.desk.drawing, request.url_vars["id"], *child))
        except DrillkbError as error:
            return await self.failed(datasette, request, *told(error))
        if svg is None:
            raise NotFound("no drawing")
        return Response(svg, content_type="image/svg+xml", headers={"cache-control": "max-age=600"})

    async def qr(self, request: Request) -> Response:
        """Return the QR code of a tray's address on this server."""
        import io

        import segno

        cards = first(query_of(request), "cards")[:2_000]
        if not re.fullmatch(r"[a-z0-9,-]+", cards):
            raise NotFound("nothing to show")
        host = request.headers.get("host", "")
        if not re.fullmatch(r"[A-Za-z0-9.\-\[\]:]{1,100}", host):
            raise NotFound("no host")
        out = io.BytesIO()
        here = self.desk.shared if self.desk.shared and LOOPBACK.match(host) else f"{request.scheme}://{host}/"
        address = f"{here}tray?cards={cards}"
        segno.make(address, error="l").save(out, kind="svg", scale=4, border=4, light="#fff")
        return Response(out.getvalue().decode(), content_type="image/svg+xml")

    async def pdf(self, request: Request, datasette: Datasette) -> Response:
        """Return the collected drills as a PDF to print: clinic sheet, station cards or pocket cards."""
        query = query_of(request)
        try:
            cards = await self.desk.do(lambda: tray_cards(self.desk, query))
            kind = first(query, "kind") or "clinic"
            if not cards or kind not in PRINTED:
                raise UsageError(f"Name drills with ?cards=ID,ID and a kind: {', '.join(PRINTED)}.")
            order = SheetOrder(
                cards=tuple(card.id for card in cards),
                kind=PRINTED[kind],
                title=first(query, "title")[:80] or None,
                height=number(query, "height", "The height"),
            )
            body = await self.desk.set_pages(order, "letter" if first(query, "paper") == "letter" else "a4")
        except DrillkbError as error:
            return await self.failed(datasette, request, *told(error))
        headers = {"content-disposition": 'inline; filename="drills.pdf"', "cache-control": "no-store"}
        return AsgiBytes(body, content_type="application/pdf", headers=headers)

    async def log(self, request: Request, datasette: Datasette) -> Response:
        """Show the form of the practice log for a drill, and write down what is sent."""
        form = await request.post_vars() if request.method == "POST" else {}
        try:
            context = await self.desk.do(functools.partial(log_page, self.desk, query_of(request), form))
        except DrillkbError as error:
            return await self.failed(datasette, request, *told(error))
        context |= {"here": "log", "watched": False, "logs": True}
        html = await datasette.render_template("log.html", context, request=request)
        return Response.html(html, status=400 if context["problem"] else 200, headers={"cache-control": "no-store"})

    async def generation(self) -> Response:
        """Return the build of the index, which an open page asks for while somebody watches the folder."""

        def now() -> str:
            self.desk.renew()
            return self.desk.generation()

        return Response.text(await self.desk.do(now), headers={"cache-control": "no-store"})

    async def openapi(self) -> Response:
        """Return the description of the JSON interface."""
        text = (self.site / "openapi.json").read_text("utf-8")
        return Response(text, content_type="application/json; charset=utf-8")


PRINTED: dict[str, SheetKind] = {"clinic": "clinic", "station": "station", "pocket": "pocket"}
"""What can be printed from the tray."""


class AsgiBytes(Response):  # type: ignore[misc]
    """A response whose body is bytes."""

    async def asgi_send(self, send: Any) -> None:
        """Send headers and body as they are."""
        headers = {**self.headers, "content-type": self.content_type, "content-length": str(len(self.body))}
        raw = [[name.encode(), value.encode()] for name, value in headers.items()]
        await send({"type": "http.response.start", "status": self.status, "headers": raw})
        await send({"type": "http.response.body", "body": self.body})


SENTENCES = {
    400: "That cannot be asked like this.",
    403: "This is not open here.",
    404: "There is no such page.",
    500: "Something went wrong here. Ask again; if it stays, tell the keeper of the library.",
}


def query_of(request: Request) -> Query:
    """Return the names and values of the address."""
    return {name: request.args.getlist(name) for name in request.args}


def told(error: DrillkbError) -> tuple[int, str]:
    """Return status and sentence for an error; what may hold a path is not told."""
    if isinstance(error, UnknownName):
        return 404, str(error)
    if isinstance(error, UsageError):
        return 400, str(error)
    if isinstance(error, TooBusy):
        return 503, str(error)
    return 500, "The library cannot be read at the moment; its keeper finds out why with 'drillkb check'."
