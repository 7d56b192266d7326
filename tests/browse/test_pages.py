"""Our pages in process: what a coach reads on them, what can be taken back, what is refused."""

import html
import io
import re
from typing import Any

import pytest
from pypdf import PdfReader

from kb.browse.markdown import to_html
from kb.browse.pages import EXAMPLES
from kb.facade import Library
from tests.browse.conftest import Get

PAGES = {
    "/": "What do you see?",
    "/?q=piking+on+vault+landing": "Pikes before the back lands",
    "/?q=how+do+I+teach+a+kip": "The way to Kip",
    "/drill/vault-tall-fall": "Fall like a tree.",
    "/drill/vault-tall-fall?height=128": "Build: landing mat",
    "/drill/vault-tall-fall?age=9": "Most girls of this age",
    "/drill/vault-tall-fall/say": "Fall like a tree.",
    "/faults": "Pikes before the back lands",
    "/faults?event=beam": "Balance beam",
    "/fault/vault-pike-before-landing": "Ten-second check",
    "/ladders": "Kip",
    "/ladders?event=bars": "Kip",
    "/ladder/kip?level=4&afraid=1": "Start here",
    "/kit": "What can we do with what we have?",
    "/kit?have=panel-mat&have=wall": "drills",
    "/tray": "Nothing is in the tray",
    "/tray?cards=vault-tall-fall,no-such-card": "Tall fall to a soft stack",
    "/sheet?cards=vault-tall-fall&height=128": "Stop and refer",
    "/staff": "Drills that need no kit",
}
NOTICE = "A qualified coach decides."


def text_of(page: str) -> str:
    """Return what a page says, without its tags."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.parametrize(("address", "says"), PAGES.items(), ids=list(PAGES))
def test_pages_say_what_they_are_for(get: Get, address: str, says: str) -> None:
    """Every page comes, says what it is for, and carries the notice."""
    answer = get(address)
    assert answer.status_code == 200
    assert says in text_of(answer.text)
    assert NOTICE in answer.text


def test_every_drill_fault_and_ladder_has_its_page(starter: Library, get: Get) -> None:
    """All cards with their cautions and hands, all faults with their checks, all ladders."""
    for name in starter.index.card_ids:
        answer = get(f"/drill/{name}")
        assert answer.status_code == 200, name
        card, page = starter.card(name), " ".join(text_of(answer.text).split())
        assert " ".join(card.spotting.hands.split()) in page, name
        assert card.ready_when in page, name
    for fault in starter.vocabulary.faults.values():
        page = text_of(get(f"/fault/{fault.id}").text)
        assert all(cause.tell in page for cause in fault.causes), fault.id
    for skill in starter.vocabulary.skills:
        assert get(f"/ladder/{skill}").status_code == 200, skill


def test_the_answer_is_the_librarys(starter: Library, get: Get) -> None:
    """The page shows the same faults and drills, in the same order, as the library answers."""
    for question in EXAMPLES:
        answer = starter.ask(question, top=5)
        page = get("/", params={"q": question}).text
        shown = re.findall(r'<li class="drill">.*?href="/drill/([a-z0-9-]+)', page, re.S)
        assert shown == [drill.id for drill in answer.drills], question
        for drill in answer.drills:
            keep_safe = starter.card(drill.id).sections["Keep safe"]
            for line in re.findall(r"^[-*] +(.+)$", keep_safe, re.M):
                assert line.replace("**", "") in text_of(page)
        if answer.faults:
            assert all(cause.tell in text_of(page) for cause in answer.faults[0].causes)


def test_a_sign_gets_no_drill(get: Get) -> None:
    """Pain or a head knock is answered with stop and refer, whatever else is asked."""
    page = get("/", params={"q": "she hit her head on the beam and feels sick, drills for that", "level": "4"}).text
    assert 'role="alert"' in page
    assert "No drill is given for this" in page
    assert 'class="drill"' not in page


def test_what_was_read_can_be_taken_back(get: Get) -> None:
    """Each reading has a link; following it asks again without it."""
    page = get("/", params={"q": "piking on vault landing, level 4, no springboard"}).text
    links = dict(re.findall(r'<span>([a-z ]+): <b>[^<]*</b></span> <a href="([^"]+)"', page))
    assert {"level", "event", "missing kit"} <= set(links)
    again = get(html.unescape(links["level"])).text
    assert "<span>level:" not in again
    assert "<span>missing kit:" in again


def test_a_part_of_the_page_for_scripts(get: Get) -> None:
    """With the header that the script sends only the answer comes, and it is the one of the whole page."""
    whole = get("/?q=short+handstand+on+beam").text
    part = get("/?q=short+handstand+on+beam", headers={"x-part": "answer"}).text
    assert "<html" not in part
    assert re.findall(r'href="/drill/([a-z0-9-]+)"', part) == re.findall(
        r'href="/drill/([a-z0-9-]+)"', whole.partition('id="answer"')[2].partition("<footer")[0]
    )


def test_first_pages_are_small(get: Get) -> None:
    """The first page is under 60 kB without drawings, with an answer too."""
    for address in ("/", "/?q=piking+on+vault+landing&top=20"):
        assert len(get(address).content) < 60_000


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/drill/no-such-drill", 404),
        ("/fault/none", 404),
        ("/ladder/none", 404),
        ("/faults?event=rings", 404),
        ("/kit?have=rocket", 404),
        ("/nothing/here", 404),
        ("/?q=x&level=high", 400),
        ("/?q=x&level=99", 400),
        ("/?q=x&height=20", 400),
        ("/drill/vault-tall-fall?height=20", 400),
        ("/drill/vault-tall-fall?height=NaN", 400),
        ("/drill/no-such-drill.svg", 404),
        ("/qr.svg?cards=<script>", 404),
        ("/-/databases", 404),
        ("/-/versions", 404),
        ("/-/settings.json", 404),
        ("/library.db", 404),
        ("/library?sql=select+1", 403),
    ],
)
def test_what_is_not_there_is_told_in_a_sentence(get: Get, address: str, status: int) -> None:
    """No traceback, no path, the right status."""
    answer = get(address)
    assert answer.status_code == status
    for secret in ("Traceback", "site-packages", "/home", "/tmp", "/work", ".py", "sqlite"):  # noqa: S108
        assert secret not in answer.text


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_only_reading(get: Get, method: str) -> None:
    """Nothing but GET and HEAD is let in, on our pages and on the tables."""
    for address in ("/", "/drill/vault-tall-fall", "/library/drills", "/-/static/app.css"):
        answer = get(address, method=method)
        assert answer.status_code == 405
        assert answer.headers["allow"] == "GET, HEAD"
    assert get("/", method="HEAD").status_code == 200


HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>{{7*7}}"


def test_hostile_words_come_out_as_words(get: Get) -> None:
    """What is typed is shown and never run, on every page that shows it."""
    for address in ("/", "/sheet"):
        name = "q" if address == "/" else "title"
        page = get(address, params={name: HOSTILE, "cards": "vault-tall-fall"}).text
        assert "<script>alert" not in page
        assert "<img src=x" not in page
        assert "{{7*7}}" in html.unescape(page)


def test_card_text_is_escaped() -> None:
    """Markdown makes lists and bold; HTML, images and links of other schemes stay words."""
    assert to_html("**tight** <b>x</b>") == "<p><strong>tight</strong> &lt;b&gt;x&lt;/b&gt;</p>\n"
    assert "<a" not in to_html("[x](javascript:alert(1)) [y](data:text/html,x) [z](/etc/passwd)")
    assert 'href="https://example.org"' in to_html("[x](https://example.org)")
    assert "<img" not in to_html("![x](https://example.org/x.png)")


def test_drawings_are_for_the_child(starter: Library, get: Get) -> None:
    """The drawing at a height is the library's drawing at that height."""
    answer = get("/drill/vault-tall-fall.svg?height=128")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.text == starter.picture("vault-tall-fall", sizes=starter.size("vault-tall-fall", height=128))


