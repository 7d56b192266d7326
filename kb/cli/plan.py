"""`drillkb plan`: the evening's stations and rotation."""

from pathlib import Path
from typing import Any

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.plans import check_lines, plan_lines
from kb.cli.text import echo
from kb.errors import UsageError

DATES = ["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%Y-%m-%d"]


@click.command("plan")
@click.option("--theme", multiple=True, metavar="WORDS", help="What the evening is about; may be repeated.")
@click.option(
    "--groups", type=click.Path(path_type=Path), metavar="FILE", help="The squads, as drills/demo/groups.yaml."
)
@click.option("--kit", type=click.Path(path_type=Path), metavar="FILE", help="The kit list of the hall.")
@click.option(
    "--coaches", type=click.IntRange(1, 12), metavar="N", help="Coaches there; the first N of the groups file."
)
@click.option("--minutes", type=click.IntRange(15, 300), metavar="M", help="Of the whole session.")
@click.option(
    "--date", "sessions", multiple=True, type=click.DateTime(DATES), metavar="DATE", help="When: 2027-01-12T17:00."
)
@click.option("--weeks", type=click.IntRange(1, 12), default=1, metavar="N", help="Repeat weekly, up the ladders.")
@click.option("--open", "opened", multiple=True, metavar="EVENT[=N]", help="An open event, room for N stations.")
@click.option("--warm-up", type=click.IntRange(0, 60), metavar="M", help="Minutes to warm up.")
@click.option("--tidy-up", type=click.IntRange(0, 60), metavar="M", help="Minutes to tidy up.")
@click.option("--slot", type=click.IntRange(4, 60), metavar="M", help="Minutes of a slot; chosen without it.")
@click.option(
    "--pin", "pins", multiple=True, metavar="CARD@GROUP", help="This card for this group; @3 after it: in slot 3."
)
@click.option("--avoid", multiple=True, metavar="CARD", help="Not this card.")
@click.option("--mix", is_flag=True, help="The drills are known: let events change freely.")
@click.option(
    "--alternatives", type=click.IntRange(0, 9), default=0, metavar="N", help="Further plans, unlike the first."
)
@click.option("--seed", type=click.IntRange(0, 2**31 - 1), default=0, metavar="N", help="Another of equal plans.")
@click.option(
    "--seconds", type=click.FloatRange(0.5, 600), default=20.0, metavar="S", help="Longest search for one plan."
)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A .pdf, .html, .md, .yaml, .json, .ics file.",
)
@click.option(
    "--check", "checked", type=click.Path(path_type=Path), metavar="FILE", help="Check a plan changed by hand."
)
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    theme: tuple[str, ...],
    groups: Path | None,
    kit: Path | None,
    opened: tuple[str, ...],
    out: Path | None,
    checked: Path | None,
    as_json: bool,
    **wishes: Any,
) -> None:
    """Plan the stations of an evening: squads, events, coaches, kit and time."""
    library = library_of(ctx)
    if checked:
        problems = library.check_plan(checked)
        print_json({"problems": problems}) if as_json else echo(check_lines(problems))
        if any(not problem.advice for problem in problems):
            ctx.exit(1)
        return
    needed = {"--theme": theme, "--groups": groups, "--kit": kit}
    needed |= {"--coaches": wishes["coaches"], "--minutes": wishes["minutes"]}
    missing = [name for name, value in needed.items() if not value]
    if missing or groups is None or kit is None:
        raise UsageError(f"A plan needs {', '.join(missing)} too; --check FILE checks one that there is.")
    plan = library.plan(theme, groups=groups, kit=kit, out=out, open_events=dict(map(_event, opened)), **wishes)
    if as_json:
        print_json(plan)
    else:
        echo(plan_lines(plan, library.index, out))


def _event(text: str) -> tuple[str, int | None]:
    name, equals, many = text.partition("=")
    if equals and not (many.isdigit() and int(many) > 0):
        raise UsageError(f"--open {text}: write it as EVENT or EVENT=N, for example vault=2.")
    return name, int(many) if equals else None
