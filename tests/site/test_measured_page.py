"""Measured by you, as its reader meets it: an example before any script, a file opened, a limit moved, what was measured taken and undone."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from test_accessibility import axe, judge
from test_pages import DESK, PHONE, open_page, stored

import trials
from conftest import until

__all__ = ["axe", "judge", "open_page"]
pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A flight of the demo rig's mass, made up, on a standard day."""
    made = tmp_path_factory.mktemp("flights") / "flight.csv"
    made.write_text(flight(5))
    return made


def flight(seed: int) -> str:
    rng = random.Random(seed)
    return trials.record(trials.drawn(rng, warmer=0.0, main=2.4, drogue=0.18, **trials.CALM), rng)


def answers(page: Page) -> int:
    return int(page.locator("loft-measured .loft-answer").get_attribute("data-answer") or 0)


def after(page: Page, act: Callable[[], object]) -> None:
    """What an act is answered with is in place."""
    number = answers(page)
    act()
    until(page, f"Number(document.querySelector('loft-measured .loft-answer').dataset.answer) > {number}")


def opened(page: Page, *files: Path) -> None:
    after(page, lambda: page.set_input_files("loft-measured input[type=file]", [str(one) for one in files]))


def numbers(page: Page, key: str) -> str:
    return page.locator(f"section:has(> #measured-{key}) .loft-key").inner_text()


def typed(page: Page, id_: str, text: str) -> None:
    def act() -> None:
        page.fill(f'[id="{id_}"]', text)
        page.locator(f'[id="{id_}"]').blur()

    after(page, act)


def test_without_scripts_there_is_an_example_that_is_nobodys(chromium: Browser, site_url: str) -> None:
    page = chromium.new_context(viewport=PHONE, java_script_enabled=False).new_page()
    page.goto(f"{site_url}measured/")
    expect(page.locator("loft-measured .loft-summary")).to_contain_text("Example, nobody's flight")
    expect(page.locator("svg.loft-flown")).to_be_visible()
    expect(page.locator(".loft-opener")).to_be_hidden()
    assert page.locator("loft-measured [data-take]").count() == 0
    page.context.close()


def test_a_file_is_opened_its_limit_moved_and_what_was_measured_taken_and_undone(open_page: Callable[..., Page], file: Path) -> None:
    page = open_page("measured/", viewport=PHONE)
    opened(page, file)
    expect(page.locator("svg.loft-flown")).to_have_count(1)
    expect(page.locator("#flight-0")).to_have_text("Flight 1: flight.csv")
    found = numbers(page, "main")
    start = page.input_value("#flight-0-main-from")
    typed(page, "flight-0-main-to", str(float(start) + 15))
    assert numbers(page, "main") != found
    after(page, page.get_by_role("button", name="Limits as found").click)
    assert numbers(page, "main") == found
    typed(page, "flight-0-when", "2026-05-02")
    before = stored(page)
    after(page, page.get_by_role("button", name="as the Cd of the main, measured").click)
    expect(page.locator(".loft-following")).to_contain_text("plan and field card follow it")
    kept = stored(page)
    assert set(kept["rig.measured"].split()) == {"main.canopy.cd_measured_low", "main.canopy.cd_measured_high"}
    assert kept["main.canopy.cd_measured_from"] == "1 flight, 2026-05-02"
    plan = page.context.new_page()
    plan.goto(page.url.replace("measured/", "canopy/"))
    until(plan, "document.querySelector('loft-calculator .loft-answer').dataset.answer > 0")
    assert "measured by you, 1 flight, 2026-05-02" in plan.locator("loft-calculator").evaluate("(one) => one.textContent")
    assert plan.locator('[data-field="main.canopy.cd_measured_low"] .loft-mark').evaluate("(one) => one.textContent").strip() == "measured"
    plan.close()
    after(page, page.get_by_role("button", name="Undo: as it was before").click)
    assert (stored(page) or {}) == (before or {})
    expect(page.get_by_role("button", name="as the Cd of the main, measured")).to_have_count(1)


def test_undo_gives_back_whose_each_was(open_page: Callable[..., Page], file: Path) -> None:
    """What was measured before is measured again, and what was typed typed."""
    page = open_page("measured/")
    page.evaluate("localStorage.setItem('loftbook.rig', JSON.stringify({'main.canopy.cd_measured_low': '0.7', 'main.canopy.cd_measured_high': '0.8', 'rig.measured': 'main.canopy.cd_measured_low rocket.mass', 'rocket.mass': '5.6 kg'}))")
    page.reload()
    opened(page, file)
    before = stored(page)
    after(page, page.get_by_role("button", name="as the Cd of the main, measured").click)
    assert set(stored(page)["rig.measured"].split()) == {"main.canopy.cd_measured_low", "main.canopy.cd_measured_high", "rocket.mass"}
    after(page, page.get_by_role("button", name="Undo: as it was before").click)
    now = stored(page)
    assert set(now.pop("rig.measured").split()) == set(before.pop("rig.measured").split())
    assert now == before


