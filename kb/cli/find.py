"""`drillkb find`: the main job."""

from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.sizes import Height, short_sizes
from kb.cli.text import block, bold, echo, labelled
from kb.model import NOTICE, Answer, DrillMatch, FaultMatch, Rung, SetAside


@click.command("find")
@click.argument("words", nargs=-1, required=True)
@click.option("--event", metavar="E", help="shapes, vault, bars, beam or floor.")
@click.option("--level", type=int, metavar="L", help="The gymnast's level.")
@click.option("--without", multiple=True, metavar="ITEM", help="Kit that is missing; may be repeated.")
@click.option("--kit", type=click.Path(path_type=Path), metavar="FILE", help="A kit list: only what it has is used.")
@click.option("--spotters", type=click.IntRange(0, 9), metavar="N", help="Coaches free to spot.")
@click.option("--height", type=Height(), metavar="CM", help="Her height: the drills come with their sizes.")
@click.option("--age", type=int, metavar="Y", help="Her age in years.")
@click.option("--ignore", multiple=True, metavar="READING", help="Take back what was read: level, event, spelling ...")
@click.option("--group", metavar="SQUAD", help="Only this squad's practice log counts; all without it.")
@click.option("--top", type=click.IntRange(1, 50), default=3, show_default=True, metavar="N", help="How many drills.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    words: tuple[str, ...],
    event: str | None,
    level: int | None,
    without: tuple[str, ...],
    kit: Path | None,
    spotters: int | None,
    height: float | None,
    age: int | None,
    ignore: tuple[str, ...],
    group: str | None,
    top: int,
    as_json: bool,
) -> None:
    """Ask in your own words: drillkb find "piking on vault landing"."""
    library = library_of(ctx)
    answer = library.ask(
        " ".join(words),
        event=event,
        level=level,
        without=without,
        kit=library.kit_list(kit) if kit else None,
        spotters=spotters,
        height=round(height) if height is not None else None,
        age=age,
        ignore=ignore,
        group=group,
        top=top,
    )
    library.note_question(answer)
    if as_json:
        print_json(answer)
    else:
        echo(answer_lines(answer, {skill.id: skill.name for skill in library.vocabulary.skills.values()}))


def answer_lines(answer: Answer, skills: dict[str, str]) -> list[str]:
    """Return the answer as a coach reads it."""
    if answer.caution:
        return _stop(answer)
    if answer.verdict == "no_good_match":
        return _nothing(answer)
    lines = [*_read(answer), *_about(answer, skills), ""]
    said: set[str] = set()
    for place, drill in enumerate(answer.drills, start=1):
        lines += [*_drill(place, drill, skills, said), ""]
        said |= set(drill.why)
    lines += _aside(answer)
    if not answer.drills:
        lines += [block("Nothing is left inside these limits. Take one back, or ask for another level or kit."), ""]
    return [*lines, block(NOTICE)]


READING_NAMES = {
    "level": "level",
    "event": "event",
    "age": "age",
    "height_cm": "height",
    "without": "missing kit",
    "have": "kit there is",
    "spotters": "spotters",
    "group": "group size",
}


def _read(answer: Answer) -> list[str]:
    """Return one line for what was read from the words and one for what was mended, each with its undo."""
    question = answer.question
    said = [f'{READING_NAMES[name]} ("{words}")' for name, words in question.read.items()]
    mended = [f"{typed} as {read}" for typed, read in question.corrections]
    given = [
        name
        for name in ("event", "level", "spotters", "height_cm", "age")
        if getattr(question, name) is not None and name not in question.read
    ]
    given += ["without"] if question.without and "without" not in question.read else []
    lines = (
        [labelled("Only", ", ".join(f"{READING_NAMES[name]} {_value(getattr(question, name))}" for name in given))]
        if given
        else []
    )
    lines += (
        [labelled("Read", f"{', '.join(said)}; take back with --ignore {next(iter(question.read))}")] if said else []
    )
    lines += [labelled("Mended", f"{', '.join(mended)}; take back with --ignore spelling")] if mended else []
    return [*lines, ""] if lines else []


