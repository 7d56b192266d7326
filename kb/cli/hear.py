"""`drillkb hear`: the club's own words."""

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import block, bold, echo
from kb.errors import UsageError
from kb.facade.hearing import Heard


@click.command("hear")
@click.argument("words", nargs=-1)
@click.option("--means", metavar="FAULT", help="The fault that these words mean.")
@click.option("--undo", is_flag=True, help="Take the last words back.")
@click.option("--keep", type=click.Choice(["on", "off"]), help="Keep questions that found nothing, or none.")
@as_json
@click.pass_context
def command(
    ctx: click.Context, words: tuple[str, ...], means: str | None, undo: bool, keep: str | None, as_json: bool
) -> None:
    """Teach it your words: drillkb hear "lands like a sack of potatoes" --means FAULT.

    Without words it lists the questions that found nothing.
    """
    library = library_of(ctx)
    if keep:
        library.keep_questions(on=keep == "on")
        echo([f"Questions that find nothing are {'kept on this machine' if keep == 'on' else 'not kept'}."])
        return
    if undo:
        fault, text = library.unhear()
        echo([block(f"Taken back: '{text}' no longer means {fault}.")])
        return
    if words:
        if not means:
            raise UsageError("Say what the words mean with --means FAULT; 'drillkb find' names the nearest faults.")
        heard = library.hear(" ".join(words), means)
        if as_json:
            print_json(heard)
        else:
            echo(_heard(heard))
        return
    asked = library.asked_in_vain()
    if as_json:
        print_json(asked)
        return
    lines = [block(f"{one.text} ({one.why})", "    ", "  - ") for one in reversed(asked)]
    none = block("No question is kept. What finds nothing, or is asked again in other words, is listed here.")
    more = block('Name one: drillkb hear "ITS WORDS" --means FAULT. Keep none: drillkb hear --keep off.')
    echo([bold("Asked in vain"), *lines, "", more] if lines else [none])


def _heard(heard: Heard) -> list[str]:
    before = f"was number {heard.before}" if heard.before else "was not in the answer"
    after = f"is number {heard.after}" if heard.after else "is still not in the answer; say it in other words too"
    return [block(f"'{heard.words}' means {heard.fault}. For these words the fault {before} and {after}.")]
