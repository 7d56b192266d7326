"""A report as a picture: one bar a row, what came of it as parts of the bar. Reads in black and white too."""

from xml.sax.saxutils import escape

from kb.model import NOTICE
from kb.model.log import LogReport, LogRow

WIDTH, LEFT, RIGHT = 760, 270, 60
"""Of the picture, its names and the room behind the longest bar, in the units of the SVG."""
TOP, ROW, BAR, FOOT = 92, 30, 18, 66
INK, PAPER, ACCENT = "#1b1b1b", "#ffffff", "#0b5cad"
PARTS = (
    ("helped", "helped", ACCENT),
    ("mastered", "mastered", INK),
    ("no_change", "no change", PAPER),
    ("too_hard", "too hard", "url(#hatch)"),
)
"""Field of the counts, its name and how it is filled."""
TITLES = {"week": "Drills used, by week", "fault": "Drills used, by fault", "squad": "Drills used, by squad"}
LONGEST_NAME = 40
"""Letters of a row's name that fit beside its bar."""


def report_svg(report: LogReport) -> str:
    """Return the report as SVG."""
    height = TOP + ROW * max(1, len(report.rows)) + FOOT
    most = max((row.uses for row in report.rows), default=0) or 1
    scale = (WIDTH - LEFT - RIGHT) / most
    title = TITLES[report.by] + (f", {report.group}" if report.group else "")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        'role="img" aria-labelledby="t d" font-family="sans-serif" font-size="13">',
        f'<title id="t">{escape(title)}</title>',
        f'<desc id="d">{escape("; ".join(_said(row) for row in report.rows) or "Nothing is logged.")}</desc>',
        f'<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" '
        f'fill="{PAPER}"/><path d="M-1,1 l2,-2 M0,6 l6,-6 M5,7 l2,-2" stroke="{INK}" stroke-width="1.4"/></pattern>'
        "</defs>",
        f'<rect width="{WIDTH}" height="{height}" fill="{PAPER}"/>',
        f'<text x="16" y="32" font-size="20" font-weight="bold" fill="{INK}">{escape(title)}</text>',
        *_key(),
    ]
    for number, row in enumerate(report.rows):
        parts += _bar(row, TOP + ROW * number, scale)
    if not report.rows:
        parts.append(f'<text x="16" y="{TOP + BAR}" fill="{INK}">Nothing is logged.</text>')
    parts.append(f'<path d="M{LEFT},{TOP - 8} V{height - FOOT + 4}" stroke="{INK}" stroke-width="1.5"/>')
    foot = [*report.notes, NOTICE]
    for number, line in enumerate(foot):
        y = height - 16 - 18 * (len(foot) - 1 - number)
        parts.append(f'<text x="16" y="{y}" font-size="12" fill="{INK}">{escape(line)}</text>')
    return "\n".join([*parts, "</svg>\n"])


def _key() -> list[str]:
    drawn = []
    for number, (_, name, fill) in enumerate(PARTS):
        x = 16 + 120 * number
        drawn.append(f'<rect x="{x}" y="50" width="22" height="14" fill="{fill}" stroke="{INK}"/>')
        drawn.append(f'<text x="{x + 30}" y="62" fill="{INK}">{name}</text>')
    return drawn


def _bar(row: LogRow, top: int, scale: float) -> list[str]:
    """Return the name, the parts of the bar and the number behind it."""
    name = row.name if len(row.name) <= LONGEST_NAME else row.name[: LONGEST_NAME - 1] + "…"
    base = top + BAR - 5
    drawn = [f'<text x="{LEFT - 10}" y="{base}" text-anchor="end" fill="{INK}">{escape(name)}</text>']
    x = float(LEFT)
    for field, _, fill in PARTS:
        wide = getattr(row.counts, field) * scale
        if wide:
            drawn.append(
                f'<rect x="{x:.1f}" y="{top}" width="{wide:.1f}" height="{BAR}" fill="{fill}" stroke="{INK}"/>'
            )
        x += wide
    return [*drawn, f'<text x="{x + 8:.1f}" y="{base}" fill="{INK}">{row.uses}</text>']


def _said(row: LogRow) -> str:
    counts = ", ".join(f"{name} {getattr(row.counts, field)}" for field, name, _ in PARTS)
    return f"{row.name}: used {row.uses}, {counts}"
