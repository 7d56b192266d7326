"""A placed scene becomes SVG: black and white first, one accent colour, readable at 7 cm width and on a phone."""

import math
from collections.abc import Iterator, Sequence
from html import escape
from itertools import pairwise

from kb.draw.body import THICKNESS, Limb
from kb.draw.kit import RAIL, Piece
from kb.draw.layout import Label, Picture
from kb.draw.place import Placed, contact
from kb.model.figure import SpotterHand

INK, PAPER, SHADE, FAR, KIT, ACCENT = "#1b1b1b", "#ffffff", "#3a3a3a", "#d9d9d9", "#ececec", "#0b5cad"
FAINT = "#f1f1f1"
"""The trunk of the dashed figure."""
Spot = tuple[float, float, float]


def to_svg(picture: Picture) -> str:
    """Return the picture as SVG with a title and a description for screen readers."""
    left, bottom, right, top = picture.frame
    width, height = right - left, top - bottom
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" role="img" '
        'aria-labelledby="t d" font-family="sans-serif" stroke-linejoin="round" stroke-linecap="round">',
        f'<title id="t">{escape(picture.title)}</title><desc id="d">{escape(picture.description)}</desc>',
        f'<rect width="{width:.1f}" height="{height:.1f}" fill="{PAPER}"/>',
        f'<g transform="translate({-left:.1f} {top:.1f}) scale(1 -1)">',
        *_draw(picture),
        "</g>",
        *(_text(label, left, top) for label in picture.labels),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _text(label: Label, left: float, top: float) -> str:
    return (
        f'<text x="{label.x - left:.1f}" y="{top - label.y:.1f}" font-size="{label.size:.1f}" text-anchor="middle" '
        f'fill="{INK}">{escape(label.text)}</text>'
    )


def _draw(picture: Picture) -> Iterator[str]:
    scene, (left, _, right, _) = picture.scene, picture.frame
    line = 0.004 * (right - left)
    for piece in scene.pieces.values():
        if piece.behind:
            yield from _piece(piece, line)
    yield f'<path d="M{left + 2:.1f} 0H{right - 2:.1f}" stroke="{INK}" stroke-width="{1.3 * line:.2f}" fill="none"/>'
    for piece in scene.pieces.values():
        if not piece.behind and piece.shape != "rail":
            yield from _piece(piece, line)
    for piece in scene.pieces.values():
        if not piece.behind and piece.shape == "rail":
            yield from _piece(piece, line)
    for placed in sorted(scene.gymnasts, key=lambda placed: not placed.moment.dashed):
        yield from _gymnast(placed, line)
    for hand in scene.figure.hands:
        yield from _hand(hand, scene.gymnasts[hand.of - 1], line)
    for arrow in scene.figure.arrows:
        yield from _arrow(arrow.start, arrow.end, arrow.curve, line)


# --- kit


def _piece(piece: Piece, line: float) -> Iterator[str]:
    pen = f'stroke="{SHADE}" stroke-width="{line:.2f}"'
    if piece.shape == "rail":
        yield (
            (
                f'<path d="M{piece.middle:.1f} {piece.top - RAIL:.1f}V0'
                f'M{piece.middle - 18:.1f} 0H{piece.middle + 18:.1f}" '
                f'stroke="#9a9a9a" stroke-width="{1.6 * line:.2f}" fill="none"/>'
            )
            if piece.right - piece.left < 10
            else ""
        )
        if piece.right - piece.left < 10:
            yield f'<circle cx="{piece.middle:.1f}" cy="{piece.top - RAIL:.1f}" r="{RAIL + 0.4:.1f}" fill="{INK}"/>'
        else:
            yield (
                f'<path d="M{piece.left:.1f} {piece.top - RAIL:.1f}H{piece.right:.1f}" stroke="{INK}" '
                'stroke-width="4"/>'
                f'<path d="M{piece.left + 2:.1f} 0V{piece.top:.1f}M{piece.right - 2:.1f} 0V{piece.top:.1f}" '
                f'stroke="#9a9a9a" stroke-width="{1.6 * line:.2f}"/>'
            )
        return
    if piece.shape == "mark":
        high = max(piece.top - piece.bottom, 1.2)
        yield (
            f'<rect x="{piece.left:.1f}" y="{piece.bottom:.1f}" width="{piece.right - piece.left:.1f}" '
            f'height="{high:.1f}" rx="{high / 2:.1f}" fill="{INK}"/>'
        )
        return
    if piece.shape in ("legs", "bed"):
        yield from _on_legs(piece, line)
        return
    fill = "#f7f7f7" if piece.shape == "wall" else KIT
    yield f'<path d="{_path(piece.outline())}" fill="{fill}" {pen}/>'
    if piece.layers > 1:
        step = (piece.top - piece.bottom) / piece.layers
        lines = "".join(
            f"M{piece.left:.1f} {piece.bottom + n * step:.1f}H{piece.right:.1f}" for n in range(1, piece.layers)
        )
        yield f'<path d="{lines}" fill="none" {pen}/>'


