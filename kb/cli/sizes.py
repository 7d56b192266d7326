"""Sizes of a station as text, for every command that shows them."""

import re
from collections.abc import Iterable

import click

from kb.cli.text import block, bold, labelled
from kb.errors import OutOfRange
from kb.model import SizedPiece, Sizes
from kb.size.words import CM_IN_INCH, built, long, off, wanted

COLUMN = 14


class Height(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A height: 128, 128cm, 50in or 4ft2."""

    # The base is generic in newer versions of click only: hence the ignore for both.

    name = "height"

    def convert(self, value: object, _param: click.Parameter | None, _ctx: click.Context | None) -> float:
        """Return the height in cm."""
        text = str(value).strip().lower().replace(" ", "")
        feet = re.fullmatch(r"(\d+)(?:ft|')(\d+(?:\.\d+)?)?(?:in|\")?", text)
        if feet:
            return (int(feet[1]) * 12 + float(feet[2] or 0)) * CM_IN_INCH
        plain = re.fullmatch(r"(\d+(?:\.\d+)?)(cm|in|\")?", text)
        if not plain:
            raise OutOfRange("The height", f"'{value}'", "in cm (128), inches (50in) or feet and inches (4ft2)")
        return float(plain[1]) * (1 if plain[2] in (None, "cm") else CM_IN_INCH)


def size_lines(sizes: Sizes, *, inches: bool = False) -> list[str]:
    """Return the sizes of a station with how to build and how to measure."""
    lines = [bold(_for_whom(sizes, inches=inches)), ""]
    for piece in sizes.pieces:
        lines += [*_piece(piece, inches=inches), ""]
    if sizes.instead:
        lines += [labelled("Instead", "; ".join(f"drillkb card {name}" for name in sizes.instead), COLUMN), ""]
    return lines


def short_sizes(pieces: Iterable[SizedPiece]) -> str:
    """Return the sizes of a station in one line."""
    parts = []
    for piece in pieces:
        part = f"{piece.piece} {wanted(piece, inches=False)}"
        if not piece.fits:
            part += f" ({_short(piece)})"
        elif any(item.form or item.count > 1 for item in piece.build) and not piece.along:
            part += f": {built(piece.build, inches=False)}"
        parts.append(part)
    return "; ".join(parts)


def _short(piece: SizedPiece) -> str:
    return "your kit does not build it" if piece.nearest or not piece.borrow else f"borrow a {piece.borrow}"


def _for_whom(sizes: Sizes, *, inches: bool) -> str:
    if sizes.expected_cm:
        low, half, high = (long(cm, inches=inches) for cm in sizes.expected_cm)
        return block(
            f"Sizes for a child of {sizes.age:g} years: most are {low} to {high} tall, half of them above {half} "
            "(CDC 2000, girls, 5th to 95th percentile). Measure her height and ask again with it."
        )
    age = f", {sizes.age:g} years" if sizes.age else ""
    return block(f"Sizes for a child of {long(sizes.height_cm, inches=inches)}{age}")


def _piece(piece: SizedPiece, *, inches: bool) -> list[str]:
    head = f"{piece.piece[0].upper()}{piece.piece[1:]}: {wanted(piece, inches=inches)}"
    if piece.range_cm:
        low, high = (long(cm, inches=inches) for cm in piece.range_cm)
        head += f" ({low} to {high} for most of her age)"
    lines = [block(head, "    ", "  ")]
    if piece.build and not piece.along:
        comes = f" = {long(piece.reached_cm or 0, inches=inches)}{off(piece, inches=inches)}"
        lines.append(labelled("    Build", built(piece.build, inches=inches) + comes, COLUMN))
    if not piece.fits:
        lines += _no_fit(piece, inches=inches)
    if piece.measured:
        lines.append(labelled("    From", "the length you measured on her", COLUMN))
    else:
        lines.append(labelled("    Measure her", f"{piece.measure}{_offset(piece, inches=inches)}.", COLUMN + 2))
        lines.append(labelled("    Source", f"{piece.source}.", COLUMN))
    return lines


def _offset(piece: SizedPiece, *, inches: bool) -> str:
    if not piece.offset_cm:
        return ""
    return f"; then {long(abs(piece.offset_cm), inches=inches)} {'more' if piece.offset_cm > 0 else 'less'}"


def _no_fit(piece: SizedPiece, *, inches: bool) -> list[str]:
    lines = [labelled("    No fit", "your kit does not come within the tolerance.", COLUMN)]
    for near in piece.nearest:
        side = "below" if near.off_cm < 0 else "above"
        text = f"{built(near, inches=inches)} = {long(near.reached_cm, inches=inches)}, {side} what she needs"
        lines.append(labelled("    Nearest", text, COLUMN))
    if piece.borrow:
        lines.append(labelled("    Borrow", f"a {piece.borrow}", COLUMN))
    return lines
