"""Steps that are handed over, the field card, the walk-through: in a browser, from paper, through a QR decoder."""

import io
import json
import re
from collections.abc import Callable
from itertools import batched
from pathlib import Path
from unicodedata import normalize

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from pypdf import PageObject, PdfReader
from test_gates import LETHAL, as_list, tick_all, with_tests
from test_offline import open_and_keep
from test_pages import open_all, payload, told, type_in

from conftest import until
from loftbook.drawing.qr import qr_code
from loftbook.faces.handout import CARD_CAUTIONS
from loftbook.rig.fields import DEFAULTS, ONE_BAY_75
from loftbook.rig.ways import HELD, NO_DROGUE, ONE_BAY, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS

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


SEEN = re.compile(r"You should see: </strong>([^<]+)")


@pytest.mark.parametrize("key", ["main", "drogue"])
def test_a_step_link_with_a_rig_opens_that_step_with_those_numbers(chromium: Browser, site_url: str, key: str) -> None:
    anchor, fields = f"{key}-pack-bundle", {f"{key}.bay.tube": "75 mm", "rig.name": "Handed over"}
    page = open_at(chromium, f"{site_url}step/#{anchor}~{payload(fields)}")
    until(page, "document.querySelector('.loft-where')?.textContent.includes('Handed over')")
    assert page.get_attribute(".loft-answer h2", "id") == anchor
    seen = SEEN.search(told("step", fields, anchor=anchor))[1]  # type: ignore[index]
    assert seen in page.inner_text(".loft-answer")
    assert seen != SEEN.search(told("step", anchor=anchor))[1]  # type: ignore[index]
    page.context.close()


def test_a_step_link_opens_offline_on_a_profile_that_has_the_site(
    chromium: Browser, site: Path, killable: Callable[..., object]
) -> None:
    server = killable(site)
    context = chromium.new_context()
    page = context.new_page()
    open_and_keep(page, server.url)  # type: ignore[attr-defined]
    server.kill()  # type: ignore[attr-defined]
    for anchor, fields, title, words in (
        ("main-fold-halve-2", {"main.canopy.size": "2 m"}, "Fold 2", "1 m long"),
        ("drogue-pack-bundle", {"drogue.bay.tube": "75 mm"}, "The bundle", ""),
    ):
        fresh = context.new_page()
        carried = payload(fields | {"rig.name": f"No network, {anchor}"})
        fresh.goto(f"{server.url}step/#{anchor}~{carried}")  # type: ignore[attr-defined]
        until(fresh, f"document.querySelector('.loft-where')?.textContent.includes('No network, {anchor}')")
        assert fresh.get_attribute(".loft-answer h2", "id") == anchor
        assert title in fresh.inner_text(".loft-answer h2")
        assert words in fresh.inner_text(".loft-answer")
        assert SEEN.search(told("step", fields, anchor=anchor))[1] in fresh.inner_text(".loft-answer")  # type: ignore[index]
    context.close()