def _on_legs(piece: Piece, line: float) -> Iterator[str]:
    thick = min(14.0 if piece.shape == "legs" else 4.0, piece.top - piece.bottom)
    inset = min(14.0, (piece.right - piece.left) / 4)
    if piece.right - piece.left < 20:
        legs = [piece.middle]
        feet = f"M{piece.middle - 20:.1f} 0.8H{piece.middle + 20:.1f}"
    else:
        legs, feet = [piece.left + inset, piece.right - inset], ""
    drawn = "".join(f"M{x:.1f} {piece.bottom:.1f}V{piece.top - thick / 2:.1f}" for x in legs) + feet
    yield f'<path d="{drawn}" stroke="#9a9a9a" stroke-width="{2.2 * line:.2f}" fill="none"/>'
    yield (
        f'<rect x="{piece.left:.1f}" y="{piece.top - thick:.1f}" width="{piece.right - piece.left:.1f}" '
        f'height="{thick:.1f}" rx="{min(3.0, thick / 3):.1f}" fill="{KIT}" stroke="{SHADE}" stroke-width="{line:.2f}"/>'
    )


# --- the gymnast


def _gymnast(placed: Placed, line: float) -> Iterator[str]:
    dashed = placed.moment.dashed
    limbs = sorted(placed.body.limbs, key=_depth_of)
    for limb in limbs:
        if limb.name == "trunk":
            yield from _trunk(placed, line, dashed)
        elif limb.name == "head":
            yield from _head(limb, placed, line)
        else:
            spots = [(x, y, r) for (x, y, _), r in zip(limb.points, limb.radii, strict=True)]
            fill = PAPER if limb.side != "far" else FAR
            outline = _foot(spots) if limb.name == "leg" else _chain(spots)
            yield from _shape(outline, fill, line, dashed)


def _foot(spots: Sequence[Spot]) -> str:
    """Return the outline of a leg: the foot is one shape from ankle to heel and ball, and the toes."""
    thigh, knee, ankle, heel, ball, toe = spots
    return _chain([thigh, knee, ankle]) + _path(_hull([ankle, heel, ball])) + _chain([ball, toe])


def _depth_of(limb: Limb) -> float:
    """Order of drawing: far limbs, trunk and head, near limbs."""
    z = sum(point[2] for point in limb.points) / len(limb.points)
    return {"trunk": 0.0, "head": 0.01}.get(limb.name, z if abs(z) > 0.5 else 0.2)


def _trunk(placed: Placed, line: float, dashed: bool) -> Iterator[str]:
    body = placed.body
    trunk = body.limb("trunk", "middle")
    spots = [(x, y, r) for (x, y, _), r in zip(trunk.points, trunk.radii, strict=True)]
    hips = [_at(body.limb("leg", side), 0, 0.9) for side in ("near", "far")]
    shoulders = [_at(body.limb("arm", side), 0, 1.0) for side in ("near", "far")]
    waist = [_beside(spots[1], spots[2], shoulder) for shoulder in shoulders]
    pieces = [[spots[0], *hips, *waist], [spots[2], *waist, *shoulders]]
    yield from _shape("".join(_path(_hull(piece)) for piece in pieces), SHADE, line, dashed)


def _beside(waist: Spot, chest: Spot, shoulder: Spot) -> Spot:
    """Return the side of the waist: as far out as part of the shoulder."""
    part = 0.3
    return waist[0] + (shoulder[0] - chest[0]) * part, waist[1] + (shoulder[1] - chest[1]) * part, waist[2]


def _at(limb: Limb, place: int, part: float) -> Spot:
    x, y, _ = limb.points[place]
    return x, y, limb.radii[place] * part


def _head(limb: Limb, placed: Placed, line: float) -> Iterator[str]:
    dashed = placed.moment.dashed
    (neck_x, neck_y, _), (chin_x, chin_y, _), (crown_x, crown_y, _) = limb.points
    size = limb.radii[2] / THICKNESS["head"]
    radius = limb.radii[2]
    middle = (chin_x + (crown_x - chin_x) * 0.5, chin_y + (crown_y - chin_y) * 0.5)
    neck = _chain([(neck_x, neck_y, limb.radii[0]), (*middle, limb.radii[1])])
    yield from _shape(neck, PAPER, line, dashed)
    angle = math.degrees(math.atan2(crown_y - chin_y, crown_x - chin_x))
    ellipse = (
        f'<ellipse cx="{middle[0]:.1f}" cy="{middle[1]:.1f}" rx="{0.065 * size:.1f}" ry="{radius:.1f}" '
        f'transform="rotate({angle:.1f} {middle[0]:.1f} {middle[1]:.1f})" '
    )
    if dashed:
        yield (
            ellipse + f'fill="{PAPER}" stroke="{SHADE}" stroke-width="{line:.2f}" '
            f'stroke-dasharray="{3 * line:.1f} {2.5 * line:.1f}"/>'
        )
        return
    yield ellipse + f'fill="{PAPER}" stroke="{INK}" stroke-width="{1.4 * line:.2f}"/>'
    # A knot of hair at the back shows which way she looks.
    back = (-1.0 if placed.moment.faces == "right" else 1.0) * math.cos(math.radians(placed.pose.twist))
    ux, uy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    knot = middle[0] + (0.045 * ux - uy * -back * 0.045) * size, middle[1] + (0.045 * uy + ux * -back * 0.045) * size
    yield f'<circle cx="{knot[0]:.1f}" cy="{knot[1]:.1f}" r="{0.026 * size:.1f}" fill="{INK}"/>'


