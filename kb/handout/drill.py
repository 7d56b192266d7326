"""A card as it is printed."""

from kb.draw.card import Drawing, card_drawing
from kb.draw.scene import SceneError
from kb.handout.blocks import blocks, words
from kb.handout.codes import code_of
from kb.handout.plain import clean
from kb.handout.sizes import Fitter, largest, sheet_builds
from kb.handout.source import Source
from kb.model import Card, Sizes, Vocabulary
from kb.model.sheet import SheetDrill, SheetSection
from kb.search.explain import stop_line
from kb.size.words import long


def sheet_drill(number: int, card: Card, fitter: Fitter, source: Source) -> SheetDrill:
    """Return a card as it is printed, to the sizes of the order's child or squad."""
    vocabulary = source.vocabulary
    builds, problem = fitter.fit(card)
    sizes = largest(builds)
    drawing = drawing_of(card, vocabulary, sizes)
    place = source.index.place(card)
    sections = tuple(SheetSection(name, blocks(text)) for name, text in card.sections.items())
    said = next((section.blocks for section in sections if section.name == "Say"), ())
    return SheetDrill(
        id=card.id,
        number=number,
        title=clean(card.title),
        event=clean(vocabulary.events[card.event].name),
        levels=levels(card),
        stage=clean(vocabulary.stages[card.stage].name),
        rung=clean(f"rung {place.rung} of {place.of} to {vocabulary.skills[place.skill].name}"),
        before="; ".join(clean(_title(name, source)) for name in card.after),
        kit=fitter.pieces(card, builds),
        for_whom=problem if problem and not builds else _for_whom(sizes, fitter, problem),
        builds=sheet_builds(builds),
        spot=clean(vocabulary.spotting[card.spotting.grade].name),
        hands=clean(card.spotting.hands),
        twin=clean(_title(card.no_spot_twin, source)) if card.no_spot_twin else "",
        group=_group(card),
        ready_when=clean(card.ready_when),
        cues=tuple(words(line).strip('"“” ') for block in said for line in block.lines),
        stop="".join(words(line) for block in blocks(stop_line(card)) for line in block.lines),
        sections=sections,
        picture=drawing.svg if drawing else "",
        picture_says=clean(drawing.says) if drawing else "",
        drawn_for=_drawn_for(drawing, sizes),
        code=code_of(card.video, "Video") if card.video else None,
        sources=clean(card.sources),
    )


def drawing_of(card: Card, vocabulary: Vocabulary, sizes: Sizes | None) -> Drawing | None:
    """Return the picture of a card; None when it has none or the figure is wrong, which `check` reports."""
    try:
        return card_drawing(card, vocabulary, sizes)
    except SceneError:
        return None


def levels(card: Card) -> str:
    """Return the levels of a card in words."""
    low, high = card.levels
    return f"level {low}" if low == high else f"levels {low}-{high}"


def _title(name: str, source: Source) -> str:
    """Return the title of a card, or its id when the library has it no more."""
    return source.index.card(name).title if name in source.index.card_ids else name


def _group(card: Card) -> str:
    group = card.group
    cap = f"; at most {card.cap} a session" if card.cap else ""
    return (
        f"{group.at_once} at work, {group.waiting} waiting; {group.minutes} minutes, {group.reps} repetitions each{cap}"
    )


def _for_whom(sizes: Sizes | None, fitter: Fitter, problem: str) -> str:
    if sizes is None:
        return ""
    if fitter.order.squad is not None:
        return " ".join(part for part in ("Sizes for the squad, smallest first.", problem) if part)
    age = f" of {sizes.age:g} years, when nobody has measured her: {long(sizes.height_cm)}" if sizes.age else ""
    return f"Sizes for a child{age or f' of {long(sizes.height_cm)}'}."


def _drawn_for(drawing: Drawing | None, sizes: Sizes | None) -> str:
    if drawing is None:
        return ""
    text = f"Drawn to scale for a child of {drawing.child_cm:.0f} cm"
    if sizes is not None and abs(drawing.child_cm - sizes.height_cm) > 0.5:
        return f"{text}, not at the sizes here; build by the numbers."
    return f"{text}."
