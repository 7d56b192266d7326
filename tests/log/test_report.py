"""Reports by week, fault and squad: the numbers agree with a plain count, and the bars with the numbers."""

import datetime
import xml.etree.ElementTree as ET
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import UnknownName, UsageError
from kb.facade import Library
from kb.log.plot import LEFT, report_svg
from kb.log.report import log_report, week_of
from kb.model.log import RESULTS, LogEntry

SVG = "{http://www.w3.org/2000/svg}"
days = st.dates(datetime.date(2024, 1, 1), datetime.date(2026, 12, 31))
squads = st.sampled_from([None, "Slate", "Amber", "Copper"])
logged = st.lists(st.tuples(days, squads, st.sampled_from(RESULTS)), max_size=30).map(
    lambda said: [LogEntry(n, day, "a", result, group) for n, (day, group, result) in enumerate(said, start=1)]
)


@given(st.dates(datetime.date(2000, 1, 1), datetime.date(2099, 12, 31)))
def test_a_week_is_the_calendars(day: datetime.date) -> None:
    """The same as the C library's %G-W%V, and its name holds the day."""
    name, title = week_of(day)
    assert name == day.strftime("%G-W%V")
    first = datetime.date.fromisocalendar(int(name[:4]), int(name[6:]), 1)
    assert title.startswith(f"{first.day} ")
    assert first <= day <= first + datetime.timedelta(days=6)
    assert title.endswith((first + datetime.timedelta(days=6)).strftime("%b %Y"))


@pytest.mark.parametrize(
    ("day", "title"),
    [
        ("2026-03-04", "2 to 8 Mar 2026"),
        ("2026-04-01", "30 Mar to 5 Apr 2026"),
        ("2027-01-01", "28 Dec 2026 to 3 Jan 2027"),
    ],
)
def test_a_week_as_a_coach_reads_it(day: str, title: str) -> None:
    """Days and month, the year once where it is the same."""
    assert week_of(datetime.date.fromisoformat(day))[1] == title


@given(logged)
def test_squads_and_weeks_are_counted_like_a_plain_count(entries: list[LogEntry]) -> None:
    """Nothing is counted twice or left out, weeks stand in order and without holes in a short time."""
    by_squad = log_report(entries, "squad", {}, {})
    assert {row.id: row.uses for row in by_squad.rows} == Counter(entry.group or "" for entry in entries)
    assert [row.uses for row in by_squad.rows if row.id] == sorted(
        (r.uses for r in by_squad.rows if r.id), reverse=True
    )
    by_week = log_report(entries, "week", {}, {})
    counted = {row.id: row.uses for row in by_week.rows if row.uses}
    assert counted == Counter(entry.when.strftime("%G-W%V") for entry in entries)
    assert [row.id for row in by_week.rows] == sorted(row.id for row in by_week.rows)
    for report in (by_squad, by_week):
        assert report.uses == len(entries)
        totals = Counter(entry.result for entry in entries)
        assert sum(row.counts.too_hard for row in report.rows) == totals["too-hard"]
        assert sum(row.counts.helped for row in report.rows) == totals["helped"]
        assert all(row.counts.uses == row.uses for row in report.rows)


def test_weeks_without_practice_are_shown() -> None:
    """A holiday is a hole in the plot; a year apart it is not drawn out."""

    def weeks(*said: str) -> list[str]:
        entries = [LogEntry(n, datetime.date.fromisoformat(day), "a", "helped") for n, day in enumerate(said)]
        return [row.id for row in log_report(entries, "week", {}, {}).rows]

    assert weeks("2026-03-15", "2026-02-23") == ["2026-W09", "2026-W10", "2026-W11"]
    assert weeks("2026-01-01", "2025-12-28") == ["2025-W52", "2026-W01"]
    assert weeks("2024-01-03", "2026-01-03") == ["2024-W01", "2026-W01"]


def test_a_use_without_a_fault_counts_for_what_the_card_is_made_for(starter: Library, log_file: Path) -> None:
    """The first fault of the card, and a note says how many were counted so."""
    del log_file
    card = starter.card("vault-tall-fall")
    made_for, other = card.corrects[0].fault, "beam-handstand-short"
    starter.log(card.id, "helped")
    starter.log(card.id, "no-change", fault=other)
    report = starter.log_report("fault")
    assert {row.id: row.uses for row in report.rows} == {made_for: 1, other: 1}
    assert report.rows[0].name.endswith(")")
    assert report.notes == ("1 of 2 name no fault and count for what their card is made for.",)
    gone = [LogEntry(1, datetime.date(2026, 3, 2), "no-such-card", "helped")]
    assert [(row.id, row.name) for row in log_report(gone, "fault", {}, {}).rows] == [("", "no fault said")]


@given(logged)
def test_bars_are_as_long_as_the_numbers(entries: list[LogEntry]) -> None:
    """Read back by an XML parser: the parts of each bar stand end to end, each as wide as its count."""
    report = log_report(entries, "squad", {}, {})
    root = ET.fromstring(report_svg(report))  # noqa: S314 - our own picture
    parts = [one for one in root.iter(f"{SVG}rect") if one.get("height") == "18"]
    most = max((row.uses for row in report.rows), default=0)
    wanted = []
    for row in report.rows:
        counts = row.counts
        wanted += [n for n in (counts.helped, counts.mastered, counts.no_change, counts.too_hard) if n]
    widths = [float(one.get("width", 0)) for one in parts]
    assert len(widths) == len(wanted)
    unit = (760 - 270 - 60) / most if most else 0
    assert widths == [pytest.approx(number * unit, abs=0.06) for number in wanted]
    if parts:
        assert float(parts[0].get("x", 0)) == LEFT
    assert "A qualified coach decides" in "".join(root.itertext())


def test_words_of_the_log_do_no_harm_in_a_picture() -> None:
    """A squad with signs of SVG in it, and one that is too long, are text."""
    entries = [LogEntry(1, datetime.date(2026, 3, 2), "a", "helped", "<script>&" + "x" * 80)]
    root = ET.fromstring(report_svg(log_report(entries, "squad", {}, {})))  # noqa: S314 - our own picture
    assert [one for one in root.iter() if "script" in one.tag] == []
    assert any((one.text or "").startswith("<script>&x") and (one.text or "").endswith("…") for one in root.iter())


@pytest.mark.parametrize(("name", "begins"), [("a.svg", b"<svg"), ("a.png", b"\x89PNG")])
def test_a_report_is_drawn(starter: Library, log_file: Path, tmp_path: Path, name: str, begins: bytes) -> None:
    """As SVG and as PNG, empty or not."""
    del log_file
    for _ in range(2):
        starter.write_report(starter.log_report("squad"), tmp_path / name)
        assert (tmp_path / name).read_bytes().startswith(begins)
        starter.log("vault-tall-fall", "helped", group="Slate")
    with pytest.raises(UsageError, match=r"\.svg or \.png"):
        starter.write_report(starter.log_report("squad"), tmp_path / "a.jpg")
    with pytest.raises(UnknownName, match="week"):
        starter.log_report("weeks")  # type: ignore[arg-type]
