"""What is due by a logbook, in a browser: on the card, in the walk-through, and the list that it leads to.

The page sends no logbook by itself here: it is put into the questions on their way to the worker.
"""

import json
from collections.abc import Iterator
from io import BytesIO
from unicodedata import normalize

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pypdf import PdfReader
from test_gates import CARD, DONE, WALK, open_with, tick_all, with_tests

from conftest import until
from loftbook.faces.dues import NO_LOGBOOK
from loftbook.faces.handout import GROUNDED
from loftbook.log.due import due
from loftbook.log.entries import Entry, day_of, line
from loftbook.log.kinds import ASIDE, PARTS, SOUND
from loftbook.rig.parsing import parse
from loftbook.tables import INSPECTIONS

pytestmark = pytest.mark.browser

TODAY = "2026-05-25"
GIVEN = f"""book => {{ const post = Worker.prototype.postMessage;
    Worker.prototype.postMessage = function (message, ...more) {{
        const asked = typeof message?.text === 'string' ? JSON.parse(message.text) : {{}};
        if (['walk', 'card'].includes(asked.do)) message = {{ ...message, text: JSON.stringify({{ ...asked, book, today: '{TODAY}' }}) }};
        return post.call(this, message, ...more); }}; }}"""


def entry(kind: str, day: str, said: dict[str, str], rig: dict[str, str], hour: int = 12) -> Entry:
    return Entry(made=f"{day}T{hour}:00:00.000Z", kind=kind, day=day, rig=parse(rig).text("rig.name"), said=said, fields=rig)


def looked(day: str, part: str, result: str, rig: dict[str, str]) -> Entry:
    return entry("inspection", day, {"inspection.of": part, "inspection.result": result}, rig)


def flown(rig: dict[str, str]) -> list[Entry]:
    """All looked over, then flown once."""
    return [*(looked("2026-05-01", part, SOUND, rig) for part in PARTS), entry("flight", "2026-05-09", {"flight.went": "as planned"}, rig)]


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    made = chromium.new_context(service_workers="block")
    yield made
    made.close()


def with_book(context: BrowserContext, book: list[Entry] | None) -> None:
    lines = json.dumps(None if book is None else [line(one) for one in book])
    context.add_init_script(f"({GIVEN})({lines})")


def opened(context: BrowserContext, site_url: str, path: str, rig: dict[str, str], wanted: str) -> Page:
    page = open_with(context, f"{site_url}{path}", rig)
    until(page, f"document.querySelector('loft-handout').textContent.includes({json.dumps(wanted)})")
    return page


def test_what_is_due_is_looked_over_before_it_is_cleared_to_fly(context: BrowserContext, site_url: str) -> None:
    rig = with_tests()
    with_book(context, flown(rig))
    page = opened(context, site_url, WALK, rig, "Due: ")
    today = day_of(TODAY)
    assert today
    for one in due(parse(rig), flown(rig), today):
        expect(page.locator(f"[data-item='{one.anchor}']")).to_have_count(1)
        expect(page.locator("loft-handout")).to_contain_text(one.told)
    tick_all(page)
    until(page, f"{DONE} === 'yes'")
    page.locator("[data-item='due-joint']").uncheck()
    until(page, f"{DONE} === 'no'")
    assert page.evaluate("document.querySelector('[data-end=flight]').dataset.reached") == "no"


def test_what_is_put_aside_closes_the_walk_and_leads_to_what_retires_it(context: BrowserContext, site_url: str) -> None:
    rig = with_tests()
    with_book(context, [*flown(rig), looked("2026-05-10", "airframe", ASIDE, rig)])
    page = opened(context, site_url, WALK, rig, "Put aside: Airframe")
    expect(page.locator("#walk-grounded")).to_contain_text(GROUNDED)
    gate = page.locator("[data-gate='due-airframe']")
    expect(gate).to_contain_text("Put aside on 2026-05-10")
    assert gate.locator("input, textarea").count() == 0
    assert page.locator("[data-item='main-charge']").is_disabled()
    assert page.locator("[data-item='due-joint']").is_enabled(), "looking is never closed"
    tick_all(page)
    assert page.evaluate(DONE) == "no"
    gate.locator(".loft-mend a").click()
    page.wait_for_url("**/inspection/#airframe-mouth")
    expect(page.locator("#airframe-mouth h3")).to_be_in_viewport()


def test_a_card_of_what_is_put_aside_is_the_first(context: BrowserContext, site_url: str) -> None:
    rig = with_tests()
    with_book(context, [*flown(rig), looked("2026-05-10", "airframe", ASIDE, rig)])
    page = opened(context, site_url, WALK, rig, "Put aside: Airframe")
    page.locator(".loft-view").click()
    until(page, "document.querySelector('loft-handout').dataset.view === 'cards'")
    page.reload()
    until(page, "document.querySelector('loft-handout').dataset.view === 'cards' && document.querySelector('[data-gate]') !== null")
    expect(page.locator("[data-gate='due-airframe']")).to_be_visible()


@pytest.mark.parametrize("path", [WALK, CARD])
def test_where_there_is_no_logbook_that_is_said(context: BrowserContext, site_url: str, path: str) -> None:
    with_book(context, None)
    rig = with_tests()
    page = opened(context, site_url, path, rig, NO_LOGBOOK)
    assert page.locator("[data-gate]").count() == 0


def test_the_card_says_what_is_due_and_stays_on_a_side_for_each_bay(context: BrowserContext, site_url: str) -> None:
    rig = with_tests()
    book = [*flown(rig), looked("2026-05-10", "airframe", ASIDE, rig)]
    with_book(context, book)
    page = opened(context, site_url, CARD, rig, "Put aside: Airframe")
    for side in page.locator(".loft-card").all():
        expect(side).to_contain_text("✕ Put aside: Airframe")
        expect(side).to_contain_text("1 flight since it was looked over on 2026-05-01.")
    for paper in ("A4", "Letter"):
        sheets = PdfReader(BytesIO(page.pdf(format=paper, prefer_css_page_size=True))).pages
        assert len(sheets) == 2
        assert all("Put aside: Airframe" in " ".join(sheet.extract_text().split()) for sheet in sheets)


def test_every_row_has_its_anchor_and_the_list_prints_on_two_sheets(chromium: Browser, site_url: str) -> None:
    page = chromium.new_page()
    page.goto(f"{site_url}inspection/")
    for name, row in INSPECTIONS.items():
        section = page.locator(f"section#{name}")
        expect(section).to_contain_text(row.title)
        for told in (row.look, row.bad, row.retire):
            expect(section).to_contain_text(told)
        assert section.locator("svg").count() == bool(row.picture)
        assert section.locator(f"a[href='#{name}']").count() == 1
    assert page.locator(".loft-worn").count() == len(INSPECTIONS)
    for part in page.locator(".loft-laid-out a").all():
        assert page.locator(part.get_attribute("href") or "none").count() == 1
    for paper in ("A4", "Letter"):
        sheets = PdfReader(BytesIO(page.pdf(format=paper))).pages
        assert len(sheets) == 2
        text = normalize("NFKC", " ".join(" ".join(sheet.extract_text().split()) for sheet in sheets))
        assert "Power off" in text
        for row in INSPECTIONS.values():
            assert row.title in text
            assert " ".join(row.retire.split()) in text
    page.close()
