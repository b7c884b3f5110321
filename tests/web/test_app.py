"""The app as a technician uses it: a first answer, a call with no signal and no server, nothing lost."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page

from support.app_in_browser import DESKTOP, PHONE, Served, engine_is_ready, shell_is_kept, until

pytestmark = [pytest.mark.needs("chromium"), pytest.mark.xdist_group("browser")]

AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
RULES = "['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']"
READINGS = {
    "Suction pressure at the compressor": "5",
    "Discharge (head)": "222 psig",
    "Suction line at the coil outlet": "9",
    "Liquid at the condenser outlet": "89 F",
    "Temperature drop across the drier": "9",
}
NOT_AS_IT_SHOULD_BE = {"Sight glass": "bubbles", "Drier by touch": "cooler after"}


def complaints(page: Page, where: str) -> list[str]:
    """Return what accessibility rules say against a screen, and targets too small for a glove."""
    page.evaluate(AXE)
    found = page.evaluate(f"axe.run(document, {{ runOnly: {RULES} }})")["violations"]
    said = [f"{where}: {one['id']}: {node['html'][:90]}" for one in found for node in one["nodes"]]
    small = page.evaluate(
        "[...document.querySelectorAll('button, a, select, summary, input')]"
        ".filter((one) => one.type !== 'file' && one.getClientRects().length && one.offsetHeight < 48)"
        ".filter((one) => !one.closest('p')).map((one) => one.outerHTML.slice(0, 90))"
    )
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return said + [f"{where}: under 48 px: {one}" for one in small] + [f"{where}: too wide"] * (wide > 0)


def go(page: Page, screen: str) -> None:
    """Open a screen by its address, as a link does."""
    page.evaluate("(screen) => { location.hash = screen; }", screen)


def fill(page: Page, label: str, text: str) -> None:
    """Type into a field and leave it."""
    field = page.get_by_label(label).first
    field.fill(text)
    field.press("Enter")


def new_unit(page: Page) -> None:
    """Answer the five facts of a plain unit."""
    go(page, "#/unit/new")
    fill(page, "What do people call it?", "Butter freezer")
    page.get_by_role("button", name="walk-in").click()
    page.get_by_label("2. Refrigerant").select_option("R-448A")
    page.get_by_role("button", name="freezer").click()
    fill(page, "4. How big is the box", "10 x 8 x 8 ft")
    fill(page, "5. How big is the machine", "3 hp")
    page.get_by_role("button", name="Show what it should read").click()
    page.get_by_role("heading", name="Measure this to sharpen").wait_for()


def arrive(page: Page) -> None:
    """Start a call on the unit shown and say how the machine stands."""
    page.get_by_role("button", name="Start a call").click()
    page.get_by_role("button", name="box warm", exact=True).click()
    page.get_by_role("button", name="running", exact=True).click()
    fill(page, "For how many minutes", "55")
    fill(page, "Air into the condenser", "85")
    fill(page, "Air in the box", "10 F")


def walk(page: Page) -> None:
    """Go round the three places, tapping what is seen."""
    page.get_by_role("link", name="Walk round").click()
    for heading in ("At the door", "In the box", "At the condensing unit"):
        page.get_by_role("heading", name=heading).wait_for()
        for one in page.locator("fieldset.sighting").all():
            look(one)
        page.get_by_role("button", name=re.compile("^Done")).click()


def look(sighting: Locator) -> None:
    """Tap OK, or what else a place shows."""
    title = sighting.locator("legend").inner_text()
    other = next((seen for name, seen in NOT_AS_IT_SHOULD_BE.items() if title.startswith(name)), None)
    if other is None:
        sighting.locator("button.good").click()
    else:
        sighting.locator("button.bad").click()
        sighting.get_by_role("button", name=other).click()


def entries(page: Page) -> list[dict[str, object]]:
    """Return every entry on the phone."""
    return list(page.evaluate("import('/js/store.js').then(({ all }) => all('entries'))"))


def test_first_useful_answer(page: Page) -> None:
    new_unit(page)
    rows = page.locator(".reading")
    assert rows.count() > 15
    assert "psig" in rows.first.inner_text()
    assert page.locator("h1").inner_text() == "Butter freezer"
    page.get_by_label("Air into the condenser").fill("70 F")
    first = rows.nth(2).locator(".value")
    before = first.inner_text()
    page.get_by_label("Air into the condenser").fill("100 F")
    until(lambda: first.inner_text() != before, "new head pressure")


def test_bench_pad_and_units(page: Page) -> None:
    go(page, "#/bench")
    page.get_by_label("Refrigerant").select_option("R-448A")
    field = page.get_by_label("Pressure or temperature")
    field.tap()
    pad = page.get_by_role("group", name="Number pad")
    for key in ("1", "0", "minus"):
        pad.get_by_role("button", name=key, exact=True).tap()
    pad.get_by_role("button", name="F", exact=True).tap()
    assert field.input_value() == "-10 F"
    bottom = field.bounding_box()
    top = pad.bounding_box()
    assert bottom is not None
    assert top is not None
    assert bottom["y"] + bottom["height"] <= top["y"]
    pad.get_by_role("button", name="OK").tap()
    until(lambda: "psig" in page.locator(".big").first.inner_text(), "saturation shown")
    field.fill("20 psig")
    page.get_by_text("-4.7").wait_for()  # -4.7 F dew, -16.1 F bubble: CoolProp 8, as in the field notes
    assert "-16.1" in page.locator(".big-row").first.inner_text()
    page.reload()
    engine_is_ready(page)
    assert page.get_by_label("Pressure or temperature").input_value() == "20 psig"


def test_what_cannot_be_used_is_told_at_its_field(page: Page) -> None:
    go(page, "#/unit/new")
    fill(page, "4. How big is the box", "10 potatoes")
    page.get_by_role("button", name="Show what it should read").click()
    problems = page.locator(".field.wrong, .choice:has(.problem)")
    until(lambda: problems.count() == 4, "problems at four fields; no capacity is *don't know*")
    assert page.get_by_label("4. How big is the box").input_value() == "10 potatoes"


@pytest.fixture
def cut_off(browser: Browser) -> Iterator[tuple[BrowserContext, Page, list[str]]]:
    """Return a phone that loaded the app once; then its network was cut and the server killed."""
    server = Served()
    context = browser.new_context(**PHONE, accept_downloads=True)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda one: said.append(one.text) if one.type == "error" else None)
    page.on("pageerror", lambda problem: said.append(str(problem)))
    page.goto(server.address)
    engine_is_ready(page)
    shell_is_kept(page)
    context.set_offline(True)
    server.kill()
    page.reload()
    engine_is_ready(page)
    yield context, page, said
    context.close()


def test_a_call_without_signal_and_server(
    cut_off: tuple[BrowserContext, Page, list[str]], tmp_path: Path
) -> None:
    _, page, said = cut_off
    against: list[str] = []
    new_unit(page)
    against += complaints(page, "unit")
    arrive(page)
    against += complaints(page, "arrive")
    walk(page)
    page.get_by_role("heading", name="Suspects").wait_for()
    for label, value in READINGS.items():
        fill(page, label, value)
    first = page.locator(".suspect h3").first
    until(lambda: first.inner_text().startswith("Drier or liquid line"), "the restriction named first")
    suspect = page.locator(".suspect").first.inner_text()
    assert "because" in suspect
    assert "would kill it" in suspect
    assert page.locator(".suspect").count() <= 3
    assert page.locator(".next .headline").count() >= 1
    assert "%" not in page.locator(".chance").first.inner_text()
    page.get_by_role("button", name="Show numbers").click()
    until(lambda: "%" in page.locator(".chance").first.inner_text(), "numbers on request")
    against += complaints(page, "find")
    # Half typed, never left: a reload must not lose it.
    page.get_by_label("Discharge line").first.fill("25")
    until(lambda: page.locator(".kept").inner_text() == "kept", "kept")
    before, count = entries(page), page.locator(".pending b").inner_text()
    headline = page.locator(".suspect h3").first.inner_text()
    page.reload()
    engine_is_ready(page)
    assert page.get_by_label("Discharge line").first.input_value() == "25"
    page.get_by_role("heading", name="Suspects").wait_for()
    assert page.locator(".suspect h3").first.inner_text() == headline
    assert page.locator(".pending b").inner_text() == count == str(len(before))
    assert entries(page)[: len(before)] == before
    for label, value in READINGS.items():
        assert page.get_by_label(label).first.input_value() == value
    against += work_and_report(page)
    saved = copy_saved(page, tmp_path)
    assert {one["id"] for one in saved["entries"]} == {one["id"] for one in entries(page)}
    assert against == []
    assert said == []


def work_and_report(page: Page) -> list[str]:
    """Put something back, repair, close; return what accessibility says of the screens on the way."""
    against = []
    for part, heading in (("fix", "Temporary states"), ("prove", "As found"), ("handover", "Hand over")):
        call = page.evaluate("location.hash").split("/")[2]
        go(page, f"#/call/{call}/{part}")
        page.get_by_role("heading", name=heading).first.wait_for()
        against += complaints(page, part)
        if part == "fix":
            fill(page, "What was bridged", "jumper on the low-pressure control")
            page.get_by_role("button", name="Add").first.click()
            page.locator("div.temporary").wait_for()
            page.get_by_role("button", name="fixed it").first.click()
    page.get_by_role("button", name="repaired", exact=True).click()
    assert page.get_by_role("button", name="Close the call").is_disabled()
    go(page, f"#/call/{call}/fix")
    page.get_by_role("button", name="Restored").click()
    go(page, f"#/call/{call}/handover")
    page.get_by_role("button", name="repaired", exact=True).click()
    page.get_by_role("button", name="Close the call").click()
    page.get_by_role("link", name="Report").click()
    report = page.locator("main.report")
    for text in ("Butter freezer", "222 psig", "Sight glass: bubbles", "Drier or liquid line", "fixed it"):
        assert text in report.inner_text()
    return against + complaints(page, "report")


def copy_saved(page: Page, folder: Path) -> dict[str, list[dict[str, object]]]:
    """Save a copy of the pending work and return what is in the file."""
    go(page, "#/mine")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save a copy").click()
    path = folder / "copy.json"
    waiting.value.save_as(path)
    return dict(json.loads(path.read_text(encoding="utf-8")))


def test_a_copy_comes_back_on_another_phone(browser: Browser, served: Served, tmp_path: Path) -> None:
    context = browser.new_context(**PHONE, accept_downloads=True)
    page = context.new_page()
    page.goto(served.address)
    engine_is_ready(page)
    new_unit(page)
    arrive(page)
    copy_saved(page, tmp_path)
    before = entries(page)
    context.close()
    other = browser.new_context(**PHONE)
    page = other.new_page()
    page.goto(f"{served.address}#/mine")
    for _ in range(2):  # twice: nothing is doubled
        page.get_by_label("Take a copy back").set_input_files(tmp_path / "copy.json")
        until(lambda: "came back" in page.locator("main").inner_text(), "copy taken")
    assert entries(page) == before
    assert page.locator(".pending b").inner_text() == str(len(before))
    go(page, "#/calls")
    page.get_by_role("link", name="Butter freezer").wait_for()
    other.close()


def test_another_version_waits_for_consent(page: Page) -> None:
    """A newer release is taken when the person says so, and what was typed is still there."""
    shell_is_kept(page)
    go(page, "#/bench")
    page.get_by_label("Number and unit").fill("20 psig")
    newer = "caches.keys().then((names) => names.filter((name) => name.startsWith('holdcold-')))"
    before = page.evaluate(newer)
    page.evaluate("navigator.serviceWorker.register('/sw.js?newer')")
    page.get_by_role("button", name="Use it now").wait_for()
    assert page.evaluate(newer) == before
    with page.expect_navigation():
        page.get_by_role("button", name="Use it now").click()
    engine_is_ready(page)
    assert page.get_by_label("Number and unit").input_value() == "20 psig"


def test_every_other_screen_desktop_dark_and_spanish(browser: Browser, served: Served) -> None:
    context = browser.new_context(**DESKTOP, color_scheme="dark", locale="es-MX")
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda one: said.append(one.text) if one.type == "error" else None)
    page.goto(served.address)
    engine_is_ready(page)
    against: list[str] = []
    for screen, heading in (("bench", "Banco"), ("units", "Equipos"), ("unit/new", "Equipo nuevo"),
                            ("calls", "Avisos"), ("mine", "Lo mío")):  # fmt: skip
        go(page, f"#/{screen}")
        page.get_by_role("heading", name=heading, level=1).wait_for()
        against += complaints(page, screen)
    assert page.evaluate("document.documentElement.lang") == "es"
    page.get_by_role("button", name="SI: barg, °C").click()
    go(page, "#/bench")
    page.get_by_label("Refrigerante").select_option("R-290")
    page.get_by_label("Presión o temperatura").fill("3")
    until(lambda: "°C" in page.locator(".big").first.inner_text(), "in SI")
    context.close()
    assert against == []
    assert said == []
