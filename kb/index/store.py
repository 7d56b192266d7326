"""Read side of the index: opened once, asked many times, never written to."""

import hashlib
import sqlite3
from collections.abc import Iterable
from functools import cached_property
from pathlib import Path

import msgspec
import numpy as np
from numpy.typing import NDArray

from kb.errors import IndexUnusable
from kb.index.home import DATABASE, FORMAT, NEIGHBOURS
from kb.index.nearest import FaissIndex
from kb.index.neighbours import read_neighbours
from kb.ladder import ladder_place
from kb.model import Card, LadderPlace, Vocabulary

Scores = NDArray[np.float32]


class Index:
    """An open index. The file may be swapped under it; it goes on with what it opened."""

    def __init__(self, home: Path) -> None:
        self.path = home / DATABASE
        try:
            self.db = sqlite3.connect(f"{self.path.as_uri()}?mode=ro", uri=True, check_same_thread=False)
            self.meta: dict[str, str] = dict(self.db.execute("select key, value from meta"))
        except sqlite3.Error as error:
            raise IndexUnusable(self.path, f"SQLite does not read it ({error}). Run 'drillkb index --fresh'.") from None
        if self.meta.get("format") != str(FORMAT):
            raise IndexUnusable(self.path, f"it has format {self.meta.get('format')}, this program reads {FORMAT}.")
        self._terms: dict[tuple[str, str], tuple[NDArray[np.int32], Scores] | None] = {}
        self._cards: dict[str, Card] = {}

    def close(self) -> None:
        """Close the database."""
        self.db.close()

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The library's vocabulary as it was when the index was built."""
        (blob,) = self.db.execute("select json from vocabulary").fetchone()
        return msgspec.json.decode(blob, type=Vocabulary)

    @cached_property
    def card_ids(self) -> list[str]:
        """Ids of all cards, in the order of the cards' posting numbers."""
        return [name for (name,) in self.db.execute("select id from cards order by rowid")]

    @cached_property
    def fault_ids(self) -> list[str]:
        """Ids of all faults, in the order of the faults' posting numbers."""
        return [name for (name,) in self.db.execute("select id from faults order by rowid")]

    @cached_property
    def words(self) -> dict[str, int]:
        """Every word of the library and how often it stands in it."""
        return dict(self.db.execute("select word, count from words"))

    @cached_property
    def phrases(self) -> list[tuple[str, str]]:
        """Fault and text of every phrase, by phrase number."""
        return list(self.db.execute("select fault, text from phrases order by id"))

    @cached_property
    def fault_of_phrase(self) -> NDArray[np.int64]:
        """The number of the fault of every phrase, shape (phrases,)."""
        numbers = {name: number for number, name in enumerate(self.fault_ids)}
        return np.array([numbers[fault] for fault, _ in self.phrases], dtype=np.int64)

    @cached_property
    def passages(self) -> list[tuple[str, str]]:
        """Card and heading of every passage, by passage number."""
        return list(self.db.execute("select card, heading from passages order by id"))

    @cached_property
    def neighbours(self) -> dict[str, FaissIndex]:
        """The vectors of passages and phrases; read from the database when the file beside it is of another build."""
        try:
            return read_neighbours(self.path.with_name(NEIGHBOURS), self.meta["generation"])
        except IndexUnusable:
            return {space: FaissIndex.build(self.vectors(space)) for space in ("passages", "phrases")}

    def vectors(self, space: str) -> Scores:
        """Return the unit vectors of a space ('passages' or 'phrases'), shape (rows, dimension)."""
        if space not in ("passages", "phrases"):
            raise IndexUnusable(self.path, f"it has no vectors called '{space}'.")
        query = f"select vector from {space} join vectors using (hash) order by {space}.id"  # noqa: S608 - checked above
        blob = b"".join(vector for (vector,) in self.db.execute(query))
        return np.frombuffer(blob, dtype=np.float32).reshape(-1, int(self.meta["dimension"]))

    @cached_property
    def version(self) -> str:
        """Eight letters that change when a card or a word of the library changes."""
        rows = self.db.execute(
            "select json from vocabulary union all select * from (select json from cards order by id)"
        )
        text = hashlib.sha256()
        for (blob,) in rows:
            text.update(blob if isinstance(blob, bytes) else blob.encode())
        return text.hexdigest()[:8]

    def card(self, name: str) -> Card:
        """Return one card; KeyError when there is none of that id."""
        if name not in self._cards:
            row = self.db.execute("select json from cards where id = ?", (name,)).fetchone()
            if row is None:
                raise KeyError(name)
            self._cards[name] = msgspec.json.decode(row[0], type=Card)
        return self._cards[name]

    @cached_property
    def cards_of_fault(self) -> dict[str, list[tuple[str, str, int]]]:
        """Fault to (card, cause, weight), strongest first."""
        found: dict[str, list[tuple[str, str, int]]] = {}
        for card, fault, cause, weight in self.db.execute(
            "select card, fault, cause, weight from corrects order by weight desc, card"
        ):
            found.setdefault(fault, []).append((card, cause, weight))
        return found

    @cached_property
    def faults_of_card(self) -> dict[str, list[tuple[str, int]]]:
        """Card to the faults that it mends, with weights."""
        found: dict[str, list[tuple[str, int]]] = {}
        for fault, mending in self.cards_of_fault.items():
            for card, _, weight in mending:
                found.setdefault(card, []).append((fault, weight))
        return found

    def ladder(self, skill: str) -> tuple[tuple[str, ...], ...]:
        """Return the rungs of a skill, lowest first; empty when it has none."""
        row = self.db.execute("select rungs from ladders where skill = ?", (skill,)).fetchone()
        return msgspec.json.decode(row[0], type=tuple[tuple[str, ...], ...]) if row else ()

    def place(self, card: Card) -> LadderPlace:
        """Return where a card stands on the ladder of its main skill."""
        return ladder_place(card, self.ladder(card.skills[0]))

    def word_scores(self, space: str, query: Iterable[str]) -> Scores:
        """Return the BM25 score of every document of a space ('cards', 'faults', 'fault grams' or 'phrases')."""
        sizes = {"cards": len(self.card_ids), "faults": len(self.fault_ids), "phrases": len(self.phrases)}
        sizes["fault grams"] = sizes["faults"]
        total = np.zeros(sizes[space], dtype=np.float32)
        for term in query:
            if (found := self._posting(space, term)) is not None:
                total[found[0]] += found[1]
        return total

    def card_holds(self, card: str, term: str) -> bool:
        """Say whether a card holds a term."""
        found = self._posting("cards", term)
        return found is not None and self._card_numbers[card] in found[0]

    @cached_property
    def _card_numbers(self) -> dict[str, int]:
        return {name: number for number, name in enumerate(self.card_ids)}

    def knows(self, term: str) -> bool:
        """Say whether any card or phrase holds the term."""
        return any(self._posting(space, term) is not None for space in ("cards", "phrases", "faults"))

    def _posting(self, space: str, term: str) -> tuple[NDArray[np.int32], Scores] | None:
        key = (space, term)
        if key not in self._terms:
            row = self.db.execute(
                "select documents, impacts from postings where space = ? and term = ?", key
            ).fetchone()
            self._terms[key] = row and (np.frombuffer(row[0], dtype=np.int32), np.frombuffer(row[1], dtype=np.float32))
        return self._terms[key]
