"""`drillkb club`: a club's own copy of the starter library."""

from pathlib import Path

import click

from kb.cli.common import as_json, print_json
from kb.cli.text import block, bold, echo


@click.command("club")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--upgrade", is_flag=True, help="Bring the copy up to the starter of this program; yours stays.")
@click.option("--look", is_flag=True, help="With --upgrade: only say what would change.")
@as_json
def command(folder: Path, upgrade: bool, look: bool, as_json: bool) -> None:
    """Make the club's own library in a new folder, or upgrade it: drillkb club OUR-DRILLS."""
    from kb.keep.club import make_club
    from kb.keep.club import upgrade as upgrade_club

    if not upgrade:
        count = make_club(folder)
        if as_json:
            print_json({"folder": str(folder), "files": count})
        else:
            echo([block(f"{count} files copied. Use it with: drillkb --library {folder} find ...")])
        return
    changes = upgrade_club(folder, write=not look)
    if as_json:
        print_json(changes)
        return
    lines: list[str] = []
    for change in changes:
        lines.append(f"{change.fate}: {change.file}")
        lines += [f"    {line}" for line in change.difference.splitlines()]
    kept = [change for change in changes if change.fate == "yours stays"]
    tail = block(f"{len(changes)} files differ from the last starter; {len(kept)} of yours stay as they are.")
    echo([bold("Would change" if look else "Changed"), *lines, "", tail] if changes else ["Nothing has changed."])
