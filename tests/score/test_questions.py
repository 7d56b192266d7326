"""Judged questions: read from plain files, wrong ones refused with the line, the shipped set as large as promised."""

from collections import Counter
from pathlib import Path

import pytest

from kb.errors import FileUnusable, UsageError
from kb.facade import Library
from kb.score.questions import QuestionSet, read_questions

FOLDER = Path(__file__).parents[1] / "questions"


@pytest.fixture(scope="module")
def sets(starter: Library) -> list[QuestionSet]:
    """Return the judged questions of the project."""
    return read_questions(FOLDER, starter.vocabulary)


def test_the_set_is_large_and_mixed(sets: list[QuestionSet]) -> None:
    """Five hundred questions and more, of every kind, in both halves, each author in one half."""
    questions = [question for one in sets for question in one.questions]
    kinds = Counter(question.kind for question in questions)
    assert len(questions) >= 500
    assert kinds["stop"] >= 60
    assert kinds["sounds-like-stop"] >= 120
    assert kinds["outside"] >= 60
    assert kinds["skill"] >= 40
    assert kinds["typing"] >= 0.15 * len(questions)
    assert sum(bool(question.limits) for question in questions) >= 0.1 * len(questions)
    assert len({one.author for one in sets}) == len(sets)
    assert {one.half for one in sets} == {"tuning", "reporting"}


def test_every_question_is_asked_once(sets: list[QuestionSet]) -> None:
    """No two authors wrote the same words."""
    asked = Counter(" ".join(question.q.lower().split()) for one in sets for question in one.questions)
    assert [text for text, often in asked.items() if often > 1] == []


def test_no_question_is_a_phrase_of_the_vocabulary(sets: list[QuestionSet], starter: Library) -> None:
    """What measures was not copied into what is measured."""
    phrases = {phrase.lower() for fault in starter.vocabulary.faults.values() for phrase in fault.heard_as}
    assert [question.q for one in sets for question in one.questions if question.q.lower() in phrases] == []


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("author: 1\nhalf: tuning\nquestions:\n  - {q: x, kind: plane}\n", 4, "plain"),
        ("author: 1\nhalf: tuning\nquestions:\n  - {q: x, kind: plain, faults: {vault-pike: 2}}\n", 4, "vault-pike"),
        ("author: 1\nhalf: tuning\nquestions:\n  - {q: x, kind: plain, event: valt}\n", 4, "vault"),
        ("author: 1\nquestions: []\n", 1, "half"),
        ("author: 1\nhalf: [", 3, "YAML"),
    ],
)
def test_wrong_files_are_refused(tmp_path: Path, starter: Library, text: str, line: int, says: str) -> None:
    """The error names file, line and what is allowed."""
    path = tmp_path / "questions.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(FileUnusable, match=says) as error:
        read_questions(path, starter.vocabulary)
    assert error.value.line == line
    assert error.value.file == str(path)


def test_empty_folder_and_missing_file(tmp_path: Path, starter: Library) -> None:
    """Nothing to measure is said, not measured."""
    with pytest.raises(UsageError, match="no file"):
        read_questions(tmp_path, starter.vocabulary)
    with pytest.raises(FileUnusable):
        read_questions(tmp_path / "nothing.yaml", starter.vocabulary)
