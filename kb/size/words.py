"""Sizes in words, the same on the terminal and on paper."""

import re
from collections.abc import Iterable

from kb.model import BuildItem, Built, SizedPiece

CM_IN_INCH = 2.54


def long(cm: float, *, inches: bool = False) -> str:
    """Return a length as it is read on the tape: whole centimetres, or half inches."""
    if not inches:
        return f"{cm:.0f} cm"
    halves = round(cm / CM_IN_INCH * 2) / 2
    return f"{halves:g} in"


def wanted(piece: SizedPiece, *, inches: bool = False) -> str:
    """Return the size with its tolerance, or with the side on which it must stay."""
    size, slack = long(piece.target_cm, inches=inches), long(piece.tolerance_cm, inches=inches)
    if piece.limit == "at-most":
        return f"at most {size}"
    if piece.limit == "at-least":
        return f"at least {size}"
    return f"{size}, give or take {slack}"


def built(items: Iterable[BuildItem] | Built, *, inches: bool = False) -> str:
    """Return a stack, lowest layer first, and what lies under her."""
    listed = list(items.items if isinstance(items, Built) else items)
    stands = [_item(item, inches=inches) for item in listed if not item.above]
    under = [_item(item, inches=inches) for item in listed if item.above]
    over = f", over {' + '.join(under)}" if under else ""
    return " + ".join(stands) + over


def off(piece: SizedPiece, *, inches: bool = False) -> str:
    """Return how far the stack is over or under the size, in brackets; nothing when it is on it."""
    miss = piece.off_cm or 0.0
    if abs(miss) < 0.5:
        return ""
    return f" ({long(abs(miss), inches=inches)} {'over' if miss > 0 else 'under'})"


def _item(item: BuildItem, *, inches: bool) -> str:
    count = f"{item.count} × " if item.count > 1 else ""
    form = re.sub(r"(\d+(?:\.\d+)?) cm", lambda m: long(float(m[1]), inches=inches), item.form)
    return f"{count}{item.name.lower()}{f' {form}' if form else ''}"
