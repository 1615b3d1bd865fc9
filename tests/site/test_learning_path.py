"""From a flight to a plan that has learned of it, as its reader goes: the walk's end, the logbook, the altimeter's file, the rig, plan and card."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from test_measured_page import file, opened
from test_pages import PHONE, STILL, open_page, stored

from conftest import until

__all__ = ["file", "open_page"]
pytestmark = pytest.mark.browser


def test_a_flight_is_written_down_its_file_opened_and_plan_and_card_say_so(open_page: Callable[..., Page], file: Path) -> None:
    page = open_page("field/", viewport=PHONE)
    page.evaluate("document.querySelector('[data-end=ground] a[href*=logbook]').click()")
    until(page, "document.querySelector('#log-flight:not([hidden])')")
    page.goto(page.url.replace("logbook/#flight", "measured/"))
    until(page, "document.querySelector('.loft-opener:not([inert])')")
    opened(page, file)
    page.get_by_role("link", name="Write this flight into the logbook").click()
    until(page, "document.querySelector('#log-flight .loft-brought:not([hidden])')")
    expect(page.locator("#log-flight .loft-brought")).to_contain_text("drag of the drogue and main")
    page.click("#log-flight button[type=submit]")
    until(page, "document.querySelector('.loft-logrow')")
    expect(page.locator(".loft-logrow")).to_contain_text("drag of 2 canopies by its altimeter")
    until(page, "document.querySelectorAll('.loft-known li').length === 2")
    main = page.locator(".loft-known li", has_text="Main: sinks at")
    main.get_by_role("button").click()
    until(page, "JSON.parse(localStorage.getItem('loftbook.rig') ?? '{}')['main.canopy.cd_measured_low']")
    kept = stored(page)
    assert kept
    assert set(kept["rig.measured"].split()) == {"main.canopy.cd_measured_low", "main.canopy.cd_measured_high"}
    page.goto(page.url.split("logbook/")[0] + "plan/")
    until(page, "document.querySelector('.loft-measuredby')?.textContent.includes('drag, main: 1 flight, last 20')")
    until(page, STILL)
    page.goto(page.url.split("plan/")[0] + "card/")
    until(page, "[...document.querySelectorAll('.loft-card[data-bay=main] dt')].some((one) => one.textContent === 'Measured by you')")
    assert page.locator(".loft-card[data-bay=drogue] dt", has_text="Measured by you").count() == 1  # each side is complete
