"""Make the typefaces of `kb/handout/fonts` from the full ones; `scripts/subset-fonts` runs it (needs fonttools)."""

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

from kb.handout.plain import COVERED, FONTS

LATIN = [range(0x20, 0x500), range(0x1E00, 0x2C00), range(0xFB01, 0xFB03)]
"""Latin with accents, Greek, Cyrillic, punctuation, arrows, mathematics, shapes, as far as the typeface has them."""
TABLES = {
    "gb2312": (range(0xA1, 0xFF), "simplified Chinese"),
    "shift_jis": (range(0x81, 0xF0), "Japanese"),
    "euc_kr": (range(0xA1, 0xFF), "Korean"),
    "big5": (range(0xA4, 0xC7), "traditional Chinese, level 1"),
}
"""The national tables of common characters: codec, lead bytes that are taken, language."""
EAST = [range(0x3000, 0x3130), range(0xFF01, 0xFFEF)]
"""Punctuation, kana and full-width forms, whole."""
FEATURES = ["kern", "ccmp", "mark", "mkmk", "locl", "case", "tnum"]
"""Not 'calt': in this typeface it turns '->' into an arrow, and what a coach wrote must stay what she wrote."""


def common_characters() -> set[int]:
    """Return the code points of the national tables, from Python's own codecs."""
    found = {code for block in EAST for code in block}
    for codec, (leads, _) in TABLES.items():
        for lead in leads:
            for trail in range(0x40, 0xFF):
                text = bytes([lead, trail]).decode(codec, "ignore")
                found |= {
                    ord(letter) for letter in text if ord(letter) > 0x2E7F and not 0xE000 <= ord(letter) <= 0xF8FF
                }
    return found


def cut(font: object, codes: Iterable[int], out: Path, features: list[str]) -> set[int]:
    """Write a font with only these code points and features, and return those that it has."""
    from fontTools import subset

    options = subset.Options()
    options.layout_features, options.hinting, options.notdef_outline = features, False, True
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14, 16, 17]
    options.drop_tables += ["vhea", "vmtx", "VORG", "BASE", "DSIG"]
    options.recalc_timestamp = False
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=sorted(codes))
    subsetter.subset(font)
    font.save(out)  # type: ignore[attr-defined]
    return set(font.getBestCmap())  # type: ignore[attr-defined]


def ranges(codes: Iterable[int]) -> list[tuple[int, int]]:
    """Return code points as first and last of each run."""
    found: list[list[int]] = []
    for code in sorted(codes):
        if found and code == found[-1][1] + 1:
            found[-1][1] = code
        else:
            found.append([code, code])
    return [(first, last) for first, last in found]


def main(arguments: list[str] | None = None) -> int:
    """Cut the typefaces and write what they cover. Returns the exit code."""
    from fontTools.ttLib import TTCollection, TTFont

    parser = argparse.ArgumentParser(prog="subset-fonts", description=__doc__)
    parser.add_argument("latin", type=Path, metavar="DIR", help="folder with Inter-Regular.otf and Inter-Bold.otf")
    parser.add_argument("east", type=Path, metavar="TTC", help="NotoSansCJK-Regular.ttc")
    options = parser.parse_args(arguments)
    latin = {code for block in LATIN for code in block}
    both = [
        cut(TTFont(options.latin / f"Inter-{weight}.otf"), latin, FONTS / f"Inter-{weight}.otf", FEATURES)
        for weight in ("Regular", "Bold")
    ]
    faces = TTCollection(options.east).fonts
    face = next(one for one in faces if one["name"].getDebugName(1) == "Noto Sans CJK SC")
    east = cut(face, common_characters(), FONTS / "NotoSansCJKsc-Common.otf", [])
    covered = ranges(set.intersection(*both) | east)
    COVERED.write_text("".join(f"{first:04X} {last:04X}\n" for first, last in covered), "utf-8")
    for path in sorted(FONTS.glob("*.otf")):
        print(f"{path.name}: {path.stat().st_size / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
