"""Steps that are handed over, the field card, the walk-through: in a browser, from paper, through a QR decoder."""

import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from unicodedata import normalize

import pytest
import zxingcpp
from conftest import until
from PIL import Image
from playwright.sync_api import Browser, Page
from pypdf import PdfReader
from test_offline import open_and_keep
from test_pages import OPEN_ALL, payload, type_in

from loftbook.drawing.qr import qr_code
from loftbook.faces.live import answer

pytestmark = pytest.mark.browser

LIVE = "Number(document.querySelector('.loft-answer').dataset.answer) > 0"
POINT = 72 / 25.4  # points in a millimetre


def live(page: Page) -> None:
    until(page, LIVE)


def decoded(png: bytes) -> list[str]:
    return sorted(found.text for found in zxingcpp.read_barcodes(Image.open(io.BytesIO(png)).convert("L")))


def open_at(chromium: Browser, url: str, **more: object) -> Page:
    page = chromium.new_context(**more).new_page()  # type: ignore[arg-type]
    page.goto(url)
    live(page)
    return page


# --- a step ------------------------------------------------------------------------------------------


def test_a_step_link_with_a_rig_opens_that_step_with_those_numbers(chromium: Browser, site_url: str) -> None:
    fields = {"rocket.tube": "54 mm", "rig.name": "Handed over"}
    page = open_at(chromium, f"{site_url}step/#pack-bundle~{payload(fields)}")
    until(page, "document.querySelector('.loft-where')?.textContent.includes('Handed over')")
    shown = page.inner_text(".loft-answer")
    told = json.loads(answer(json.dumps({"do": "step", "anchor": "pack-bundle", "fields": fields})))["html"]
    seen = re.search(r"You should see: </strong>([^<]+)", told)[1]  # type: ignore[index]
    assert seen in shown
    assert (
        seen
        != re.search(
            r"You should see: </strong>([^<]+)",
            json.loads(answer(json.dumps({"do": "step", "anchor": "pack-bundle", "fields": {}})))["html"],
        )[1]
    )  # type: ignore[index]
    page.context.close()


def test_a_step_link_opens_offline_on_a_profile_that_has_the_site(
    chromium: Browser, site: Path, killable: Callable[..., object]
) -> None:
    server = killable(site)
    context = chromium.new_context()
    page = context.new_page()
    open_and_keep(page, server.url)  # type: ignore[attr-defined]
    server.kill()  # type: ignore[attr-defined]
    fresh = context.new_page()
    fresh.goto(f"{server.url}step/#fold-halve-2~{payload({'canopy.size': '2 m', 'rig.name': 'No network'})}")  # type: ignore[attr-defined]
    until(fresh, "document.querySelector('.loft-where')?.textContent.includes('No network')")
    assert "Fold 2" in fresh.inner_text(".loft-answer h2")
    assert "1 m long" in fresh.inner_text(".loft-answer")
    context.close()