def test_a_damaged_file_says_what_is_wrong_and_where_and_nothing_else_changes(open_page: Callable[..., Page], file: Path, tmp_path: Path) -> None:
    page = open_page("measured/")
    opened(page, file)
    found, rig = numbers(page, "main"), stored(page)
    lines = file.read_text().split("\n")
    lines[100] = "what is this"
    (tmp_path / "damaged.csv").write_text("\n".join(lines))
    (tmp_path / "bare.csv").write_text(flight(6).split("\n", 1)[1])
    opened(page, tmp_path / "damaged.csv", tmp_path / "bare.csv")
    expect(page.locator("section:has(> #flight-1) .loft-fault").first).to_contain_text("line 101: a number is missing or cannot be read")
    assert numbers(page, "main") == found
    assert stored(page) == rig
    expect(page.locator("#flight-2-time_unit-fault")).to_contain_text("Allowed: s or ms")
    after(page, lambda: page.select_option("#flight-2-time_unit", "s"))
    after(page, lambda: page.select_option("#flight-2-height_unit", "m"))
    expect(page.locator("svg.loft-flown")).to_have_count(2)
    expect(page.locator("#measured-main")).to_have_text("Main, 2 flights")
    after(page, page.get_by_role("button", name="Take flight 2 off the page").click)
    expect(page.locator("#flight-1")).to_have_text("Flight 2: bare.csv")
    expect(page.locator("#flight-2")).to_have_count(0)


def test_text_is_pasted_and_a_descent_timed_and_nothing_of_it_is_kept_or_sent(open_page: Callable[..., Page], file: Path) -> None:
    asked: list[str] = []
    page = open_page("measured/", before=lambda page: page.on("request", lambda request: asked.append(request.post_data or "")))
    page.get_by_text("Paste a file's text instead").click()
    page.fill("#measured-pasted", file.read_text())
    after(page, page.get_by_role("button", name="Take this text for a flight").click)
    after(page, page.get_by_role("button", name="Add a descent that you timed").click)
    typed(page, "timed-0-high", "200")
    expect(page.locator("#timed-0-high-fault")).to_contain_text("has no unit")
    after(page, page.get_by_role("button", name="Use 200 m", exact=True).click)
    typed(page, "timed-0-seconds", "33")
    expect(page.locator("#measured-main")).to_have_text("Main, 1 flight and 1 by watch")
    assert not any(asked)
    assert stored(page) in (None, {})
    assert page.evaluate("JSON.stringify(localStorage)").find("altitude") < 0
    page.get_by_text("Copy a link with this rig")
    page.reload()
    expect(page.locator("loft-measured .loft-summary")).to_contain_text("Example, nobody's flight")


def test_what_is_typed_while_an_answer_is_on_its_way_stays(open_page: Callable[..., Page], file: Path) -> None:
    page = open_page("measured/")
    opened(page, file)

    def act() -> None:
        page.fill("#flight-0-temperature", "20 °C")
        page.locator("#flight-0-when").focus()  # this asks
        page.keyboard.type("May")

    after(page, act)
    assert page.input_value("#flight-0-when") == "May"
    assert page.evaluate("document.activeElement.id") == "flight-0-when"


@pytest.mark.parametrize(("view", "scheme"), [(PHONE, "light"), (DESK, "dark")])
def test_axe_finds_nothing_where_files_are_open_and_wrong(
    open_page: Callable[..., Page], judge: Callable[..., None], file: Path, tmp_path: Path, view: dict, scheme: str,
) -> None:  # fmt: skip
    page = open_page("measured/", viewport=view, color_scheme=scheme)
    (tmp_path / "bare.csv").write_text("\n".join(file.read_text().split("\n")[1:]))
    opened(page, file, file, tmp_path / "bare.csv")
    after(page, page.get_by_role("button", name="Add a descent that you timed").click)
    typed(page, "timed-0-high", "5")
    after(page, page.get_by_role("button", name="as the Cd of the main, measured").click)
    page.get_by_role("button", name="Close this note").click()
    judge(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
