"""`drillkb new`: write a card, asked question by question, from flags, or from a pasted note."""

import sys
from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import block, bold, echo, labelled
from kb.errors import FileUnusable, UsageError
from kb.facade import Library
from kb.model import NOTICE, SECTIONS
from kb.model.keep import Choice, Draft, Suggestion


@click.command("new")
@click.option("--from", "source", metavar="TEXT|FILE", help="Pre-fill from a pasted note, a file, or - for the input.")
@click.option("--title", help="What the drill is called.")
@click.option("--event", help="Its event.")
@click.option("--level", help="Its level, such as 4 or 3-5.")
@click.option("--sees", help="What the coach sees go wrong, in her words: the fault is searched by them.")
@click.option("--kit", help="Its kit, such as '2 panel mats, wedge'.")
@click.option("--set", "fields", multiple=True, metavar="FIELD=TEXT", help="Any other field, such as 'Do=1. Stand.'")
@click.option("--yes", is_flag=True, help="Ask nothing: take what is usual for everything that is not given.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    source: str | None,
    title: str | None,
    event: str | None,
    level: str | None,
    sees: str | None,
    kit: str | None,
    fields: tuple[str, ...],
    yes: bool,
    as_json: bool,
) -> None:
    """Write a new card into your library. Enter takes what is offered; nothing is ever overwritten."""
    library = library_of(ctx)
    library.may_write()
    given = library.note(_text_of(source)) if source else {}
    flags = {"title": title, "event": event, "level": level, "seen": sees, "equipment": kit}
    given |= {name: text for name, text in flags.items() if text} | dict(assignment(one) for one in fields)
    asks = not (yes or as_json)
    if asks:
        given = _interview(library, given)
    draft = library.draft(given)
    if asks:
        echo([*_draft_lines(draft), ""])
        if not click.confirm(f"Write {draft.file}?", default=True):
            echo(["Nothing was written."])
            return
    path = library.write(draft)
    if as_json:
        print_json({"path": str(path), **_plain(draft)})
        return
    if not asks:
        echo(_draft_lines(draft))
    echo(_written_lines(path, draft))


def assignment(text: str) -> tuple[str, str]:
    """Return name and value of NAME=VALUE. Raises UsageError."""
    name, mark, held = text.partition("=")
    if not mark or not name.strip():
        raise UsageError(f"'{text[:60]}' must be written NAME=VALUE.")
    return name.strip(), held.strip().replace("\\n", "\n")


def _plain(draft: Draft) -> dict[str, object]:
    return {
        "id": draft.id,
        "file": draft.file,
        "kept_out": draft.kept_out,
        "filled": draft.filled,
        "problems": draft.problems,
        "twins": draft.twins,
    }


def _text_of(source: str) -> str:
    if source == "-":
        return sys.stdin.read()
    path = Path(source)
    try:
        if len(source) < 400 and "\n" not in source and path.is_file():
            return path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise FileUnusable(path, 0, "is not UTF-8 text; save it as UTF-8 in the editor.") from None
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be read ({error.strerror}).") from None
    return source


def _interview(library: Library, given: dict[str, str]) -> dict[str, str]:
    """Ask for what is open, one question after another; Enter takes what is offered."""
    from kb.keep.draft import ASKED

    echo([block("Enter takes what stands in brackets. A number takes one of the list; several go with commas."), ""])
    for name in ASKED:
        if name == "no_spot_twin" and given.get("spotting.grade") != "hands-on":
            continue
        text = _ask(library, name, given)
        if text:
            given[name] = text
    return given


def _ask(library: Library, name: str, given: dict[str, str]) -> str:
    while True:
        suggestion = library.suggest(name, given)
        choices = () if name == "level" else suggestion.choices  # a level is a number itself
        text = _prompt(suggestion, choices)
        words = [choices[number - 1].value for number in _numbers(text, len(choices))]
        text = "; ".join(words) or text
        if name == "corrects" and text and "/" not in text and not words:
            given["seen"] = text  # her own words: search by them and offer again
            continue
        if name == "title" and not text:
            echo(["A card needs a title."])
        elif doubt := library.drafter.doubt(name, text) if text else "":
            echo([block(doubt, "  ", "  ")])
        else:
            return text


def _numbers(text: str, most: int) -> list[int]:
    """Return the numbers of choices, when the answer is nothing but such numbers."""
    parts = [part.strip() for part in text.split(",")]
    found = [int(part) for part in parts if part.isdecimal() and 1 <= int(part) <= most]
    return found if len(found) == len(parts) else []


def _prompt(suggestion: Suggestion, choices: tuple[Choice, ...]) -> str:
    offered = [f"{choice.text} [{choice.value}]" for choice in choices]
    echo(["", bold(suggestion.ask), *(block(text, "     ", f"  {n}. ") for n, text in enumerate(offered, start=1))])
    if suggestion.field in SECTIONS:
        return _lines(suggestion.default)
    text: str = click.prompt("", default=suggestion.default, show_default=bool(suggestion.default), prompt_suffix="> ")
    return text.strip()


def _lines(default: str) -> str:
    """Read lines until an empty one; an empty first line takes the default."""
    if default:
        echo([block(line, "    ", "    ") for line in default.split("\n")])
    echo(["  (as many lines as you like; an empty line ends)"])
    found: list[str] = []
    while True:
        text: str = click.prompt("", default="", show_default=False, prompt_suffix="> ")
        if not text.strip():
            return "\n".join(found) or default
        found.append(text.strip())


def _draft_lines(draft: Draft) -> list[str]:
    lines = ["", bold(draft.file)]
    if draft.twins:
        lines += ["", bold("Cards that look much like it")]
        for twin in draft.twins:
            text = f"{twin.title} ({twin.likeness:.0%} the same {twin.alike}): drillkb card {twin.card}"
            lines.append(block(text, "    ", "  - "))
    if draft.filled:
        lines += [
            "",
            labelled("Filled in", f"as is usual, read it before a child goes on it: {', '.join(draft.filled)}"),
        ]
    errors = [problem for problem in draft.problems if not problem.warning]
    if errors:
        lines += ["", bold("Still wrong")]
        lines += [block(str(problem), "    ", "  - ") for problem in errors]
    return lines


def _written_lines(path: Path, draft: Draft) -> list[str]:
    lines = ["", block(f"Written: {path}")]
    if draft.kept_out:
        lines.append(block("It is kept out of answers until this is mended in an editor; 'drillkb check' tells."))
    return [*lines, block(NOTICE)]
