"""`drillkb find`: the main job."""

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import NOTICE, block, bold, echo, labelled
from kb.model import Answer, DrillMatch, FaultMatch


@click.command("find")
@click.argument("words", nargs=-1, required=True)
@click.option("--event", metavar="E", help="shapes, vault, bars, beam or floor.")
@click.option("--level", type=int, metavar="L", help="The gymnast's level.")
@click.option("--without", multiple=True, metavar="ITEM", help="Kit that is missing; may be repeated.")
@click.option("--spotters", type=click.IntRange(0, 9), metavar="N", help="Coaches free to spot.")
@click.option("--top", type=click.IntRange(1, 50), default=3, show_default=True, metavar="N", help="How many drills.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    words: tuple[str, ...],
    event: str | None,
    level: int | None,
    without: tuple[str, ...],
    spotters: int | None,
    top: int,
    as_json: bool,
) -> None:
    """Ask in your own words: drillkb find "piking on vault landing"."""
    library = library_of(ctx)
    answer = library.ask(" ".join(words), event=event, level=level, without=without, spotters=spotters, top=top)
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
    lines = [*_read(answer), *_fault(answer.faults[0]), ""]
    said: set[str] = set()
    for place, drill in enumerate(answer.drills, start=1):
        lines += [*_drill(place, drill, skills, said), ""]
        said |= set(drill.why)
    lines += _aside(answer)
    if not answer.drills:
        lines += [block("Nothing is left inside these limits. Take one back, or ask for another level or kit."), ""]
    return [*lines, block(NOTICE)]


def _read(answer: Answer) -> list[str]:
    question = answer.question
    read = [question.event, f"level {question.level}" if question.level else None]
    read += [f"without {item}" for item in question.without]
    read += [f"{question.spotters} to spot" if question.spotters is not None else None]
    said = ", ".join(part for part in read if part)
    return [labelled("Only", said), ""] if said else []


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
    lines += [labelled("   Kit", ", ".join(drill.equipment) or "nothing")]
    lines += [labelled("   Spot", f"{grade}. {drill.spotting['hands']}")]
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
    return [*lines, *(block(f"{item.id}: {item.reason}", "    ", "  - ") for item in answer.set_aside), ""]


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
