"""What would mend it, on the page: asked at a touch, taken at a touch, undone at a touch; and the calculators answer meanwhile."""

import importlib.util
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from test_pages import LIVE, PHONE, STILL, open_page, payload, stored, type_in

from conftest import until

__all__ = ["open_page"]
pytestmark = pytest.mark.browser
OVER = "document.querySelector('.loft-mending')?.textContent.includes('The least trouble first')"


@pytest.fixture(scope="module")
def broken() -> dict[str, str]:
    """A rig that is sound, ground test and all, but for a link of sixty newtons."""
    place = Path(__file__).parents[1] / "judge" / "good_rigs.py"
    spec = importlib.util.spec_from_file_location("good_rigs", place)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return next(iter(module.GOOD.values())) | {"main.cord.link": "60 N"}


def sound(page: Page) -> str | None:
    until(page, STILL)
    return page.locator(".loft-summary").first.get_attribute("data-sound")


def test_one_touch_makes_the_plan_sound_and_another_undoes_it(open_page: Callable[..., Page], broken: dict[str, str]) -> None:
    page = open_page(f"plan/#~{payload(broken)}", viewport=PHONE)
    until(page, "document.querySelector('.loft-mend')")
    assert sound(page) == "no"
    asked = page.locator(".loft-mend:visible").first
    assert asked.bounding_box()["height"] >= 48  # type: ignore[index]
    asked.click()
    until(page, OVER)
    first = page.locator(".loft-mends > li").first
    expect(first).to_contain_text("instead of 60 N")
    assert page.locator(".loft-mends > li").count() <= 3
    first.get_by_role("button", name="Take it").click()
    until(page, "document.querySelector('.loft-summary').dataset.sound === 'yes'")
    expect(page.locator(".loft-note")).to_contain_text("instead of 60 N")
    assert stored(page)["main.cord.link"] != "60 N"
    page.get_by_role("button", name="Undo: as it was before").click()
    until(page, "document.querySelector('.loft-summary').dataset.sound === 'no'")
    assert stored(page)["main.cord.link"] == "60 N"


def test_what_is_undone_is_the_starting_rigs_again(open_page: Callable[..., Page]) -> None:
    """A field that the reader never touched is theirs when they take an offer, and the starting rig's when they undo it."""
    page = open_page("making/")
    page.locator("[data-take]").first.click()
    expect(page.locator(".loft-note")).to_contain_text("Done. Put")
    assert "main.canopy.mass" in stored(page)
    page.get_by_role("button", name="Undo: as it was before").click()
    until(page, STILL)
    assert "main.canopy.mass" not in (stored(page) or {})


def test_typing_ends_a_search_and_is_answered(open_page: Callable[..., Page], broken: dict[str, str]) -> None:
    page = open_page(f"plan/#~{payload(broken)}")
    until(page, "document.querySelector('.loft-mend')")
    page.locator(".loft-mend:visible").first.click()
    type_in(page, "main.cord.link", "4 kN")
    until(page, "document.querySelector('.loft-summary').dataset.sound === 'yes'")
    until(page, LIVE)
    assert page.locator(".loft-mending").count() == 0


def test_a_second_touch_looks_again(open_page: Callable[..., Page], broken: dict[str, str]) -> None:
    """What it found before is found again, and not taken for what stands there."""
    page = open_page(f"plan/#~{payload(broken)}")
    until(page, "document.querySelector('.loft-mend')")
    for _ in range(2):
        page.locator(".loft-mend:visible").first.click()
        until(page, OVER)


def test_a_failure_that_breaks_the_gear_is_asked_about_on_its_page(open_page: Callable[..., Page]) -> None:
    page = open_page(f"failures/#~{payload({'main.cord.link': '700 N'})}")
    until(page, "document.querySelector('.loft-passage .loft-mend')")
    page.locator(".loft-passage .loft-mend").first.click()
    until(page, "document.querySelector('.loft-mending [role=status]')")
    until(page, "!/looking on|nothing yet|Looking/.test(document.querySelector('.loft-mending').textContent)", timeout=120)
    assert "tried" in page.locator(".loft-mending").first.inner_text()