def _value(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


def _about(answer: Answer, skills: dict[str, str]) -> list[str]:
    """Return what the answer is about: the likely fault with its checks, or the ladder of a skill."""
    if answer.ladder:
        name = skills.get(answer.ladder.skill, answer.ladder.skill)
        lines = [bold(block(f"The way to {name}, {len(answer.ladder.rungs)} rungs"))]
        return lines + [_rung(rung.rung == answer.ladder.start, rung) for rung in answer.ladder.rungs]
    lines = _fault(answer.faults[0])
    if answer.which_event:
        first, second = answer.which_event
        lines = [block(f"Is it on {first} or on {second}? Add --event {first} or --event {second}."), "", *lines]
    others = [f"{fault.name} ({fault.event})" for fault in answer.faults[1:]]
    return lines + ([labelled("  Or", "; ".join(others), 6)] if others else [])


def _rung(start: bool, rung: Rung) -> str:
    low, high = rung.level
    more = f" (or {', '.join(rung.instead)})" if rung.instead else ""
    mark = " start here" if start else ""
    return block(f"{rung.title}, levels {low}-{high}: {rung.card}{more}{mark}", "     ", f" {rung.rung:>2}. ")


def _fault(fault: FaultMatch) -> list[str]:
    lines = [bold(block(f"{fault.name} ({fault.event})"))]
    lines += [block(f"{cause.name}: {cause.tell}", "    ", "  ? ") for cause in fault.causes]
    return lines


def _drill(place: int, drill: DrillMatch, skills: dict[str, str], said: set[str]) -> list[str]:
    """Return one drill; reasons that stood under a drill before it (`said`) are not printed again."""
    low, high = drill.level
    levels = f"level {low}" if low == high else f"levels {low}-{high}"
    step = f"rung {drill.ladder.rung} of {drill.ladder.of} to {skills.get(drill.ladder.skill, drill.ladder.skill)}"
    grade = str(drill.spotting["grade"]).replace("-", " ").capitalize()
    why = [reason for reason in drill.why if reason not in said or reason == drill.why[0]]
    lines = [bold(block(f"{place}. {drill.title} ({drill.event}, {levels})")), f"   drillkb card {drill.id}"]
    lines += [labelled("   Why", "; ".join(why))]
    lines += [labelled("   Log", drill.used)] if drill.used else []
    lines += [labelled("   Kit", ", ".join(drill.equipment) or "nothing")]
    lines += [labelled("   Spot", f"{grade}. {drill.spotting['hands']}")]
    lines += [labelled("   Sizes", short_sizes(drill.sizes))] if drill.sizes else []
    lines += [labelled("   Ladder", _ladder(step, drill))]
    lines += [labelled("   Move up", drill.ready_when)]
    lines += [labelled("   CAUTION", drill.caution)]
    return lines


def _ladder(step: str, drill: DrillMatch) -> str:
    parts = [step]
    if drill.ladder.before:
        parts.append(f"before: {drill.ladder.before[0]}")
    if drill.ladder.after:
        parts.append(f"next: {drill.ladder.after[0]}")
    return "; ".join(parts)


def _aside(answer: Answer) -> list[str]:
    if not answer.set_aside:
        return []
    lines = [bold("Set aside")]
    return [*lines, *(block(_put_aside(item), "    ", "  - ") for item in answer.set_aside), ""]


def _put_aside(item: SetAside) -> str:
    instead = f"; instead: {item.instead}" if item.instead else ""
    return f"{item.title} ({item.id}): {item.reason}{instead}"


def _stop(answer: Answer) -> list[str]:
    sign = answer.caution
    if sign is None:
        return []
    return [
        bold(block(f"STOP. {sign.name}.")),
        labelled("  You said", f'"{sign.heard}"'),
        "",
        block(sign.say, "  "),
        "",
        block(f"(Source: {sign.source}.)", "  "),
        block("No drill is given for this. drillkb does not diagnose; a medical professional does.", "  "),
    ]


def _nothing(answer: Answer) -> list[str]:
    lines = [block("No good match: these words do not point clearly to a fault in the library.")]
    if answer.faults:
        lines += ["", "Did you mean one of these?"]
        lines += [block(f"{fault.name} ({fault.event})", "    ", "  - ") for fault in answer.faults]
    return [
        *lines,
        "",
        block("Say what you see, where in the skill, and the event: 'legs come apart in her handstand on beam'."),
    ]
