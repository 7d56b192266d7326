"""The pages in a real browser, phone and desk: the way of a coach, offline, by keyboard, checked by axe-core."""

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

SIZES: dict[str, dict[str, Any]] = {
    "phone": {
        "viewport": {"width": 390, "height": 844},
        "device_scale_factor": 2,
        "has_touch": True,
        "is_mobile": True,
    },
    "desk": {"viewport": {"width": 1440, "height": 900}},
}
ALL = [
    "/",
    "/?q=piking+on+vault+landing&level=3&height=128",
    "/?q=she+landed+on+her+head",
    "/?q=my+tax+return",
    "/?q=how+do+I+teach+a+kip",
    "/drill/vault-tall-fall?height=128",
    "/drill/vault-tall-fall/say",
    "/faults",
    "/fault/vault-pike-before-landing",
    "/ladders",
    "/ladder/kip?level=4",
    "/kit?have=panel-mat",
    "/tray?cards=vault-tall-fall,beam-stack-handstand",
    "/sheet?cards=vault-tall-fall,beam-stack-handstand",
    "/staff",
    "/library",
    "/library/drills?_size=20",
    "/library/drills/vault-tall-fall",
    "/library/no-kit",
]


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest, chromium: Any, address: str) -> Iterator[Any]:
    """Return a page whose every other host is blocked and whose console must stay silent."""
    context = chromium.new_context(base_url=address, color_scheme="light", **SIZES[request.param])
    tab = context.new_page()
    faults: list[str] = []
    tab.on("console", lambda message: faults.append(message.text) if message.type in ("error", "warning") else None)
    tab.on("pageerror", lambda error: faults.append(str(error)))

    def only_here(route: Any) -> None:
        if route.request.url.startswith((address, "data:")):
            route.continue_()
        else:
            faults.append(f"asked another host: {route.request.url}")
            route.abort()

    context.route("**/*", only_here)
    tab.phone = request.param == "phone"
    yield tab
    context.close()
    assert faults == []


def test_ask_drill_ladder_tray_sheet(page: Any) -> None:
    """The way of a coach: ask, take a reading back, open, climb, collect, print."""
    page.goto("/")
    page.fill("#q", "piking on vault landing, level 4")
    page.press("#q", "Enter")
    page.wait_for_selector("li.drill")
    assert "Pikes before the back lands" in page.inner_text(".fault h2")
    assert "q=piking" in page.url
    page.click("text=take back >> nth=0")
    page.wait_for_url("**ignore=**")
    assert "level:" not in page.inner_text("ul.read")
    page.click("li.drill >> nth=0 >> text=Put in tray")
    page.wait_for_selector("[data-tray-count]:not([hidden])")
    page.click("li.drill >> nth=1 >> h3 a")
    page.wait_for_selector(".rungs .here")
    page.click("article.card >> text=Put in tray")
    page.click(".rungs li >> nth=0 >> a")
    page.wait_for_selector(".rungs li.here")
    page.click("[data-tray-link]")
    page.wait_for_selector(".traylist")
    assert page.locator(".traylist li").count() == 2
    page.fill("[name=height]", "128")
    page.click("text=Print the sheet")
    page.wait_for_selector("section.signs")
    assert "Sizes for a child of 128 cm" in page.inner_text("body")
    assert page.locator("article").count() == 2
    assert "A qualified coach decides" in page.inner_text("body")


def test_back_and_forward(page: Any) -> None:
    """The browser's back goes to the question before, without a reload."""
    page.goto("/?q=short+handstand+on+beam")
    page.fill("#q", "bends her arms in the cast")
    page.press("#q", "Enter")
    page.wait_for_url("**bends**")
    expect(page.locator(".fault h2").first).to_contain_text("cast", ignore_case=True)
    page.go_back()
    expect(page.locator("#q")).to_have_value("short handstand on beam")
    expect(page.locator(".fault h2").first).to_contain_text("handstand", ignore_case=True)


def test_the_tray_opens_on_another_phone(page: Any, chromium: Any, address: str) -> None:
    """A tray's address carries its drills; the other phone keeps them."""
    other = chromium.new_context(base_url=address).new_page()
    other.goto("/tray?cards=vault-tall-fall,beam-stack-handstand")
    other.goto("/")
    expect(other.locator("[data-tray-count]")).to_have_text("2")
    other.goto("/tray")
    other.wait_for_selector(".traylist")
    assert other.locator(".traylist li").count() == 2
    other.click(".traylist li >> nth=0 >> .act")
    expect(other.locator(".traylist li")).to_have_count(1)
    other.context.close()
    page.goto("/tray")
    assert "Nothing is in the tray" in page.inner_text("main")


@pytest.mark.parametrize("where", ALL)
def test_no_sideways_scroll_and_nothing_for_axe(page: Any, where: str) -> None:
    """No page is wider than the screen, and axe-core finds nothing serious or critical."""
    page.goto(where)
    page.wait_for_load_state("networkidle")
    width = 390 if page.phone else 1440
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate("innerWidth") == width
    found = Axe().run(page).response["violations"]
    bad = [
        (v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in found if v["impact"] in ("serious", "critical")
    ]
    assert bad == []


def test_targets_are_large_enough_for_a_thumb(page: Any) -> None:
    """Buttons and the links that are tapped in the gym are at least 44 pixels high."""
    page.goto("/?q=piking+on+vault+landing")
    for target in page.locator("button:visible, .act:visible, .top nav a:visible, .read a:visible").all():
        assert target.bounding_box()["height"] >= 43.5, target.inner_text()


def test_keyboard_alone(chromium: Any, address: str) -> None:
    """With Tab and Enter: skip link, question, answer, tray, drill."""
    page = chromium.new_context(base_url=address).new_page()
    page.goto("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    reached: set[str] = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate("(document.activeElement.id || document.activeElement.textContent).trim().slice(0, 30)")
        )
    assert {"Ask", "Faults", "Ladders", "Kit", "Staff", "q", "Find drills"} <= reached
    page.focus("#q")
    page.keyboard.type("piking on vault landing")
    page.keyboard.press("Enter")
    page.wait_for_selector("li.drill")
    page.focus("li.drill [data-tray]")
    page.keyboard.press("Space")
    expect(page.locator("[data-tray-count]")).to_have_text("1")
    page.keyboard.press("Enter")
    expect(page.locator("[data-tray-count]")).to_be_hidden()
    page.focus("li.drill h3 a")
    page.keyboard.press("Enter")
    page.wait_for_selector("article.card")
    page.context.close()


def test_without_scripts(chromium: Any, address: str) -> None:
    """With JavaScript off the question is answered, readings are taken back, and a drill can be printed."""
    page = chromium.new_context(base_url=address, java_script_enabled=False).new_page()
    page.goto("/")
    page.fill("#q", "piking on vault landing level 4")
    page.click("text=Find drills")
    assert page.locator("li.drill").count() > 0
    page.click("text=take back >> nth=0")
    assert page.locator("li.drill").count() > 0
    page.click("li.drill >> nth=0 >> text=Put in tray")
    page.click("text=Print the sheet")
    assert page.locator("article").count() == 1
    page.context.close()


def test_dark_is_dark_and_readable(chromium: Any, address: str) -> None:
    """By the system's wish the pages are dark; axe-core finds no weak contrast there either."""
    page = chromium.new_context(base_url=address, color_scheme="dark").new_page()
    for where in ALL:
        page.goto(where)
        found = Axe().run(page, options={"runOnly": ["color-contrast"]}).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"]) for v in found] == [], where
    page.goto("/")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != "rgb(251, 250, 246)"
    page.context.close()
