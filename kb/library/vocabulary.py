"""The vocabulary folder becomes one Vocabulary; what a club adds in vocabulary/club/ joins it."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec

from kb.errors import FileUnusable, LibraryUnusable, nearest
from kb.library.convert import convert_one
from kb.library.files import FOLDER, starter_library
from kb.library.safeyaml import Located, read_yaml
from kb.model import (
    Caution,
    Deduction,
    DemandStep,
    Equipment,
    Event,
    Fault,
    Level,
    Pose,
    Problem,
    ReadingWords,
    SizeRule,
    Skill,
    SpottingGrade,
    Stage,
    Vocabulary,
)

LISTS: dict[str, type[msgspec.Struct]] = {
    "events": Event,
    "levels": Level,
    "stages": Stage,
    "spotting": SpottingGrade,
    "equipment": Equipment,
    "skills": Skill,
    "deductions": Deduction,
    "cautions": Caution,
}
"""File name without ending to the kind of thing that it lists. Faults and demand have a shape of their own."""


PATTERN_FIELDS = (
    *("level", "age", "height", "spotters_none", "spotters_some", "group"),
    *("missing", "only", "bare", "teach", "no_sign"),
)
"""Fields of reading.yaml that hold regular expressions."""


class VocabularyReader:
    """Reads the vocabulary of one library and remembers where each word stands."""

    def __init__(self, library: Path) -> None:
        self.library = library
        self.problems: list[Problem] = []
        self.places: dict[tuple[str, Any], tuple[str, int]] = {}
        """Kind and id to the file and line where it stands."""

    def read(self) -> Vocabulary:
        """Return the vocabulary; what could not be read is in `problems`."""
        if not (self.library / FOLDER / "events.yaml").is_file():
            raise LibraryUnusable(self.library, "is no drill library: it has no vocabulary/events.yaml.")
        lists = {name: self.listed(name, kind) for name, kind in LISTS.items()}
        lists["cautions"] = {name: self.readable(caution) for name, caution in lists["cautions"].items()}
        found = Vocabulary(
            **lists,
            demand=self.demand(),
            faults=self.faults(),
            reading=self.reading(),
            poses=self.own("poses", Pose),
            sizes=self.own("sizes", SizeRule) or self.starter_sizes(),
        )
        self.check_names(found)
        return found

    def listed(self, name: str, kind: type[msgspec.Struct]) -> dict[Any, Any]:
        """Read one list of the starter and what the club adds to it."""
        own, club = self.path(f"{name}.yaml"), self.path(f"club/{name}.yaml")
        if not own.is_file():
            text = "is missing; copy it from the starter library, or write [] into it when there is nothing to list"
            self.problems.append(Problem(own.relative_to(self.library).as_posix(), 0, "", text))
        return self.collect(name, kind, [path for path in (own, club) if path.is_file()])

    def faults(self) -> dict[str, Fault]:
        """Read the faults of all events, the club's last."""
        files = sorted(self.path("faults").glob("*.yaml")) + sorted(self.path("club/faults").glob("*.yaml"))
        return self.collect("faults", Fault, files)

    def own(self, name: str, kind: type[msgspec.Struct]) -> dict[str, Any]:
        """Read a list that a library may do without, the club's last."""
        files = [path for path in (self.path(f"{name}.yaml"), self.path(f"club/{name}.yaml")) if path.is_file()]
        return self.collect(name, kind, files)

    def starter_sizes(self) -> dict[str, SizeRule]:
        """Return the rules of the starter library, for a library that has no sizes.yaml of its own."""
        starter = starter_library()
        if (self.library / FOLDER / "sizes.yaml").is_file() or starter.resolve() == self.library.resolve():
            return {}
        return VocabularyReader(starter).own("sizes", SizeRule)

    def demand(self) -> dict[str, tuple[DemandStep, ...]]:
        """Read what the numbers of a demand mean."""
        source, file = self.source(self.path("demand.yaml"))
        if source is None:
            return {}
        if not isinstance(source.value, dict):
            self.problems.append(Problem(file, 1, "", "must be a map from a demand to the list of its values"))
            return {}
        return {name: tuple(self.items(source, (name,), DemandStep, file)) for name in source.value}

    def reading(self) -> ReadingWords | None:
        """Read how limits are said; a library without the file reads no limits from words."""
        path = self.path("reading.yaml")
        source, file = self.source(path) if path.is_file() else (None, "")
        if source is None:
            return None
        words, problems = convert_one(ReadingWords, source, (), file)
        self.problems += problems
        if words is None:
            return None
        changes = {
            name: self.good_patterns(getattr(words, name), Problem(file, source.line((name,)), name, ""))
            for name in PATTERN_FIELDS
        }
        return msgspec.structs.replace(words, **changes)

    def collect(self, name: str, kind: type[msgspec.Struct], files: list[Path]) -> dict[Any, Any]:
        """Read the entries of several files by id; the first of an id wins and the second is reported."""
        found: dict[Any, Any] = {}
        for path in files:
            source, file = self.source(path)
            for item in self.items(source, (), kind, file) if source else ():
                if item.id in found:
                    self.twice(name, item.id, file)
                else:
                    found[item.id] = item
        return found

    def items(self, source: Located, at: tuple[str, ...], kind: type[Any], file: str) -> Iterator[Any]:
        """Yield the entries of a list that are right and report the others."""
        raw = source.value[at[0]] if at else source.value
        if not isinstance(raw, list):
            self.problems.append(Problem(file, source.line(at), "", "must be a list: each entry begins with '- '"))
            return
        for place in range(len(raw)):
            item, problems = convert_one(kind, source, (*at, place), file)
            self.problems += problems
            if item is not None:
                key = (kind.__name__, getattr(item, "id", None))
                self.places.setdefault(key, (file, source.line((*at, place))))
                yield item

    def source(self, path: Path) -> tuple[Located | None, str]:
        """Read one file, or report why it cannot be read; return its path inside the library too."""
        file = path.relative_to(self.library).as_posix()
        try:
            return read_yaml(path.read_text("utf-8"), file), file
        except FileUnusable as error:
            self.problems.append(Problem(file, error.line, "", error.reason))
        except (OSError, UnicodeDecodeError) as error:
            self.problems.append(Problem(file, 0, "", f"cannot be read as UTF-8 text ({error.__class__.__name__})"))
        return None, file

    def path(self, name: str) -> Path:
        """Return the path of a vocabulary file."""
        return self.library / FOLDER / name

    def place(self, kind: str, name: Any) -> tuple[str, int]:
        """Return the file and line of a word, or the folder when it has none."""
        return self.places.get((kind, name), (FOLDER, 0))

    def readable(self, caution: Caution) -> Caution:
        """Return a caution without the patterns that are no regular expressions; the others go on working."""
        file, line = self.place("Caution", caution.id)
        return msgspec.structs.replace(
            caution, patterns=self.good_patterns(caution.patterns, Problem(file, line, f"{caution.id}.patterns", ""))
        )

    def good_patterns(self, patterns: tuple[str, ...], where: Problem) -> tuple[str, ...]:
        """Return the patterns that are regular expressions and report the others at `where`."""
        good: tuple[str, ...] = ()
        for pattern in patterns:
            try:
                re.compile(pattern.replace("{n}", "1").replace("{kits}", "kit"))
                good += (pattern,)
            except re.error as error:
                text = f"found '{pattern}', which is no regular expression ({error}); nothing is heard by it"
                self.problems.append(msgspec.structs.replace(where, message=text))
        return good

    def twice(self, name: str, word: Any, file: str) -> None:
        """Report an id that a list has already."""
        self.problems.append(Problem(file, 0, str(word), f"stands twice in {name}; rename or remove one of the two"))

    def check_names(self, words: Vocabulary) -> None:
        """Report names inside the vocabulary that lead nowhere."""
        for skill in words.skills.values():
            self.name("Skill", skill.id, "event", skill.event, words.events)
        for item in words.equipment.values():
            for other in item.instead:
                self.name("Equipment", item.id, "instead", other, words.equipment)
        for fault in words.faults.values():
            self.check_fault(fault, words)

    def check_fault(self, fault: Fault, words: Vocabulary) -> None:
        """Report names inside a fault that lead nowhere."""
        self.name("Fault", fault.id, "event", fault.event, words.events)
        if fault.event in words.events:
            self.name("Fault", fault.id, "phase", fault.phase, words.events[fault.event].phases)
        for skill in fault.skills:
            self.name("Fault", fault.id, "skills", skill, words.skills)
        if fault.deduction:
            self.name("Fault", fault.id, "deduction", fault.deduction, words.deductions)

    def name(self, kind: str, owner: str, field: str, used: str, known: Any) -> None:
        """Report a name that is not among the known ones, at the entry that uses it."""
        if used not in known:
            file, line = self.place(kind, owner)
            self.problems.append(Problem(file, line, f"{owner}.{field}", unknown_word(used, known)))


def unknown_word(used: str, known: Any) -> str:
    """Say that a word is not in the vocabulary, with the nearest that are."""
    names = [str(name) for name in known]
    near = nearest(used, names)
    hint = f"; nearest: {', '.join(near)}" if near else f"; there are {', '.join(names) or 'none'}"
    return f"found '{used}', which the vocabulary does not have" + (hint if near or len(names) < 15 else "")
