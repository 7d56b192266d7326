"""The command group: finds commands by name and turns the program's errors into one sentence and an exit code."""

import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from kb.errors import DrillkbError

COMMANDS = {
    "find": "Ask in your own words: the fault, its causes, the drills.",
    "card": "Show one drill, or draw it.",
    "ladder": "Show the way to a skill, rung by rung.",
    "size": "Say how high and how far for a child, and what to build it from.",
    "log": "Write down what was done and what came of it.",
    "browse": "Open the library in the browser, here or for the club's phones.",
    "hear": "Teach it your words for a fault; see what was asked in vain.",
    "club": "Make the club's own library, or upgrade it.",
    "handout": "Print sheets for clinics, stations and new staff.",
    "plan": "Plan the stations and rotations of an evening.",
    "index": "Bring the library's index up to date.",
    "check": "Say what is wrong with the library, or what it lacks.",
    "new": "Write a new card.",
    "import": "Bring in cards of another club, or a table of drills.",
    "export": "Hand the cards out, or copy the library.",
    "score": "Measure the search on judged questions.",
}
"""Every command, in the order of the help, with its short help; kb/cli/<command>.py holds it."""


class LazyGroup(click.Group):
    """A group that imports a command only when it is called or its help is asked for."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        """Return the commands in the order in which a coach meets them."""
        return list(COMMANDS)

    def get_command(self, _ctx: click.Context, name: str) -> click.Command | None:
        """Return a command by name."""
        if name not in COMMANDS:
            return None
        command: click.Command = import_module(f"kb.cli.{name}").command
        return command

    def format_commands(self, _ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, and name the nearest one when there is none of that name."""
        from kb.errors import nearest

        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = nearest(args[0], COMMANDS, 1)
            hint = f"Did you mean '{near[0]}'?" if near else f"There are: {', '.join(COMMANDS)}."
            ctx.fail(f"No command is called '{args[0]}'. {hint}")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; an error of the program prints as one sentence."""
        try:
            return super().invoke(ctx)
        except DrillkbError as error:
            click.echo(f"drillkb: {error}", err=True)
            ctx.exit(error.exit_code)


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.option(
    "--library",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="The drill library; the starter library without it.",
)
@click.option("--general", is_flag=True, help="Search without what was learned from the library's words.")
@click.version_option(package_name="drillkb", message="drillkb %(version)s")
@click.pass_context
def group(ctx: click.Context, library: Path | None, general: bool) -> None:
    """Gymnastics drills for the fault you see.

    Say what you see, in your own words: drillkb find "piking on vault landing".
    A qualified coach decides; your federation's rules come first.
    """
    ctx.obj = library
    ctx.meta["drillkb.general"] = general


def main() -> None:
    """Run the command line."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a terminal in another encoding shows '?' instead of failing
            stream.reconfigure(errors="replace")
    group(prog_name="drillkb")
