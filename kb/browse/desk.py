"""The one worker that answers: it owns the library, so that nothing slow runs where pages are served."""

import asyncio
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from kb.errors import DrillkbError
from kb.facade import Library
from kb.model import Card, Paper, Question, SheetOrder, Sizes

T = TypeVar("T")
LONGEST_S = 8.0
"""Seconds after which a page says that it is too busy."""
PRESS_S = 40.0
"""Seconds after which a sheet is given up."""
KEPT = 1_500
"""Drawings that are kept in memory."""


class TooBusy(DrillkbError):
    """More was asked at once than can be answered in time."""

    def __init__(self) -> None:
        super().__init__("Too many ask at once. Wait a moment and try again.")


class Desk:
    """A library, and one thread that works with it."""

    def __init__(self, library: Library) -> None:
        self.library = library
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="drillkb")
        self.logs = False
        """Whether the practice log may be written from the pages."""
        self._seen: int | None = None
        self.shared: str | None = None
        """Address on the club's network, when the pages are shared."""
        self._press = ThreadPoolExecutor(max_workers=1, thread_name_prefix="drillkb-press")
        self.queries: list[tuple[str, str, str]] = []
        """Name, title and description of the ready queries over the staff's tables."""
        self.drawing = lru_cache(maxsize=KEPT)(self._drawing)

    async def do(self, work: Callable[[], T]) -> T:
        """Run work on the thread and return what it returns. Raises TooBusy when it does not come in time."""
        try:
            return await asyncio.wait_for(asyncio.get_running_loop().run_in_executor(self._thread, work), LONGEST_S)
        except TimeoutError:
            raise TooBusy from None

    async def set_pages(self, order: SheetOrder, paper: Paper) -> bytes:
        """Return a sheet as PDF, put together on the library's thread and set in a process of its own.

        Raises TooBusy, and what Library.handout raises.
        """
        sheet = await self.do(lambda: self.library.handout(order))

        def work() -> bytes:
            with tempfile.TemporaryDirectory(prefix="drillkb-") as folder:
                (path,) = self.library.write_handout(sheet, Path(folder) / "sheet.pdf", paper)
                return path.read_bytes()

        try:
            return await asyncio.wait_for(asyncio.get_running_loop().run_in_executor(self._press, work), PRESS_S)
        except TimeoutError:
            raise TooBusy from None

    def warm(self) -> None:
        """Load everything that the first question needs."""
        self.library.ask("piking on vault landing")

    def _drawing(self, name: str, height: float | None, age: float | None, level: int | None) -> str | None:
        return self.library.picture(name, sizes=self.sizes(name, height, age, level))

    def sizes(self, name: str, height: float | None, age: float | None, level: int | None) -> Sizes | None:
        """Return the sizes of a card for a child; None when nothing is known of her."""
        if height is None and age is None:
            return None
        return self.library.size(name, height=height, age=age, level=level)

    def doable(self, have: frozenset[str]) -> list[Card]:
        """Return the cards whose kit is there, one of each piece being as many as are needed."""
        from kb.search.fit import kit_there

        question = Question(text="", symptom="", have=dict.fromkeys(have, 99))
        cards = [self.library.card(name) for name in self.library.index.card_ids]
        return [card for card in cards if kit_there(card, question, self.library.index) is None]

    def fresh(self, work: Callable[["Desk", dict[str, str], dict[str, list[str]]], T], *asked: Any) -> T:
        """Do work on the library as it is now."""
        self.renew()
        return work(self, *asked)

    def generation(self) -> str:
        """Return what changes when the library does: the build of the index that the pages stand on."""
        return str(self.library.index.meta["generation"])

    def renew(self) -> bool:
        """Read the index again when another program has brought it up to date; say whether it has."""
        from kb.index.home import DATABASE

        try:
            stamp = (self.library.home / DATABASE).stat().st_mtime_ns
        except OSError:
            return False
        if stamp == self._seen:
            return False
        before, self._seen = self._seen, stamp
        if before is None:
            return False
        self.library.forget()
        self.drawing.cache_clear()
        return True

    def close(self) -> None:
        """Stop the thread."""
        self._thread.shutdown(wait=False, cancel_futures=True)
        self._press.shutdown(wait=False, cancel_futures=True)
