"""Does a drill fit the limits? What does not is set aside with its reason; it never just vanishes."""

from collections.abc import Callable, Mapping

from kb.index.store import Index
from kb.model import Card, Equipment, Piece, Question


def why_set_aside(card: Card, question: Question, index: Index) -> str | None:
    """Return the first limit that the card breaks, in words, or None when it fits."""
    reasons = (rule(card, question, index) for rule in RULES)
    return next((reason for reason in reasons if reason), None)


def level_fits(card: Card, question: Question, _index: Index) -> str | None:
    """The card is open to the level asked for."""
    if question.level is None or card.fits_level(question.level):
        return None
    low, high = card.levels
    return (
        f"it is for levels {low} to {high}, you asked for level {question.level}"
        if low < high
        else (f"it is for level {low}, you asked for level {question.level}")
    )


def spotters_free(card: Card, question: Question, _index: Index) -> str | None:
    """There are enough free hands."""
    if question.spotters is None or card.spotting.spotters <= question.spotters:
        return None
    return f"it needs {card.spotting.spotters} to spot, you have {question.spotters}"


def kit_there(card: Card, question: Question, index: Index) -> str | None:
    """Every piece is there, or something that can stand in for it."""
    equipment = index.vocabulary.equipment
    missing = [piece for piece in card.equipment if stand_in(piece, question, equipment) is None]
    if not missing:
        return None
    return (
        "it needs "
        + " and ".join(_piece_name(piece, equipment) for piece in missing)
        + ", and nothing you have stands in"
    )


Rule = Callable[[Card, Question, Index], str | None]
RULES: tuple[Rule, ...] = (level_fits, spotters_free, kit_there)


def stand_in(piece: Piece, question: Question, equipment: Mapping[str, Equipment]) -> str | None:
    """Return the id of what serves as this piece (itself when it is there), or None."""
    known = equipment.get(piece.item)
    options = (piece.item, *piece.instead, *(known.instead if known else ()))
    return next((item for item in options if is_there(item, piece.count, question, equipment)), None)


def is_there(item: str, count: int, question: Question, equipment: Mapping[str, Equipment]) -> bool:
    """Say whether a piece is there in sufficient number, as far as the coach has said."""
    if item in question.without:
        return False
    known = equipment.get(item)
    if question.have is None or (known and known.kind == "hall"):  # every hall has a wall
        return True
    return question.have.get(item, 0) >= count


def _piece_name(piece: Piece, equipment: Mapping[str, Equipment]) -> str:
    known = equipment.get(piece.item)
    name = known.name.lower() if known else piece.item
    return f"{piece.count} × {name}" if piece.count > 1 else f"a {name}"