def test_next_and_back_turn_the_steps(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#fold-lay-out")
    first = page.inner_text(".loft-answer h2")
    page.click(".loft-next")
    until(page, f"document.querySelector('.loft-answer h2').textContent !== {json.dumps(first)}")
    assert page.url.endswith("#fold-halve-1")
    page.click(".loft-back")
    until(page, f"document.querySelector('.loft-answer h2').textContent === {json.dumps(first)}")
    page.context.close()


def test_a_step_this_rig_does_not_have_is_told(chromium: Browser, site_url: str) -> None:
    page = chromium.new_page()
    page.goto(f"{site_url}step/#fold-pleat-9")
    until(page, "document.querySelector('loft-handout .loft-note')?.textContent.includes('no step')")
    page.close()


def test_the_code_of_a_step_leads_to_the_step(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#pack-lines~{payload({'rig.name': 'Scanned'})}")
    until(page, "document.querySelector('.loft-where')?.textContent.includes('Scanned')")
    page.get_by_role("button", name="Show it as a QR code").click()
    code = page.wait_for_selector(".loft-note .loft-qr")
    assert code
    (link,) = decoded(code.screenshot())
    other = open_at(chromium, link)
    until(other, "document.querySelector('.loft-where')?.textContent.includes('Scanned')")
    assert other.inner_text(".loft-answer h2") == "The lines"
    page.context.close()
    other.context.close()


@pytest.mark.parametrize("length", [1, 20, 120, 700, 2400])
def test_qr_codes_of_any_length_are_read_by_a_decoder(chromium: Browser, length: int) -> None:
    text = ("http://localhost/step/#pack-bundle~" + "aZ0-_" * 600)[:length]
    page = chromium.new_page(viewport={"width": 900, "height": 900})
    page.set_content(f"<body style='margin:0;width:880px'>{qr_code(text, 'test').svg}")
    assert decoded(page.screenshot()) == [text]
    page.close()


# --- folds that swing --------------------------------------------------------------------------------


def test_a_fold_is_stepped_by_hand_and_keeps_still_for_those_who_ask(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#fold-halve-1", reduced_motion="reduce")
    place = """(() => { const turn = document.querySelector('.fold-turn');
        return turn.getBoundingClientRect().top - turn.closest('svg').getBoundingClientRect().top; })()"""
    after = page.evaluate(place)
    page.get_by_role("button", name="Before").click()
    before = page.evaluate(place)
    assert before > after + 20  # the near half lies below the crease before it is brought up
    page.get_by_role("button", name="Watch it").click()
    assert page.evaluate("getComputedStyle(document.querySelector('.fold-turn')).animationName") == "none"
    page.get_by_role("button", name="After").click()
    assert abs(page.evaluate(place) - after) < 1
    page.context.close()


def test_a_fold_moves_for_those_who_like_it(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#fold-halve-1", reduced_motion="no-preference")
    page.get_by_role("button", name="Watch it").click()
    assert page.evaluate("getComputedStyle(document.querySelector('.fold-turn')).animationName") == "loft-fold"
    page.context.close()


def test_a_chart_tells_its_numbers_under_the_finger(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}descent/")
    chart = page.locator("svg.loft-chart").first
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] * 0.6, box["y"] + box["height"] * 0.5)
    told = page.locator(".loft-told").first.inner_text()
    assert re.match(r"[\d.]+ s: [\d.]+ m high, [\d.]+ m/s, drag [\d.]+ N", told)
    chart.focus()
    page.keyboard.press("ArrowRight")
    assert page.locator(".loft-told").first.inner_text() != told
    page.context.close()


# --- the field card ----------------------------------------------------------------------------------

PAPERS = {"a4": (210, 297), "letter": (215.9, 279.4), "half": (148, 210)}
RIGS: dict[str, dict[str, str]] = {
    "demo": {},
    "sixteen lines, failing": {
        "canopy.sides": "16",
        "rocket.tube": "54 mm",
        "flight.wind": "9 m/s",
        "rig.name": "M" * 60,
    },
    "twelve lines, drogue": {
        "canopy.sides": "12",
        "flight.recovery": "drogue, then main",
        "rig.units": "feet and inches",
    },
}


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("rig", RIGS)
def test_the_card_prints_on_one_side_with_nothing_cut_off(
    chromium: Browser, site_url: str, paper: str, rig: str, tmp_path: Path
) -> None:
    page = open_at(chromium, f"{site_url}card/#~{payload(RIGS[rig] | {'canopy.rate': '5.4 m/s'})}")
    until(page, "document.querySelectorAll('.loft-codes .loft-qr').length === 2")
    name = RIGS[rig].get("rig.name", "Demo rig, 75 mm")
    until(page, f"document.querySelector('.loft-card h2').textContent === {json.dumps(name)}")
    page.evaluate(f"document.documentElement.dataset.paper = '{paper}'")
    words = page.evaluate(
        "[...document.querySelectorAll('.loft-card li, .loft-card dd, .loft-card h2')].map((e) => e.textContent)"
    )
    pdf = page.pdf(prefer_css_page_size=True)
    read = PdfReader(io.BytesIO(pdf))
    assert len(read.pages) == 1, f"{len(read.pages)} sides"
    wide, high = (float(x) / POINT for x in read.pages[0].mediabox[2:])
    assert (wide, high) == pytest.approx(PAPERS[paper], abs=0.6)
    printed = re.sub(r"\s+", "", normalize("NFKC", read.pages[0].extract_text()))  # ligatures taken apart
    for text in words:
        assert re.sub(r"\s+", "", normalize("NFKC", text))[:24] in printed, text
    page.context.close()


def test_the_codes_on_the_card_lead_to_working_links(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}card/#~{payload({'rig.name': 'On paper', 'canopy.size': '1.6 m'})}")
    until(page, "document.querySelectorAll('.loft-codes .loft-qr').length === 2")
    until(page, "document.querySelector('.loft-card h2').textContent === 'On paper'")
    links = [decoded(code.screenshot())[0] for code in page.query_selector_all(".loft-codes .loft-qr")]
    assert len(links) == 2
    for link, title in zip(links, ("Lay it out", "Anchor and look"), strict=True):
        other = open_at(chromium, link)
        until(other, "document.querySelector('.loft-where')?.textContent.includes('On paper')")
        assert other.inner_text(".loft-answer h2") == title
        other.context.close()
    page.context.close()


def test_the_card_carries_the_cautions(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}card/")
    card = page.inner_text(".loft-card")
    for word in ("burns", "ground test", "misfire", "range safety officer"):
        assert word in card
    page.context.close()


# --- the walk-through --------------------------------------------------------------------------------


def tick_all(page: Page) -> None:
    for box in page.query_selector_all("input[data-item]"):
        if not box.is_checked():
            box.check()


def test_the_walk_keeps_its_place_and_is_done_only_when_all_is(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}field/")
    boxes = page.query_selector_all("input[data-item]")
    assert len(boxes) >= 18
    boxes[0].check()
    boxes[3].check()
    assert page.inner_text(".loft-progress").startswith(f"2 of {len(boxes)} ticked")
    page.reload()
    live(page)
    assert [box.is_checked() for box in page.query_selector_all("input[data-item]")][:4] == [True, False, False, True]
    tick_all(page)
    assert page.get_attribute(".loft-progress", "data-done") == "yes"
    page.context.close()


def test_the_walk_is_not_done_with_a_failed_check_unless_it_is_said_why(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}plan/")
    page.evaluate(OPEN_ALL)
    type_in(page, "pack.cord_turns", "1")
    page.goto(f"{site_url}field/")
    live(page)
    page.wait_for_selector("textarea[data-why='cord-wraps']")
    tick_all(page)
    assert page.get_attribute(".loft-progress", "data-done") == "no"
    assert "wants a reason" in page.inner_text(".loft-progress")
    page.fill("textarea[data-why='cord-wraps']", "Bench test, not flown")
    assert page.get_attribute(".loft-progress", "data-done") == "yes"
    page.reload()
    live(page)
    assert page.input_value("textarea[data-why='cord-wraps']") == "Bench test, not flown"
    page.context.close()
