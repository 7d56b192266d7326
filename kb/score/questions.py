"""Judged questions in plain files: what a person would ask, and what people said is right."""

from pathlib import Path
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct

from kb.errors import FileUnusable, UsageError
from kb.library.convert import convert_one
from kb.library.safeyaml import read_yaml
from kb.library.vocabulary import unknown_word
from kb.model import Vocabulary
from kb.model.card import Id, Line

Kind = Literal["plain", "typing", "limits", "sounds-like-stop", "stop", "outside", "skill"]
Grade = Annotated[Literal[1, 2], Meta(description="2 the fault itself, 1 a close neighbour.")]


class JudgedQuestion(Struct, frozen=True, forbid_unknown_fields=True):
    """A question and its right answer."""

    q: Line
    kind: Kind
    voice: Line = "coach"
    event: Id | None = None
    """The event it is about, for the measurements with the event given."""
    faults: dict[str, Grade] = {}
    skill: Id | None = None
    """For a question about a skill."""
    limits: dict[str, Any] = {}
    """What has to be read from the words: level, age, height_cm, without, spotters, group."""

    @property
    def verdict(self) -> str:
        """The verdict that is right."""
        return {"stop": "stop_and_refer", "outside": "no_good_match"}.get(self.kind, "answered")


class QuestionSet(Struct, frozen=True, forbid_unknown_fields=True):
    """The questions of one author."""

    author: int
    half: Literal["tuning", "reporting"]
    questions: tuple[JudgedQuestion, ...]


def read_questions(path: Path, words: Vocabulary) -> list[QuestionSet]:
    """Read a file of judged questions, or all files of a folder. Raises FileUnusable with the line."""
    files = sorted(path.glob("*.yaml")) if path.is_dir() else [path]
    if not files:
        raise UsageError(f"{path} has no file of judged questions (*.yaml).")
    return [_read(file, words) for file in files]


SECOND_GRADER = "second-grader.tsv"
"""File beside the questions with the blind judgement of a second person: columns id, first, also."""


def read_second_grader(folder: Path) -> dict[str, str]:
    """Return question id to the fault that a second person put first; empty when nobody graded a second time."""
    import csv

    path = folder / SECOND_GRADER
    if not path.is_file():
        return {}
    with path.open(encoding="utf-8") as file:
        return {row["id"]: row["first"] for row in csv.DictReader(file, delimiter="\t")}


def read_outside(path: Path) -> list[str]:
    """Read sentences of other worlds from a tab-separated file with a column 'text'. Raises FileUnusable."""
    import csv

    try:
        with path.open(encoding="utf-8") as file:
            return [row["text"] for row in csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)]
    except (OSError, UnicodeDecodeError, KeyError) as error:
        raise FileUnusable(path, 0, f"cannot be read as a table with a column 'text' ({error!r}).") from None


def _read(path: Path, words: Vocabulary) -> QuestionSet:
    try:
        source = read_yaml(path.read_text("utf-8"), str(path))
    except (OSError, UnicodeDecodeError) as error:
        raise FileUnusable(path, 0, f"cannot be read as UTF-8 text ({error.__class__.__name__}).") from None
    found, problems = convert_one(QuestionSet, source, (), str(path))
    if found is None:
        raise FileUnusable(path, problems[0].line, f"{problems[0].field}: {problems[0].message}")
    for place, question in enumerate(found.questions):
        for name, known in ((question.event, words.events), (question.skill, words.skills)):
            if name is not None and name not in known:
                raise FileUnusable(path, source.line(("questions", place)), unknown_word(name, known))
        for fault in question.faults:
            if fault not in words.faults:
                raise FileUnusable(path, source.line(("questions", place, "faults")), unknown_word(fault, words.faults))
    return found
