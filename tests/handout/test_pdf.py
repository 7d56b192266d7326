"""PDFs as others read them: pypdf, pdfplumber, poppler, a QR reader."""

import io
import re
import subprocess
import sys
from pathlib import Path

import pdfplumber
import pypdfium2
import pytest
import zxingcpp
from fontTools.ttLib import TTFont

from kb.errors import SheetUnprintable
from kb.facade import Library
from kb.handout.pdf import sheet_pdf
from kb.handout.plain import FONTS
from kb.model import NOTICE, Paper, Sheet, SheetOrder
from tests.handout.conftest import KINDS, PAPERS
from tests.handout.support import (
    DAY,
    HOSTILE,
    LINK,
    PAPER_POINTS,
    ROOT,
    needs_poppler,
    reader,
    squeezed,
    with_text,
)

Pdfs = dict[tuple[str, Paper], bytes]
both = pytest.mark.parametrize("paper", PAPERS)
every = pytest.mark.parametrize("kind", KINDS)
MM = 72 / 25.4
MARGINS = {"pocket": (8 * MM, 8 * MM)}
"""Left and right, and top, in points; the others have 16 and 14 mm."""


def text_of(pdf: bytes) -> str:
    """Return all text of a PDF in its reading order, as pypdf takes it out."""
    return "\n".join(page.extract_text() for page in reader(pdf).pages)


@every
@both
def test_page_size_title_language_and_tags(pdfs: Pdfs, sheets: dict[str, Sheet], kind: str, paper: Paper) -> None:
    """The pages have the size of the paper; title, language, date and tags are there for screen readers."""
    found = reader(pdfs[kind, paper])
    for page in found.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(PAPER_POINTS[paper], abs=0.1)
    assert found.metadata is not None
    assert found.metadata.title == sheets[kind].title
    assert found.metadata.subject == NOTICE
    assert found.metadata.creation_date is not None
    assert found.metadata.creation_date.date().isoformat() == DAY
    root = found.trailer["/Root"]
    assert str(root["/Lang"]).startswith("en")
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert "/StructTreeRoot" in root
    assert b'pdfuaid:part="1"' in root["/Metadata"].get_data() or b"<pdfuaid:part>1<" in root["/Metadata"].get_data()


@every
def test_every_picture_has_words(pdfs: Pdfs, sheets: dict[str, Sheet], kind: str) -> None:
    """Each drawing and code is a tagged figure whose words say what it shows."""
    alts: list[str] = []

    def walk(node: object) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for inner in node:
                walk(inner)
        elif isinstance(node, dict):
            if node.get("/S") == "/Figure":
                alts.append(str(node.get("/Alt", "")))
            if "/K" in node:
                walk(node["/K"])

    walk(reader(pdfs[kind, "a4"]).trailer["/Root"]["/StructTreeRoot"])
    sheet = sheets[kind]
    wanted = [d.picture_says for d in sheet.drills if d.picture]
    wanted += [r.picture_says for p in sheet.parts for r in p.rungs if r.picture]
    codes = len(sheet.drills) if kind == "station" else 1
    wanted += [f"QR code: {LINK}"] * codes
    assert sorted(alts) == sorted(wanted)


