"""The pages: timetable, a sheet for each station, a strip for each coach; the calendar, read by another program."""

import itertools
import re
from html import unescape
from pathlib import Path

import pytest
from msgspec.structs import replace

from kb.errors import FileUnusable, UsageError
from kb.facade import Library
from kb.model import NOTICE, Plan
from kb.plan.ical import plan_ical
from kb.plan.printable import printable
from kb.plan.write import WRITERS, write_plan
from tests.plan.demo import LARKMOOR


def test_the_timetable_says_what_the_plan_says(starter: Library, demo: Plan) -> None:
    """Every turn stands in the row of its slot and the column of its team."""
    sheet = printable(demo, starter.index, starter.kit_list(LARKMOOR))
    assert sheet.columns == tuple(team.name for team in demo.teams)
    for slot, row in zip(demo.slots, sheet.rows, strict=True):
        assert row[0] == slot.start
        cells = dict(zip(sheet.columns, row[1:], strict=True))
        for turn in slot.rotation:
            assert starter.card(turn.card).title in cells[turn.group]
            assert turn.coach in cells[turn.group]
        assert all(cells[name] == "no station" for name in slot.idle)


def test_every_station_has_a_sheet(starter: Library, demo: Plan) -> None:
    """With picture, turns, sizes of every team that comes and is to be fitted, cues and cautions."""
    sheet = printable(demo, starter.index, starter.kit_list(LARKMOOR))
    used = {turn.card for slot in demo.slots for turn in slot.rotation}
    assert {station.card for station in sheet.stations} == used
    for station in sheet.stations:
        card = starter.card(station.card)
        visits = [turn.group for slot in demo.slots for turn in slot.rotation if turn.card == card.id]
        assert len(station.turns) == len(visits)
        assert (station.svg or "").startswith("<svg")
        assert {size.group for size in station.sizes} == (set(visits) if card.size else set())
        assert station.sections["Keep safe"] == card.sections["Keep safe"]


def test_every_coach_has_a_strip(starter: Library, demo: Plan) -> None:
    """One line a slot, with the hands where she stands by or holds."""
    sheet = printable(demo, starter.index)
    assert [strip.coach for strip in sheet.coaches] == [coach.name for coach in demo.coaches]
    for strip in sheet.coaches:
        assert [line[:5] for line in strip.lines] == [slot.start for slot in demo.slots]
        for slot, line in zip(demo.slots, strip.lines, strict=True):
            for turn in (turn for turn in slot.rotation if strip.coach in (turn.coach, *turn.also)):
                card = starter.card(turn.card)
                assert card.title in line
                assert not card.spotting.spotters or card.spotting.hands in line


def test_sizes_come_from_what_the_others_leave(starter: Library, demo: Plan) -> None:
    """When the other stations hold all the kit, a station's sheet says that its sizes do not come out."""
    visited = {turn.card for slot in demo.slots for turn in slot.rotation if starter.card(turn.card).size}
    name = next(n for n in sorted(visited) if any("mat" in p.item for p in starter.card(n).equipment))
    kit = [(item, 1 if item == "panel-mat" else 0, None) for item in demo.kit if item == "panel-mat"]
    (sheet,) = [s for s in printable(demo, starter.index, kit).stations if s.card == name]
    assert any("do not come out" in line or "No build" in line for size in sheet.sizes for line in size.lines)


@pytest.mark.parametrize("ending", [".html", ".md"])
def test_pages_in_files(starter: Library, demo: Plan, tmp_path: Path, ending: str) -> None:
    """Every title, team and coach is there, and the notice on the wall, on each station and on each strip."""
    path = tmp_path / f"week{ending}"
    write_plan(demo, path, starter.index)
    text = unescape(path.read_text("utf-8"))
    names = [team.name for team in demo.teams] + [coach.name for coach in demo.coaches]
    cards = {turn.card for slot in demo.slots for turn in slot.rotation}
    assert all(name in text for name in [*names, *(starter.card(card).title for card in cards)])
    assert text.count(NOTICE) == 1 + len(cards) + len(demo.coaches)


def test_the_html_is_one_safe_file(starter: Library, demo: Plan, tmp_path: Path) -> None:
    """Nothing is fetched, no script runs, and words of the coach are text."""
    path = tmp_path / "week.html"
    write_plan(replace(demo, themes=("<script>alert(1)</script>",)), path, starter.index)
    text = path.read_text("utf-8")
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert not re.search(r'(src|href)="(?!data:)', text)


def test_the_calendar_is_read_by_another_library(starter: Library, demo: Plan) -> None:
    """Vobject finds warm-up, slots and tidy-up, one after the other, and who is where."""
    vobject = pytest.importorskip("vobject")
    text = plan_ical([replace(demo, date="2027-01-12")], starter.index).decode()
    events = list(vobject.readOne(text).vevent_list)
    assert len(events) == len(demo.slots) + 2
    times = [(event.dtstart.value, event.dtend.value) for event in events]
    assert all(end == begin for (_, end), (begin, _) in itertools.pairwise(times))
    assert f"{times[0][0]:%Y-%m-%d %H:%M}" == f"2027-01-12 {demo.start}"
    assert (times[-1][1] - times[0][0]).total_seconds() == demo.minutes * 60
    for slot, event in zip(demo.slots, events[1:-1], strict=True):
        assert all(f"{turn.group}: {turn.event}" in event.description.value for turn in slot.rotation)
        assert NOTICE in event.description.value
    assert len({event.uid.value for event in events}) == len(events)


def test_what_is_not_written(starter: Library, demo: Plan, tmp_path: Path) -> None:
    """An unknown ending names those that work; a calendar wants a date; a folder that is not there is named."""
    for name in ("week.doc", "week"):
        with pytest.raises(UsageError, match=re.escape(", ".join(WRITERS))):
            write_plan(demo, tmp_path / name, starter.index)
    with pytest.raises(UsageError, match="--date"):
        write_plan(replace(demo, date=""), tmp_path / "week.ics", starter.index)
    with pytest.raises(FileUnusable, match="cannot be written"):
        write_plan(demo, tmp_path / "no" / "week.yaml", starter.index)
