"""The report: counts add up, a perfect and a useless search are told apart, and the ceiling is the second person's."""

from pathlib import Path

import pytest

from kb.facade import Library
from kb.score.questions import JudgedQuestion
from kb.score.report import measure
from kb.score.run import Asked

ASKED = [
    Asked("1", 1, JudgedQuestion("piking on vault landing", "plain", faults={"vault-pike-before-landing": 2})),
    Asked("2", 1, JudgedQuestion("short handstand on beam", "plain", faults={"beam-handstand-short": 2})),
    Asked("3", 1, JudgedQuestion("short handstand on beam", "plain", faults={"vault-slow-heels": 2})),
    Asked("4", 1, JudgedQuestion("her wrist hurts", "stop")),
    Asked("5", 1, JudgedQuestion("best banana bread recipe", "outside")),
    Asked("6", 1, JudgedQuestion("how do I teach a kip from scratch", "skill", skill="kip")),
    Asked(
        "7",
        1,
        JudgedQuestion(
            "level 4, bent arms in the cast", "limits", faults={"bars-cast-bent-arms": 2}, limits={"level": 4}
        ),
    ),
]


def test_counts(starter: Library) -> None:
    """Right and wrong answers are counted as such; a question judged wrongly on purpose counts as wrong."""
    report = measure(starter.searcher, ASKED, second={"1": "vault-pike-before-landing", "2": "beam-wobbles"})
    full = next(row for row in report.rows if row.system == "full")
    assert full.questions == 4
    assert full.first_given == pytest.approx(0.75)
    refusals = report.refusals
    assert (refusals.stop_caught, refusals.stop_of, refusals.outside_refused, refusals.outside_of) == (1, 1, 1, 1)
    assert (refusals.limits_right, refusals.limits_of, refusals.skills_right, refusals.skills_of) == (1, 1, 1, 1)
    assert report.ceiling is not None
    assert (report.ceiling.questions, report.ceiling.person_first, report.ceiling.full_first) == (2, 0.5, 1.0)
    assert [row.system for row in report.by_event] == ["bars", "beam", "vault"]


def test_no_second_person_no_ceiling(starter: Library, tmp_path: Path) -> None:
    """Without a second grading nothing is claimed."""
    from kb.score.questions import read_second_grader

    assert read_second_grader(tmp_path) == {}
    assert measure(starter.searcher, ASKED[:2]).ceiling is None