def test_next_and_back_turn_the_steps(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#main-fold-lay-out")
    first = page.inner_text(".loft-answer h2")
    page.click(".loft-next")
    until(page, f"document.querySelector('.loft-answer h2').textContent !== {json.dumps(first)}")
    assert page.url.endswith("#main-fold-halve-1")
    page.click(".loft-back")
    until(page, f"document.querySelector('.loft-answer h2').textContent === {json.dumps(first)}")
    page.context.close()


def test_next_after_the_last_fold_of_one_canopy_is_the_first_step_of_the_other(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#drogue-fold-shorten-1")
    page.click(".loft-next")
    until(page, "document.querySelector('.loft-answer h2').id === 'main-prep-inspect'")
    page.click(".loft-back")
    until(page, "document.querySelector('.loft-answer h2').id === 'drogue-fold-shorten-1'")
    page.context.close()


@pytest.mark.parametrize(("anchor", "fields"), [
    ("main-fold-pleat-9", {}), ("drogue-pack-bundle", {"rig.start": ONE_BAY_75}), ("pack-bundle", {}),
])  # fmt: skip
def test_a_step_this_rig_does_not_have_is_told(chromium: Browser, site_url: str, anchor: str, fields: dict[str, str]) -> None:
    page = chromium.new_page()
    page.goto(f"{site_url}step/#{anchor}" + (f"~{payload(fields)}" if fields else ""))
    until(page, "document.querySelector('loft-handout .loft-note')?.textContent.includes('no step')")
    page.close()


def test_the_code_of_a_step_leads_to_the_step(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#main-pack-lines~{payload({'rig.name': 'Scanned'})}")
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
    text = ("http://localhost/step/#drogue-pack-bundle~" + "aZ0-_" * 600)[:length]
    page = chromium.new_page(viewport={"width": 900, "height": 900})
    page.set_content(f"<body style='margin:0;width:880px'>{qr_code(text, 'test').svg}")
    assert decoded(page.screenshot()) == [text]
    page.close()


# --- folds that swing --------------------------------------------------------------------------------


def test_a_fold_is_stepped_by_hand_and_keeps_still_for_those_who_ask(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#main-fold-halve-1", reduced_motion="reduce")
    place = """(() => { const turn = document.querySelector('.fold-turn');
        return turn.getBoundingClientRect().top - turn.closest('svg').getBoundingClientRect().top; })()"""
    after = page.evaluate(place)
    page.get_by_role("button", name="Opened").click()
    before = page.evaluate(place)
    assert before > after + 20  # the near half lies below the crease before it is brought up
    page.get_by_role("button", name="Watch it").click()
    assert page.evaluate("getComputedStyle(document.querySelector('.fold-turn')).animationName") == "none"
    page.get_by_role("button", name="Folded").click()
    assert abs(page.evaluate(place) - after) < 1
    page.context.close()


def test_a_fold_moves_for_those_who_like_it(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#main-fold-halve-1", reduced_motion="no-preference")
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
LEAST = {"a4": 8.4, "letter": 8.4, "half": 5.9}  # points of the smallest words
CROWDED = 7.0  # the same of two canopies in one bay on a whole sheet
RIGS: dict[str, dict[str, str]] = {
    "demo": {},
    "one bay": {"rig.start": ONE_BAY_75},
    "sixteen lines, failing": {
        "main.canopy.sides": "16",
        "main.bay.tube": "54 mm",
        "drogue.canopy.sides": "16",
        "flight.wind": "9 m/s",
        "rig.name": "M" * 60,
    },
    "one bay, sixteen lines, failing": {
        "rig.start": ONE_BAY_75,
        "main.canopy.sides": "16",
        "main.bay.tube": "54 mm",
        "flight.wind": "9 m/s",
        "rig.name": "M" * 60,
    },
    "tested, failing": {
        "main.canopy.size": "700 mm",
        **{
            f"{bay}.charge.{field}": text
            for bay in ("main", "drogue")
            for field, text in {"tested": "1.37 g", "repeats": "3", "test_pins": "2", "test_date": "the twelfth of May, in the afternoon"}.items()
        },
    },
    "twelve lines, feet": {"main.canopy.sides": "12", "drogue.canopy.sides": "12", "rig.units": "feet and inches"},
    **{way: {"flight.way": way} for way in (ONE_CANOPY, TWO_PARTS, NO_DROGUE, HELD, ONE_BAY)},
}


def codes_of(way: str) -> int:
    """One for each canopy that is folded and each bay that is packed."""
    return len(WAYS[way].canopies) + len(WAYS[way].bays)


def way_of(fields: dict[str, str]) -> str:
    return fields.get("flight.way", ONE_CANOPY if fields.get("rig.start") == ONE_BAY_75 else TWO_BAYS)


def squeezed(text: str) -> str:
    """Without spaces, ligatures taken apart."""
    return re.sub(r"\s+", "", normalize("NFKC", text))


def printed_on(sheet: PageObject) -> tuple[str, float]:
    """The words on a sheet, and points of the smallest of them as they come out of the printer."""
    sizes: list[float] = []

    def note(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes.append(size * abs((tm[0] * tm[3] - tm[1] * tm[2]) * (cm[0] * cm[3] - cm[1] * cm[2])) ** 0.5)

    return squeezed(sheet.extract_text(visitor_text=note)), min(sizes)


@pytest.mark.parametrize("rig", RIGS)
def test_the_card_prints_on_one_side_for_each_bay_with_nothing_cut_off(chromium: Browser, site_url: str, rig: str) -> None:
    fields = RIGS[rig]
    way = WAYS[way_of(fields)]
    page = open_at(chromium, f"{site_url}card/#~{payload(fields | {'main.canopy.rate': '5.4 m/s', 'rig.name': fields.get('rig.name', 'Printed')})}")
    name = fields.get("rig.name", "Printed")
    until(page, f"document.querySelector('.loft-card h2').textContent.startsWith({json.dumps(name)})")
    until(page, f"document.querySelectorAll('.loft-codes .loft-qr').length === {codes_of(way.name)}")
    sides = page.evaluate("""[...document.querySelectorAll('.loft-card')].map((card) => [card.dataset.bay,
        [...card.querySelectorAll('li, dd, dt, h2, h3, figcaption')].map((e) => e.textContent)])""")
    assert [bay for bay, _ in sides] == list(way.bays)
    crowded = any(len(way.tenants(bay)) > 1 for bay in way.bays)
    for paper, size in PAPERS.items():
        each = 2 if crowded and paper == "half" else 1  # both sides of half a sheet where two canopies share a bay
        page.evaluate(f"document.documentElement.dataset.paper = '{paper}'")
        read = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
        assert len(read.pages) == each * len(way.bays), f"{len(read.pages)} sides of {paper}"
        found = [printed_on(sheet) for sheet in read.pages]
        for sheet, (_, smallest) in zip(read.pages, found, strict=True):
            wide, high = (float(x) / POINT for x in sheet.mediabox[2:])
            assert (wide, high) == pytest.approx(size, abs=0.6)
            assert smallest >= (min(CROWDED, LEAST[paper]) if crowded else LEAST[paper]), paper
        for sheets, (_, words) in zip(batched(found, each, strict=True), sides, strict=True):
            printed = "".join(text for text, _ in sheets)
            for text in words:
                assert squeezed(text)[:24] in printed, (paper, text)
    page.context.close()


def test_the_codes_on_the_card_lead_to_working_links(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}card/#~{payload({'rig.name': 'On paper', 'main.canopy.size': '2.1 m'})}")
    until(page, "document.querySelector('.loft-card h2').textContent.startsWith('On paper')")
    until(page, f"document.querySelectorAll('.loft-codes .loft-qr').length === {codes_of(TWO_BAYS)}")
    links = [decoded(code.screenshot())[0] for code in page.query_selector_all(".loft-codes .loft-qr")]
    anchors = ("drogue-prep-inspect", "drogue-connect-lines", "main-prep-inspect", "main-connect-lines")
    for link, anchor in zip(links, anchors, strict=True):
        other = open_at(chromium, link)
        until(other, "document.querySelector('.loft-where')?.textContent.includes('On paper')")
        assert other.get_attribute(".loft-answer h2", "id") == anchor
        other.context.close()
    page.context.close()


def test_a_rig_that_is_typed_and_measured_all_over_still_goes_into_codes(chromium: Browser, site_url: str) -> None:
    """Its whole text would not: what the starting rig says as well is left out then."""
    measured = [path for path in DEFAULTS if path.startswith(("main.", "drogue.")) and DEFAULTS[path]]
    fields = DEFAULTS | {"rig.name": "All of it typed", "drogue.canopy.size": "650 mm", "rig.measured": " ".join(measured)}
    assert len(payload(fields)) > 2900  # characters; the largest code holds 2,953
    page = open_at(chromium, f"{site_url}card/#~{payload(fields)}")
    until(page, "document.querySelector('.loft-card h2').textContent.startsWith('All of it typed')")
    until(page, f"document.querySelectorAll('.loft-codes .loft-qr').length === {codes_of(TWO_BAYS)}")
    (link,) = decoded(page.query_selector_all(".loft-codes .loft-qr")[0].screenshot())
    other = open_at(chromium, link)
    until(other, "document.querySelector('.loft-where')?.textContent.includes('All of it typed')")
    assert other.get_attribute(".loft-answer h2", "id") == "drogue-prep-inspect"
    assert other.evaluate("JSON.parse(localStorage.getItem('loftbook.rig'))['drogue.canopy.size']") == "650 mm"
    other.context.close()
    page.context.close()


def test_each_side_of_the_card_carries_the_cautions(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}card/")
    cards = page.locator(".loft-card").all_inner_texts()
    assert len(cards) == 2
    for card in cards:
        for word in ("burn", "ground test", "misfire", "range safety officer", *CARD_CAUTIONS):
            assert word in card
    page.context.close()


# --- the walk-through --------------------------------------------------------------------------------


WALK = "field/"
DONE = "document.querySelector('.loft-progress').dataset.done"


def items_of(fields: dict[str, str] | None = None) -> list[str]:
    return re.findall(r'data-item="([^"]+)"', told("walk", fields))


def walk_of(chromium: Browser, site_url: str, fields: dict[str, str]) -> Page:
    """The walk-through of a rig; of one with its ground tests, so that no gate closes it."""
    page = open_at(chromium, f"{site_url}{WALK}#~{payload(fields)}")
    until(page, f"document.querySelectorAll('input[data-item]').length === {len(items_of(fields))}")
    until(page, "document.querySelector('[data-gate]') === null")
    as_list(page)
    return page


def test_the_walk_keeps_its_place_and_is_done_only_when_all_is(chromium: Browser, site_url: str) -> None:
    page = walk_of(chromium, site_url, with_tests())
    boxes = page.query_selector_all("input[data-item]")
    assert [box.get_attribute("data-item") for box in boxes] == items_of(with_tests())
    assert len(boxes) >= 50
    boxes[0].check()
    boxes[3].check()
    assert page.inner_text(".loft-progress").startswith(f"2 of {len(boxes)} ticked")
    page.reload()
    live(page)
    assert [box.is_checked() for box in page.query_selector_all("input[data-item]")][:4] == [True, False, False, True]
    tick_all(page)
    assert page.evaluate(DONE) == "yes"
    page.context.close()


@pytest.mark.parametrize("key", ["drogue", "main"])
def test_the_walk_is_not_done_with_a_canopy_unpacked(chromium: Browser, site_url: str, key: str) -> None:
    """All else ticked; then each step of the canopy and its bay by itself keeps it open."""
    items = items_of(with_tests())
    page = walk_of(chromium, site_url, with_tests())
    tick_all(page)
    bundle = page.locator(f"#walk-{key}-pack-bundle")
    bundle.uncheck()
    assert page.evaluate(DONE) == "no"
    assert page.inner_text(".loft-progress").startswith(f"{len(items) - 1} of {len(items)} ticked")
    page.reload()
    live(page)
    assert page.evaluate(DONE) == "no"
    page.get_by_role("button", name="Next that is open").click()
    assert page.evaluate("document.activeElement.id") == f"walk-{key}-pack-bundle"
    bundle.check()
    assert page.evaluate(DONE) == "yes"
    mine = [item for item in items if item.startswith(f"{key}-")]
    assert {item.split("-")[1] for item in mine} == {"prep", "fold", "connect", "charge", "pack", "pins", *(["try"] if key == "drogue" else [])}  # every bay is tried in the first
    for item in mine:
        for done in ("no", "yes"):
            page.evaluate("id => document.getElementById(id).click()", f"walk-{item}")
            assert page.evaluate(DONE) == done, item
    page.context.close()


def test_the_walk_of_one_bay_does_not_stand_for_that_of_two(chromium: Browser, site_url: str) -> None:
    """What is ticked for a rig with one bay leaves the other bay's steps open when there are two."""
    page = walk_of(chromium, site_url, with_tests({"rig.start": ONE_BAY_75}))
    tick_all(page)
    assert page.evaluate(DONE) == "yes"
    page.locator(".loft-rigfold > summary").click()
    page.locator(".loft-starts button").first.click()
    until(page, f"document.querySelectorAll('input[data-item]').length === {len(items_of())}")
    assert page.evaluate(DONE) == "no"
    assert "start over for another rocket" in page.inner_text(".loft-progress")
    for act in ("fold-lay-out", "pack-bundle"):
        assert not page.locator(f"#walk-drogue-{act}").is_checked()
    page.context.close()


@pytest.mark.parametrize("key", ["main", "drogue"])
def test_the_walk_is_not_done_with_a_failed_check_unless_it_is_said_why(chromium: Browser, site_url: str, key: str) -> None:
    page = walk_of(chromium, site_url, with_tests())
    page.goto(f"{site_url}plan/")
    open_all(page)
    type_in(page, f"{key}.pack.cord_turns", "1")
    page.goto(f"{site_url}{WALK}")
    live(page)
    reason = f"textarea[data-why='{key}.cord-wraps']"
    page.wait_for_selector(reason)
    tick_all(page)
    assert page.evaluate(DONE) == "no"
    assert "wants a reason" in page.inner_text(".loft-progress")
    page.fill(reason, "Bench test, not flown")
    assert page.evaluate(DONE) == "yes"
    page.reload()
    live(page)
    assert page.input_value(reason) == "Bench test, not flown"
    page.context.close()


# --- a card at a time --------------------------------------------------------------------------------

PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True}
TITLE = "document.querySelector('.loft-now .loft-card-title').textContent"


def cards_of(chromium: Browser, site_url: str, fields: dict[str, str], **more: object) -> Page:
    """The walk-through on a phone as it opens: a card at a time."""
    page = open_at(chromium, f"{site_url}{WALK}#~{payload(fields)}", **(PHONE | more))
    until(page, f"document.querySelectorAll('input[data-item]').length === {len(items_of(fields))}")
    return page


def now(page: Page) -> str:
    """The item on the card that is shown."""
    assert page.locator(".loft-walk-item:visible").count() == 1
    return str(page.evaluate("document.querySelector('.loft-now [data-item]')?.dataset.item ?? document.querySelector('.loft-now').id"))


def turn_to(page: Page, item: str) -> None:
    while now(page) != item:
        page.keyboard.press("ArrowRight")


def test_one_card_is_shown_and_its_button_ticks_it_and_turns_on(chromium: Browser, site_url: str) -> None:
    fields = with_tests()
    items = items_of(fields)
    page = cards_of(chromium, site_url, fields)
    assert now(page) == items[0]
    for item in items[:6]:
        assert now(page) == item
        page.locator(".loft-main").click()
        assert page.locator(f"#walk-{item}").is_checked()
    assert page.evaluate("document.activeElement.textContent") == page.evaluate(TITLE)  # what is new is heard
    assert page.inner_text(".loft-count").startswith("7 of ")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert now(page) == items[8]
    page.locator(".loft-main").click()
    page.reload()
    live(page)
    assert now(page) == items[6]  # the first that is open
    page.context.close()


def test_arrows_buttons_and_a_finger_turn_the_cards_and_tick_nothing(chromium: Browser, site_url: str) -> None:
    fields = with_tests()
    items = items_of(fields)
    page = cards_of(chromium, site_url, fields)
    swipe = """(x) => { for (const [kind, at] of [['pointerdown', 180], ['pointerup', 180 + x]]) {
        document.querySelector('.loft-now').dispatchEvent(new PointerEvent(kind,
            {bubbles: true, pointerType: 'touch', isPrimary: true, clientX: at, clientY: 400})); } }"""
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="The next card").click()
    page.evaluate(swipe, -120)
    assert now(page) == items[3]
    page.evaluate(swipe, 120)
    page.evaluate(swipe, 20)  # a finger that only rests
    page.keyboard.press("ArrowLeft")
    assert now(page) == items[1]
    assert page.evaluate("document.querySelectorAll('input[data-item]:checked').length") == 0
    page.context.close()


def test_what_is_not_right_says_what_to_do_and_loses_its_tick(chromium: Browser, site_url: str) -> None:
    page = cards_of(chromium, site_url, with_tests())
    turn_to(page, "drogue-fold-lay-out")
    page.locator(".loft-main").click()
    page.keyboard.press("ArrowLeft")
    box = page.locator("#walk-drogue-fold-lay-out")
    assert box.is_checked()
    page.get_by_role("button", name="Not right").click()
    assert not box.is_checked()
    assert "clear the tangle" in page.locator(".loft-now .loft-otherwise").inner_text()
    assert page.evaluate("document.activeElement.textContent").startswith("If not: ")
    page.context.close()


@pytest.mark.parametrize("item", ["check-fails-drogue-in", "main-fold-halve-1", "drogue-charge", "main-pack-bundle", "pad-officer", "after-power-off"])
def test_a_thumb_hits_every_button_of_a_card(chromium: Browser, site_url: str, item: str) -> None:
    page = cards_of(chromium, site_url, with_tests())
    turn_to(page, item)
    page.get_by_role("button", name="Not right").click()
    sizes = page.evaluate("""[...document.querySelectorAll('loft-handout :is(button, summary, input, .loft-alert a, .loft-mend a)')]
        .map((e) => [e.textContent, e.getBoundingClientRect()]).filter(([, box]) => box.width).map(([t, b]) => [t, b.width, b.height])""")
    assert len(sizes) >= 5
    assert not [one for one in sizes if min(one[1:]) < 47.9]
    main = page.locator(".loft-main").bounding_box()
    assert main
    assert main["height"] >= 64
    assert main["y"] + main["height"] <= 740  # in the thumb's reach, however long the card
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.context.close()


def test_a_rocket_that_does_not_fly_opens_with_what_fails_and_no_card_of_its_work_is_ticked(chromium: Browser, site_url: str) -> None:
    page = cards_of(chromium, site_url, with_tests() | LETHAL)
    until(page, "document.querySelector('[data-gate]') !== null")
    assert page.locator(".loft-now").get_attribute("data-gate")
    assert page.locator(".loft-main").inner_text() == "Change the rig"
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    work = now(page)
    assert page.locator(f"#walk-{work}").is_disabled()
    assert "does not fly" in page.locator(".loft-walk-acts .loft-strip").inner_text()
    page.locator(".loft-main").click()
    assert page.locator(".loft-now").get_attribute("data-gate")
    assert not page.locator(f"#walk-{work}").is_checked()
    page.context.close()


def test_cleared_to_fly_is_one_end_and_safe_on_the_ground_another(chromium: Browser, site_url: str) -> None:
    page = cards_of(chromium, site_url, with_tests())
    as_list(page)
    for box in page.query_selector_all("[data-chain='flight'] input[data-item]"):
        box.check()
    page.locator(".loft-view").click()
    cleared = "document.querySelector('.loft-progress').dataset.cleared"
    assert page.evaluate(cleared) == "no"  # nobody is named
    turn_to(page, "card-end-flight")
    assert page.locator(".loft-now h3:visible").inner_text() == "Not cleared to fly"
    page.locator(".loft-main").click()
    page.locator(".loft-now input").fill("Ada Plain, level 3")
    page.locator(".loft-main").click()
    assert page.locator(".loft-now h3:visible").inner_text() == "Cleared to fly"
    told = page.locator(".loft-now").inner_text()
    assert "Ada Plain, level 3" in told
    assert "range safety officer" in told
    assert page.evaluate(cleared) == "yes"
    assert page.evaluate(DONE) == "no"
    page.reload()
    live(page)
    assert now(page) == "card-end-flight"
    page.locator(".loft-main").click()
    for item in ("after-power-off", "after-charges", "after-look"):
        assert now(page) == item
        page.locator(".loft-main").click()
    assert page.locator(".loft-now h3:visible").inner_text() == "Safe on the ground"
    assert page.evaluate(DONE) == "yes"
    page.context.close()


def test_after_an_abort_what_makes_it_safe_is_shown_first(chromium: Browser, site_url: str) -> None:
    page = cards_of(chromium, site_url, with_tests())
    turn_to(page, "card-end-flight")
    page.get_by_role("button", name="Called off").click()
    assert now(page) == "after-power-off"
    page.locator(".loft-main").click()
    page.reload()
    live(page)
    assert now(page) == "after-charges"
    page.context.close()


def test_the_demo_rig_is_never_cleared_to_fly(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}{WALK}")
    as_list(page)
    tick_all(page)
    assert page.evaluate("[...document.querySelectorAll('input[data-item]')].every((box) => box.checked)")
    assert page.evaluate(DONE) == "no"
    expect(page.locator("[data-end='flight'] h3:visible")).to_have_text("Not cleared to fly")
    page.context.close()


def test_a_reason_is_asked_for_on_its_card(chromium: Browser, site_url: str) -> None:
    page = cards_of(chromium, site_url, with_tests() | {"main.cord.length": "3 m"})
    until(page, "document.querySelector('.loft-now textarea') !== null")
    page.locator(".loft-main").click()  # without a reason it stays
    assert page.evaluate("document.activeElement.dataset.why") == "main.cord-length"
    page.keyboard.type("Bench test, not flown")
    page.keyboard.press("ArrowLeft")  # in a text it moves the cursor
    assert page.locator(".loft-now textarea").input_value() == "Bench test, not flown"  # and no letter turns the card
    page.locator(".loft-main").click()
    assert page.locator(".loft-now textarea").count() == 0
    page.context.close()


def test_the_screen_is_kept_on_while_the_walk_runs(chromium: Browser, site_url: str) -> None:
    context = chromium.new_context(**PHONE)
    context.add_init_script("""window.locks = []; Object.defineProperty(navigator, 'wakeLock', {value: {request: async () => {
        const lock = new EventTarget(); lock.held = true; lock.release = async () => { lock.held = false; lock.dispatchEvent(new Event('release')); };
        locks.push(lock); return lock; }}});""")
    page = context.new_page()
    page.goto(f"{site_url}{WALK}")
    live(page)
    held = "locks.filter((lock) => lock.held).length"
    until(page, f"{held} === 1")
    before = page.evaluate("locks.length")
    page.evaluate("locks.at(-1).release()")  # as a browser does when the page is hidden
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    until(page, f"{held} === 1 && locks.length === {before + 1}")
    page.evaluate("document.querySelector('loft-handout').remove()")
    until(page, f"{held} === 0")
    context.close()


def test_on_paper_and_without_scripts_it_is_the_list(chromium: Browser, site_url: str) -> None:
    page = cards_of(chromium, site_url, with_tests())
    page.emulate_media(media="print")
    assert page.locator(".loft-walk-item:visible").count() > len(items_of(with_tests()))
    expect(page.locator(".loft-walk-acts")).to_be_hidden()
    expect(page.locator(".loft-answer > .loft-cautions")).to_be_visible()
    expect(page.locator(".loft-answer > .loft-band")).to_contain_text("measures are not yours")
    page.context.close()
    plain = chromium.new_context(java_script_enabled=False).new_page()
    plain.goto(f"{site_url}{WALK}")
    assert plain.locator(".loft-walk-item:visible").count() > len(items_of())
    assert plain.locator(".loft-walk-item .loft-drawing:visible").count() > 20
    expect(plain.locator(".loft-answer > .loft-cautions")).to_be_visible()
    plain.context.close()


@pytest.mark.parametrize("path", ["card/", "step/", WALK])
@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("media", ["screen", "print"])
def test_every_sheet_says_that_it_is_the_demo_rig_s(chromium: Browser, site_url: str, path: str, scripts: bool, media: str) -> None:
    page = chromium.new_context(java_script_enabled=scripts, color_scheme="dark").new_page()
    page.goto(f"{site_url}{path}")
    if scripts:
        live(page)
    page.emulate_media(media=media)  # type: ignore[arg-type]
    bands = page.locator(".loft-band:visible")
    assert bands.count() == (2 if path == "card/" else 1)  # each side of a card
    for band in bands.all():
        assert band.inner_text().casefold() == "demo rig, not yours"
        if scripts and media == "print":
            ink = band.evaluate("(b) => [getComputedStyle(b).color, getComputedStyle(b).backgroundColor]")
            assert ink == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    page.context.close()


def test_picture_and_sentence_of_a_step_are_on_the_first_screen_and_tools_answer_beside_their_button(chromium: Browser, site_url: str) -> None:
    page = open_at(chromium, f"{site_url}step/#main-fold-halve-1", **PHONE)
    for part in (".loft-answer .loft-drawing svg", ".loft-answer .loft-do"):
        box = page.locator(part).first.bounding_box()
        assert box
        assert box["y"] + box["height"] <= 740, part
    code = page.get_by_role("button", name="Show it as a QR code")
    code.click()
    page.wait_for_selector(".loft-told-here .loft-qr")
    assert page.evaluate("document.querySelector('.loft-told-here').previousElementSibling.textContent") == "Show it as a QR code"
    page.context.close()


@pytest.mark.parametrize("path", ["step/", WALK, "card/"])
@pytest.mark.parametrize("size", [(360, 740), (1280, 800)])
def test_nothing_moves_when_live_answers_take_over(chromium: Browser, site_url: str, path: str, size: tuple[int, int]) -> None:
    context = chromium.new_context(viewport={"width": size[0], "height": size[1]})
    context.add_init_script("""window.moved = 0; new PerformanceObserver((list) => { for (const one of list.getEntries())
        if (!one.hadRecentInput) moved += one.value; }).observe({type: 'layout-shift', buffered: true});""")
    page = context.new_page()
    page.goto(f"{site_url}{path}")
    live(page)
    page.wait_for_timeout(500)
    assert page.evaluate("moved") < 0.05
    context.close()
