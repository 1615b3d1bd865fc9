"""Home and the start with six measures, on a phone: one look, a verdict of one's own in a few taps, nothing that moves."""

import json
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from test_pages import LIVE, open_page, stored  # noqa: F401

from conftest import break_down, until

SMALL = {"width": 360, "height": 740}
SHIFT = """new PerformanceObserver(list => { for (const e of list.getEntries()) if (!e.hadRecentInput) self.moved = (self.moved ?? 0) + e.value; })
    .observe({ type: "layout-shift", buffered: true })"""


def test_home_says_all_on_one_screen(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("", live=False, viewport=SMALL)
    button = page.get_by_role("link", name="Start with six measures")
    for part in (page.locator("h1"), page.locator(".loft-offline-box"), page.locator(".loft-summary"), button):
        box = part.bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= SMALL["height"]
    assert page.locator(".loft-rocketbox svg").bounding_box()["y"] < SMALL["height"] / 2
    expect(page.locator(".loft-whose")).to_have_text("Demo rig, not yours")
    assert page.locator(".loft-tile").count() == 4
    button.click()
    assert page.url.endswith("/start/")


def test_home_leaves_no_empty_third(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("", live=False, viewport={"width": 1280, "height": 800})
    right = page.evaluate("Math.max(...[...document.querySelectorAll('.loft-homepage *')].map(e => e.getBoundingClientRect().right))")
    assert right > 1280 * 0.95
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280


def test_a_verdict_of_ones_own_in_few_taps(open_page: Callable[..., Page]) -> None:  # noqa: F811
    """From the home page: start, a starting rig, six measures."""
    page, taps = open_page("", live=False, viewport=SMALL), 0
    page.get_by_role("link", name="Start with six measures").click()
    taps += 1
    until(page, LIVE)
    page.locator("loft-begin [data-start='one bay, 75 mm']").click()
    taps += 1
    expect(page.locator("#start-rocket\\.mass")).to_have_value("2.2 kg")
    expect(page.locator("[data-group='drogue.few']")).to_be_hidden()
    measures = {"rocket.mass": "2.4 kg", "main.bay.tube": "76 mm", "main.bay.depth": "620 mm", "main.canopy.size": "1.45 m", "main.canopy.sides": "8",
                "main.cord.length": "9 m"}  # fmt: skip
    for path, text in measures.items():
        page.locator(f"[name='{path}']").click()
        taps += 1
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
    assert taps <= 8
    expect(page.locator(".loft-few-yours")).to_have_text("6 of the 6 measures above are yours.")
    assert page.locator("[name='main.cord.length']").bounding_box()["y"] + page.evaluate("scrollY") < 2 * SMALL["height"]
    state = page.locator("loft-calculator .loft-state")
    until(page, "/checks? stops?|No check/.test(document.querySelector('loft-calculator .loft-state').textContent)")
    assert state.bounding_box()["y"] < SMALL["height"]  # the verdict stays in sight
    kept = stored(page)
    assert {path: kept.get(path) for path in measures if path != "main.canopy.sides"} == {path: text for path, text in measures.items() if path != "main.canopy.sides"}


def test_what_is_typed_before_the_next_picture_is_not_typed_over(open_page: Callable[..., Page]) -> None:  # noqa: F811
    """What stands in a field is chosen when it is touched, but a picture later: on a slow phone a key may be before it."""
    late = "const real = requestAnimationFrame; self.requestAnimationFrame = (then) => setTimeout(() => real(then), 400);"
    page = open_page("start/", viewport=SMALL, before=lambda page: page.add_init_script(late))
    page.locator("[name='main.cord.length']").click()
    page.keyboard.press("Control+A")
    page.keyboard.type("9")
    page.wait_for_timeout(800)
    page.keyboard.type(" m")
    assert page.input_value("[name='main.cord.length']") == "9 m"


def test_home_shows_the_readers_rocket_and_nothing_moves(open_page: Callable[..., Page]) -> None:  # noqa: F811
    rig = json.dumps({"rig.start": "one bay, 54 mm", "rocket.mass": "1.5 kg"})
    kept = f"localStorage.getItem('loftbook.rig') ?? localStorage.setItem('loftbook.rig', {json.dumps(rig)})"
    page = open_page("", live=False, viewport=SMALL, before=lambda page: (page.add_init_script(kept), page.add_init_script(SHIFT)))
    until(page, "document.querySelector('loft-home .loft-answer').dataset.answer === '1'")
    assert page.inner_text(".loft-summary").startswith("This 1.5 kg rocket comes down at up to")
    expect(page.locator(".loft-whose")).to_contain_text("measures: still the starting rig")
    assert page.evaluate("self.moved ?? 0") < 0.05


def test_start_moves_nothing_when_it_is_live(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("start/", viewport=SMALL, before=lambda page: page.add_init_script(SHIFT))
    page.wait_for_timeout(300)
    assert page.evaluate("self.moved ?? 0") < 0.05


def test_another_starting_rig_can_be_undone(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("start/", viewport=SMALL)
    page.locator("[name='rocket.mass']").fill("5 kg")
    expect(page.locator(".loft-few-yours")).to_contain_text("1 of the 11")
    page.locator("loft-begin [data-start='one bay, 38 mm']").click()
    expect(page.locator("[name='rocket.mass']")).to_have_value("500 g")
    page.get_by_role("button", name="Undo").first.click()
    expect(page.locator("[name='rocket.mass']")).to_have_value("5 kg")


def test_a_part_is_a_door_also_without_a_mouse(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("", live=False, viewport=SMALL)
    door = page.locator(".loft-rocket a:not([aria-hidden])").filter(has_text="bundle").first
    door.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/folding/**")


def test_a_fault_is_told_at_its_row_and_nothing_typed_is_lost(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("start/", viewport=SMALL)
    page.locator("[name='main.bay.tube']").fill("ninety")
    expect(page.locator("[data-field='main.bay.tube'] .loft-fault")).to_be_visible()
    assert page.input_value("[name='main.bay.tube']") == "ninety"


def test_the_size_for_a_mass_and_a_rate_in_few_taps(open_page: Callable[..., Page]) -> None:  # noqa: F811
    """From the home page: the tile, the mass, the rate; the answer on the first screen, where the reader never left it."""
    page, taps = open_page("", live=False, viewport=SMALL), 0
    page.locator(".loft-tile", has_text="Size").click()
    taps += 1
    until(page, LIVE)
    for path, text in {"rocket.mass": "7 kg", "main.canopy.rate": "5 m/s"}.items():
        page.locator(f"[name='{path}']").click()
        taps += 1
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
    assert taps <= 4
    until(page, "document.querySelector('.loft-summary').textContent.startsWith('7 kg needs')")
    until(page, "document.querySelectorAll('[aria-busy=true]').length === 0")
    box = page.locator(".loft-summary").bounding_box()
    assert "for 5 m/s" in page.inner_text(".loft-summary")
    assert page.evaluate("scrollY") + box["y"] + box["height"] <= SMALL["height"]


@pytest.mark.parametrize("path", ["canopy/", "folding/", "cord/", "descent/", "loads/", "landing/"])
def test_a_page_begins_with_its_answer_its_picture_and_what_it_asks(open_page: Callable[..., Page], path: str) -> None:  # noqa: F811
    page = open_page(path, viewport=SMALL)
    for part in (".loft-summary", ".loft-sight > figure > svg", ".loft-asked > .loft-field:not([hidden]) > :is(input, select)"):
        box = page.locator(f"{part}:visible").first.bounding_box()
        assert box["y"] + box["height"] <= SMALL["height"], part


@pytest.mark.parametrize("path", ["canopy/", "folding/", "plan/", "field/", "step/", "card/"])
def test_nothing_moves_when_a_page_is_live(open_page: Callable[..., Page], path: str) -> None:  # noqa: F811
    page = open_page(path, viewport=SMALL, before=lambda page: page.add_init_script(SHIFT))
    page.wait_for_timeout(300)
    assert page.evaluate("self.moved ?? 0") < 0.05


TOO_SMALL = """[...document.querySelectorAll("button, summary, input, select, textarea, a.loft-button, a.loft-big, a.loft-jump, .md-header label")]
    .filter(e => e.checkVisibility({visibilityProperty: true}) && !e.closest(".md-search, .md-sidebar, .md-skip") && !(e.closest(".loft-state") && getComputedStyle(e.closest(".loft-state")).clipPath !== "none"))
    .map(e => ({box: e.getBoundingClientRect(), said: (e.ariaLabel || e.name || e.textContent).trim().slice(0, 40)}))
    .filter(({box}) => box.width > 0 && (box.width < 47.5 || box.height < 47.5))
    .map(({box, said}) => `${said}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""


@pytest.mark.parametrize("path", ["start/", "canopy/", "folding/", "plan/", "field/", "step/"])
def test_every_target_is_large_enough_for_a_cold_thumb(open_page: Callable[..., Page], path: str) -> None:  # noqa: F811
    page = open_page(path, viewport=SMALL, has_touch=True)
    assert page.evaluate(TOO_SMALL) == []


def test_a_starting_value_is_typed_over_and_the_readers_own_is_not(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("start/", viewport=SMALL, has_touch=True)
    mass = page.locator("[name='rocket.mass']")
    for typed in ("3 kg", "4 kg"):
        page.locator("[name='main.bay.tube']").tap()
        mass.tap()
        page.wait_for_timeout(100)
        page.keyboard.type(typed)
        if typed == "3 kg":
            expect(mass).to_have_value("3 kg")
    assert len(mass.input_value()) == len("3 kg4 kg")  # nothing of what was typed is gone


def test_home_says_what_stops_a_rocket(open_page: Callable[..., Page]) -> None:  # noqa: F811
    rig = json.dumps({"rocket.mass": "40 kg"})
    kept = f"localStorage.getItem('loftbook.rig') ?? localStorage.setItem('loftbook.rig', {json.dumps(rig)})"
    page = open_page("", live=False, viewport=SMALL, before=lambda page: page.add_init_script(kept))
    until(page, "document.querySelector('loft-home .loft-answer').dataset.answer === '1'")
    expect(page.locator(".loft-stops")).to_contain_text("stop it")
    page.locator(".loft-stops a").click()
    until(page, "location.pathname.endsWith('/plan/')")


def test_until_the_step_that_was_sent_is_there_no_other_is_shown(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("step/#main-fold-halve-2", live=False, viewport=SMALL, before=lambda page: page.route("**/assets/live/worker.js", lambda route: None))
    expect(page.locator(".loft-state")).to_contain_text("The step that you were sent follows.")
    expect(page.locator(".loft-answer h2")).to_be_hidden()


def test_a_step_that_cannot_be_shown_is_not_said_to_follow(open_page: Callable[..., Page]) -> None:  # noqa: F811
    page = open_page("step/#main-fold-halve-2", live=False, viewport=SMALL, before=lambda page: page.route("**/assets/live/worker.js", break_down))
    expect(page.locator("loft-handout > .loft-note").first).to_contain_text("The step that you were sent cannot be shown.")
    expect(page.locator(".loft-state")).not_to_contain_text("follows")
    expect(page.locator(".loft-answer h2")).to_be_visible()


@pytest.mark.parametrize("path", ["canopy/", "loads/", "plan/", "field/"])
def test_every_sheet_of_the_demo_says_so_across_it(open_page: Callable[..., Page], path: str) -> None:  # noqa: F811
    """What is fixed is printed on every sheet."""
    page = open_page(path)
    page.emulate_media(media="print")
    across = """[...document.querySelectorAll("[data-demo]")].filter(e => e.checkVisibility()).map(e => getComputedStyle(e, "::after"))
        .filter(s => s.position === "fixed").map(s => s.content)"""
    assert '"Demo rig, not yours"' in page.evaluate(across)