def _shape(path: str, fill: str, line: float, dashed: bool) -> Iterator[str]:
    """Yield an outline behind and the filled shape on it, so that the pieces of a limb melt into one."""
    if dashed:
        yield (
            f'<path d="{path}" fill="none" stroke="{SHADE}" stroke-width="{2.4 * line:.2f}" '
            f'stroke-dasharray="{3.5 * line:.1f} {2.5 * line:.1f}" stroke-linecap="butt"/>'
        )
        yield f'<path d="{path}" fill="{PAPER if fill == PAPER else FAINT}"/>'
        return
    yield f'<path d="{path}" fill="{INK}" stroke="{INK}" stroke-width="{2.8 * line:.2f}"/>'
    yield f'<path d="{path}" fill="{fill}"/>'


def _chain(spots: Sequence[Spot]) -> str:
    return "".join(_path(_hull([a, b])) for a, b in pairwise(spots))


def _hull(spots: Sequence[Spot]) -> list[tuple[float, float]]:
    """Return the convex outline of circles."""
    points = sorted(
        {
            (round(x + r * math.cos(n * math.pi / 8), 1), round(y + r * math.sin(n * math.pi / 8), 1))
            for x, y, r in spots
            for n in range(16)
        }
    )
    return [*_half(points), *_half(points[::-1])]


def _half(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for x, y in points:
        while len(found) > 1 and _turn(found[-2], found[-1], (x, y)) <= 0:
            found.pop()
        found.append((x, y))
    return found[:-1]


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"


# --- what helps to read it


def _hand(hand: SpotterHand, placed: Placed, line: float) -> Iterator[str]:
    x, y, r = _touched(hand.part, placed)
    dx, dy = {"left": (-1.0, 0.35), "right": (1.0, 0.35), "above": (0.3, 1.0), "below": (0.3, -1.0)}[hand.come]
    length = math.hypot(dx, dy)
    dx, dy = dx / length, dy / length
    palm, elbow = (x + dx * r, y + dy * r), (x + dx * (r + 26), y + dy * (r + 26))
    arm = _chain([(*palm, 3.2), (palm[0] + dx * 7, palm[1] + dy * 7, 2.2), (*elbow, 3.4)])
    yield f'<path d="{arm}" fill="{PAPER}" stroke="{ACCENT}" stroke-width="{1.5 * line:.2f}"/>'
    yield f'<circle cx="{palm[0]:.1f}" cy="{palm[1]:.1f}" r="3.6" fill="{ACCENT}"/>'


def _touched(part: str, placed: Placed) -> Spot:
    trunk = placed.body.limb("trunk", "middle")
    if part in ("waist", "chest"):
        return _at(trunk, 1 if part == "waist" else 2, 1.0)
    name = {"calves": "shins", "wrists": "hands"}.get(part, part)
    spots = contact(placed.body, name)
    count = len(spots)
    return sum(s[0] for s in spots) / count, sum(s[1] for s in spots) / count, max(s[2] for s in spots)


def _arrow(start: tuple[float, float], end: tuple[float, float], curve: float, line: float) -> Iterator[str]:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) or 1.0
    middle = (start[0] + end[0]) / 2 - dy / length * curve * 2, (start[1] + end[1]) / 2 + dx / length * curve * 2
    back_x, back_y = end[0] - middle[0], end[1] - middle[1]
    size = math.hypot(back_x, back_y) or 1.0
    ux, uy = back_x / size, back_y / size
    head = 9.0 * line / 1.1
    left = end[0] - ux * head - uy * head * 0.5, end[1] - uy * head + ux * head * 0.5
    right = end[0] - ux * head + uy * head * 0.5, end[1] - uy * head - ux * head * 0.5
    neck = end[0] - ux * head * 0.8, end[1] - uy * head * 0.8
    yield (
        f'<path d="M{start[0]:.1f} {start[1]:.1f}Q{middle[0]:.1f} {middle[1]:.1f} {neck[0]:.1f} {neck[1]:.1f}" '
        f'fill="none" stroke="{ACCENT}" stroke-width="{2.2 * line:.2f}"/>'
    )
    yield f'<path d="{_path([end, left, right])}" fill="{ACCENT}"/>'