@every
@both
def test_only_our_typefaces_and_all_embedded(pdfs: Pdfs, kind: str, paper: Paper) -> None:
    """Every font of the file is one of ours and lies in the file."""
    names = set()
    for page in reader(pdfs[kind, paper]).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = inner["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(descriptor)
            names.add(str(descriptor["/FontName"]).split("+")[1])
    assert names <= {"Inter-Regular", "Inter-Bold", "NotoSansCJKsc-Regular"}
    assert "Inter-Bold" in names


@every
@both
def test_notice_and_page_of_pages_on_every_page(pdfs: Pdfs, sheets: dict[str, Sheet], kind: str, paper: Paper) -> None:
    """Each page says who decides, its number, the date and the versions."""
    pages = reader(pdfs[kind, paper]).pages
    for number, page in enumerate(pages, start=1):
        text = " ".join(page.extract_text().split())
        assert NOTICE in text
        assert f"page {number} of {len(pages)}" in text
        assert "5 November 2026" in text
        assert sheets[kind].version in text


@every
@both
def test_nothing_runs_over_the_margins(pdfs: Pdfs, kind: str, paper: Paper) -> None:
    """No letter stands outside the margins, and none on another: measured on the page by pdfplumber."""
    side, top = MARGINS.get(kind, (16 * MM, 14 * MM))
    with pdfplumber.open(io.BytesIO(pdfs[kind, paper])) as pdf:
        for page in pdf.pages:
            out = [
                c["text"]
                for c in page.chars
                if c["text"].strip()
                and not (side - 0.6 <= c["x0"] and c["x1"] <= page.width - side + 0.6 and top - 2 <= c["top"])
            ]
            assert out == [], f"page {page.page_number}"
            feet = [c["bottom"] for c in page.chars]
            assert max(feet) < page.height - 3 * MM


@pytest.mark.parametrize("kind", ["clinic", "book"])
@both
def test_whole_drills_in_reading_order(pdfs: Pdfs, sheets: dict[str, Sheet], kind: str, paper: Paper) -> None:
    """Every drill stands whole on one page: title, set-up, every cue, every line of Keep safe, in this order."""
    pages = [squeezed(page.extract_text()) for page in reader(pdfs[kind, paper]).pages]
    for drill in sheets[kind].drills:
        words = [drill.title, *drill.cues]
        words += ["".join(run.text for run in line) for block in drill.section("Keep safe") for line in block.lines]
        mine = [page for page in pages if all(squeezed(word) in page for word in words)]
        assert mine, f"{drill.id} is not whole on any page"
        places = [mine[0].index(squeezed(word)) for word in words]
        assert places == sorted(places), drill.id
        for more in (drill.ready_when, drill.hands, drill.group):
            assert squeezed(more) in mine[0]


@both
def test_station_cards_are_one_side_each_and_read_from_two_metres(
    pdfs: Pdfs, sheets: dict[str, Sheet], paper: Paper
) -> None:
    """One page a drill; title and cues have at least 28 points, the stop line 17; nothing of the card is missing."""
    drills = sheets["station"].drills
    with pdfplumber.open(io.BytesIO(pdfs["station", paper])) as pdf:
        assert len(pdf.pages) == len(drills) + 1
        for drill, page in zip(drills, pdf.pages, strict=False):
            large = squeezed("".join(c["text"] for c in page.chars if c["size"] >= 27.9))
            assert squeezed(drill.title) in large
            for cue in drill.cues[:3]:
                assert squeezed(cue) in large, drill.id
            stop = squeezed("".join(c["text"] for c in page.chars if c["size"] >= 16.9))
            assert squeezed(drill.stop) in stop
            every_word = squeezed("".join(c["text"] for c in page.chars))
            for text in (drill.hands, drill.ready_when, *(piece.name for piece in drill.kit)):
                assert squeezed(text) in every_word
            assert [
                size.size for build in drill.builds for size in build.sizes if squeezed(size.size) not in every_word
            ] == []


@pytest.mark.parametrize("kind", ["clinic", "book"])
@both
def test_no_heading_stands_alone(pdfs: Pdfs, kind: str, paper: Paper) -> None:
    """Every page has more on it than a heading and its foot."""
    for page in reader(pdfs[kind, paper]).pages:
        text = squeezed(page.extract_text())
        assert len(text) > 500 or text.startswith("Notes"), page.page_number


@both
def test_eight_pocket_cards_a_page(starter: Library, paper: Paper) -> None:
    """Nine drills take two pages; each card lies inside its own place, hands and stop line included."""
    cards = tuple(starter.index.card_ids[:9])
    sheet = starter.handout(SheetOrder(cards=cards, kind="pocket", height=128, date=DAY))
    with pdfplumber.open(io.BytesIO(sheet_pdf(sheet, paper))) as pdf:
        assert len(pdf.pages) == 2
        for number, drill in enumerate(sheet.drills):
            page = pdf.pages[number // 8]
            place = number % 8
            high = (page.height - (8 + 13 + 6) * MM) / 4
            left, top = 8 * MM + (page.width / 2 - 8 * MM) * (place % 2), 13 * MM + high * (place // 2)
            cell = page.crop((left, top - 0.5, left + page.width / 2 - 8 * MM, top + high))
            inside = squeezed(cell.extract_text(x_tolerance=1))
            for text in (drill.title, drill.hands, drill.stop, drill.ready_when, NOTICE, *drill.cues[:3]):
                assert squeezed(text) in inside, f"{drill.id}: {text}"


@pytest.mark.parametrize("skill", ["kip", "floor-handstand", "beam-turn", "board-contact"])
@both
def test_a_ladder_is_one_page(starter: Library, skill: str, paper: Paper) -> None:
    """The longest ladders too; every rung's sign to move up is on it, in type of 8.5 points or more."""
    sheet = starter.handout(SheetOrder(ladder=skill, level=4, date=DAY))
    with pdfplumber.open(io.BytesIO(sheet_pdf(sheet, paper))) as pdf:
        (page,) = pdf.pages
        text = squeezed("".join(c["text"] for c in page.chars if c["size"] >= 8.4))
    for rung in sheet.parts[0].rungs:
        assert squeezed(rung.title) in text
        assert squeezed(rung.ready_when) in text


def test_book_pages_are_where_contents_and_index_say(pdfs: Pdfs, sheets: dict[str, Sheet]) -> None:
    """Contents and index give the page on which a drill stands; their links lead there."""
    found, sheet = reader(pdfs["book", "a4"]), sheets["book"]
    pages = [page.extract_text() for page in found.pages]
    at = {}
    for drill in sheet.drills:
        (at[drill.id],) = [
            n
            for n, text in enumerate(pages, 1)
            if re.search(rf"^{drill.number}\s*{re.escape(drill.title)}", text, re.M)
        ]
    contents = " ".join(pages[0].split())
    for drill in sheet.drills:
        assert re.search(rf"{re.escape(drill.title)} [. ]*{at[drill.id]}\b", contents), drill.title
    index = " ".join(" ".join(pages[max(at.values()) :]).split())
    for group in sheet.indexes:
        for line in group.lines:
            numbers = ", ".join(str(n) for n in sorted({at[name] for name in line.drills}))
            assert f"{line.name}: {numbers}" in index, line.name
    links = sum(
        1
        for page in found.pages
        for note in page.get("/Annots", [])
        if "/Dest" in note.get_object() or "/A" in note.get_object()
    )
    assert links >= len(sheet.drills)


def test_stop_signs_are_the_last_page_of_clinic_and_book(pdfs: Pdfs, starter: Library) -> None:
    """All of them, with what to say and the source."""
    for kind in ("clinic", "book"):
        last = squeezed(reader(pdfs[kind, "a4"]).pages[-1].extract_text())
        for sign in starter.vocabulary.cautions.values():
            for text in (sign.name, sign.say, sign.source):
                assert squeezed(text) in last


@every
def test_qr_code_is_read_from_the_rendered_page(pdfs: Pdfs, kind: str) -> None:
    """A reader of its own finds the club's address on the page, as printed at 200 dots an inch."""
    page = pypdfium2.PdfDocument(pdfs[kind, "a4"])[0]
    seen = zxingcpp.read_barcodes(page.render(scale=200 / 72, grayscale=True).to_numpy())
    assert [code.text for code in seen] == [LINK]


def test_a_video_is_a_code_on_clinic_station_and_pocket(starter: Library) -> None:
    """A card's video stands on each kind as a code that reads, and as a link."""
    from msgspec.structs import replace

    name, url = "vault-tall-fall", "https://example.org/video/7?a=1&b=2"

    class WithVideo:
        vocabulary, index, ask, ladder, squad_size = (
            starter.vocabulary,
            starter.index,
            starter.ask,
            starter.ladder,
            starter.squad_size,
        )

        def card(self, wanted: str) -> object:
            return replace(starter.card(wanted), video=url)

    from kb.handout import build_sheet

    for kind in ("clinic", "station", "pocket"):
        sheet = build_sheet(SheetOrder(cards=(name,), kind=kind, date=DAY), WithVideo())  # type: ignore[arg-type]
        pdf = sheet_pdf(sheet)
        seen = [
            code.text
            for page in pypdfium2.PdfDocument(pdf)
            for code in zxingcpp.read_barcodes(page.render(scale=300 / 72, grayscale=True).to_numpy())
        ]
        assert seen == [url]
        links = [
            note.get_object()["/A"].get("/URI")
            for page in reader(pdf).pages
            for note in page.get("/Annots", [])
            if "/A" in note.get_object()
        ]
        assert url in links


def test_same_sheet_same_bytes_in_another_process(
    starter: Library, sheets: dict[str, Sheet], pdfs: Pdfs, tmp_path: Path
) -> None:
    """A second process writes the same bytes as this one, and another date other bytes."""
    del starter
    code = (
        "import sys, kb; from pathlib import Path; from tests.handout.support import orders;"
        "library = kb.open_library(); sheet = library.handout(orders(library)['clinic']);"
        "library.write_handout(sheet, Path(sys.argv[1]))"
    )
    path = tmp_path / "again.pdf"
    subprocess.run([sys.executable, "-c", code, str(path)], check=True, cwd=ROOT)
    assert path.read_bytes() == pdfs["clinic", "a4"]
    from msgspec.structs import replace

    assert sheet_pdf(replace(sheets["clinic"], date="2026-11-06")) != path.read_bytes()


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_written_by_people_is_read_as_markup(sheets: dict[str, Sheet], text: str) -> None:
    """Every text of a clinic sheet replaced by one full of signs: the PDF shows the signs themselves, each time."""
    sheet = with_text(sheets["clinic"], lambda _: text)
    pdf = sheet_pdf(sheet)
    shown = squeezed(text_of(pdf))
    assert shown.count(squeezed(text)) >= 150
    assert reader(pdf).metadata.title == text


@needs_poppler
@every
def test_poppler_agrees(pdfs: Pdfs, sheets: dict[str, Sheet], kind: str, tmp_path: Path) -> None:
    """pdfinfo, pdffonts and pdftotext of another family say the same of the file."""
    path = tmp_path / "sheet.pdf"
    path.write_bytes(pdfs[kind, "letter"])

    def run(*words: str) -> str:
        return subprocess.run([*words], check=True, capture_output=True, text=True).stdout

    info = run("pdfinfo", str(path))
    assert re.search(r"Tagged: +yes", info)
    assert re.search(r"Page size: +612 x 792 pts \(letter\)", info)
    assert f"Title:           {sheets[kind].title}" in info
    rows = [line.split() for line in run("pdffonts", str(path)).splitlines()[2:]]
    assert rows
    assert {tuple(row[-5:-3]) for row in rows} == {("yes", "yes")}, "embedded and cut to the letters used"
    text = squeezed(run("pdftotext", str(path), "-"))
    for drill in sheets[kind].drills:
        for said in (*drill.cues[:3], drill.stop, drill.hands):
            assert squeezed(said) in text, drill.id


def test_what_typst_refuses_is_an_error_of_ours(sheets: dict[str, Sheet]) -> None:
    """A drawing that is none is one sentence with the remedy, not a traceback of the typesetter's."""
    from msgspec.structs import replace

    sheet = sheets["clinic"]
    broken = replace(sheet, drills=tuple(replace(drill, picture="<svg no") for drill in sheet.drills))
    with pytest.raises(SheetUnprintable, match=r"SVG.*\.html"):
        sheet_pdf(broken)


def test_covered_list_is_what_the_typefaces_have() -> None:
    """The list beside the typefaces is their own tables, as fontTools reads them."""
    latin = [set(TTFont(FONTS / f"Inter-{weight}.otf").getBestCmap()) for weight in ("Regular", "Bold")]
    both_weights = latin[0] & latin[1]
    wanted = both_weights | set(TTFont(FONTS / "NotoSansCJKsc-Common.otf").getBestCmap())
    runs = [line.split() for line in (FONTS / "covered.txt").read_text("utf-8").splitlines()]
    assert {code for first, last in runs for code in range(int(first, 16), int(last, 16) + 1)} == wanted