def test_the_tray_sums_the_kit(starter: Library, get: Get) -> None:
    """The tray lists each piece as often as all its drills together need it."""
    names = ("vault-tall-fall", "beam-stack-handstand")
    need = sum(p.count for n in names for p in starter.card(n).equipment if p.item == "panel-mat")
    assert f"{need} × Panel mat" in text_of(get(f"/tray?cards={','.join(names)}").text)


def test_a_code_only_where_a_phone_can_follow_it(pages: Any, get: Get, monkeypatch: pytest.MonkeyPatch) -> None:
    """On this machine alone there is no code; shared, it holds the address on the network."""
    tray = "/tray?cards=vault-tall-fall"
    assert "/qr.svg" in get(tray).text
    assert "/qr.svg" not in get(tray, headers={"host": "127.0.0.1:8421"}).text
    alone = get("/qr.svg?cards=vault-tall-fall", headers={"host": "localhost:8421"}).content
    monkeypatch.setattr(pages.desk, "shared", "http://10.1.2.3:8421/")
    assert "/qr.svg" in get(tray, headers={"host": "127.0.0.1:8421"}).text
    shared = get("/qr.svg?cards=vault-tall-fall", headers={"host": "localhost:8421"}).content
    assert shared != alone
    assert shared == get("/qr.svg?cards=vault-tall-fall", headers={"host": "10.1.2.3:8421"}).content


@pytest.mark.parametrize("kind", ["clinic", "station", "pocket"])
def test_the_tray_as_pdf(get: Get, kind: str) -> None:
    """An independent reader finds the drills and their cautions in the PDF."""
    answer = get(f"/sheet.pdf?cards=vault-tall-fall,beam-stack-handstand&kind={kind}&height=128")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages).split())
    for said in ("Tall fall to a soft stack", "Split over the stack", "A qualified coach decides", "stop and refer"):
        assert said in words
    assert get("/sheet.pdf").status_code == 400
    assert get("/sheet.pdf?cards=vault-tall-fall&kind=rocket").status_code == 400
