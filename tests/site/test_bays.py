"""Two bays in one rig, in the page: the rig to start from, the switch between bays, whose a value is."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from test_pages import (
    DESK,
    LIVE,
    OPEN,
    PHONE,
    STILL,
    answers,
    open_all,
    open_bar,
    open_page,
    payload,
    stored,
    told,
    type_in,
    unpacked,
)

from conftest import CALCULATORS, until
from loftbook.calculators import CALCULATORS as DECLARED
from loftbook.rig.fields import DEFAULTS, ONE_BAY_75, STARTS, TWO_BAYS_98
from loftbook.rig.files import load
from loftbook.rig.parsing import parse
from loftbook.rig.ways import ONE_BAY, TWO_BAYS, TWO_PARTS, WAYS

pytestmark = pytest.mark.browser
__all__ = ["open_page"]  # a fixture

PARTS = "[...document.querySelectorAll('loft-calculator [data-part]')].map(part => part.dataset.part)"
SHOWN = "[...document.querySelectorAll('.loft-bays button[aria-pressed=true]')].map(one => one.dataset.bay)"
CHOICE = "[...document.querySelectorAll('.loft-answer .loft-bays button')].map(one => one.dataset.bay)"
OWN_GROUPS = "[...document.querySelectorAll('.loft-group[data-bay]')].filter(group => !group.hidden).map(group => group.dataset.bay)"
ONES_OWN = """(html => {
    const answer = document.createElement('div');
    answer.innerHTML = html;
    // what the page's own scripts add to pictures is not part of the answer; how much is borrowed is told of the whole rig
    answer.querySelectorAll('.loft-foldbar, .loft-told, .loft-whose').forEach(added => added.remove());
    return [answer.textContent, ...[...answer.querySelectorAll('svg')].map(svg => svg.innerHTML)];
})"""


def words(page: Page, html: str | None = None, of: str = "") -> list[str]:
    """Text and pictures of the answer on the page (of one calculator where there are several), or of other HTML read by the same browser."""
    until(page, STILL)
    within = f'loft-calculator[name="{of}"] ' if of else ""
    parts = f"[...document.querySelectorAll('{within}.loft-answer, {within}.loft-more')].map(part => part.innerHTML).join('')"
    given = parts if html is None else json.dumps(html)
    return page.evaluate(f"{ONES_OWN}({given})")


def switch(page: Page, key: str) -> None:
    """Presses the other bay's button and waits for its answer."""
    number = answers(page)
    page.locator(f".loft-bays button[data-bay={key}]:visible").first.click()
    until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")


# --- the rig to start from ---------------------------------------------------------------------------


def test_the_demo_opens_with_two_bays_and_the_plan_shows_both(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    parts = page.evaluate(PARTS)
    for key in ("drogue", "main"):
        for name in ("canopy", "folding", "packing", "cord", "separation", "loads"):
            assert f"{key}.{name}" in parts
    assert parts.index("drogue.folding") < parts.index("main.folding")  # in the order in which they open
    open_all(page)
    steps = page.evaluate("[...document.querySelectorAll('loft-calculator .loft-step')].map(step => step.id)")
    for key in ("drogue", "main"):
        for act in ("fold-lay-out", "fold-halve-1", "pack-bundle", "pack-protector", "pack-close", "charge", "pins"):
            assert steps.count(f"{key}-{act}") == 1
    checks = page.evaluate("[...document.querySelectorAll('.loft-check')].map(row => `${row.dataset.bay}.${row.dataset.check}`)")
    assert {"drogue.bundle-fits", "main.bundle-fits", "drogue.bay-holds-all", "main.bay-holds-all"} <= set(checks)
    assert set(page.evaluate(OWN_GROUPS)) == {"drogue", "main"}


def test_the_rig_with_one_bay_is_one_click_away_and_nothing_typed_is_lost(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    type_in(page, "drogue.canopy.size", "700 mm")
    mine = stored(page)
    assert mine == {"drogue.canopy.size": "700 mm"}
    number = answers(page)
    open_bar(page)
    page.locator(f".loft-starts button[data-start='{ONE_BAY_75}']").click()
    until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
    assert {part.split(".")[0] for part in page.evaluate(PARTS) if "." in part} == {"main"}
    assert set(page.evaluate(OWN_GROUPS)) == {"main"}
    assert page.input_value('[name="main.bay.tube"]') == STARTS[ONE_BAY_75]["main.bay.tube"]
    expect(page.locator(f".loft-starts button[data-start='{ONE_BAY_75}']")).to_have_attribute("aria-pressed", "true")
    assert words(page) == words(page, told("calculate", {"rig.start": ONE_BAY_75}, calculator="plan"))

    number = answers(page)
    page.get_by_role("button", name="Undo: go back to the rig I had").click()
    until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
    assert stored(page) == mine
    assert page.input_value('[name="drogue.canopy.size"]') == "700 mm"
    assert "drogue.packing" in page.evaluate(PARTS)


def test_between_the_starting_rigs_it_is_one_click_there_and_one_back(open_page: Callable[..., Page]) -> None:
    page = open_page("folding/")
    first = words(page)
    for name, keys in ((ONE_BAY_75, []), (TWO_BAYS_98, ["drogue", "main"])):
        number = answers(page)
        open_bar(page)
        page.locator(f".loft-starts button[data-start='{name}']").click()
        until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
        assert page.evaluate(CHOICE) == keys  # no switch where there is one bay
        assert page.locator(".loft-bays button:visible").count() == len(keys)
    assert words(page) == first
    assert page.get_by_role("button", name="Undo: go back to the rig I had").count() == 0  # there was nothing to lose


def test_another_way_down_hides_a_bay_and_keeps_what_was_typed_in_it(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    type_in(page, "drogue.bay.depth", "360 mm")
    open_all(page)
    for way in (ONE_BAY, TWO_PARTS, TWO_BAYS):
        number = answers(page)
        page.select_option('[name="flight.way"]', way)
        until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
        parts = {part.split(".")[0] for part in page.evaluate(PARTS) if "." in part}
        assert parts == set(WAYS[way].keys)
        expect(page.locator('[name="drogue.bay.depth"]')).to_be_visible(visible="drogue" in WAYS[way].bays)
    assert page.input_value('[name="drogue.bay.depth"]') == "360 mm"


# --- the switch --------------------------------------------------------------------------------------

BY_KEY = [name for name, one in DECLARED.items() if one.each != "rig"]


@pytest.mark.parametrize("way", [TWO_BAYS, TWO_PARTS])
@pytest.mark.parametrize("name", BY_KEY)
def test_live_answers_of_every_bay_are_the_cores(open_page: Callable[..., Page], name: str, way: str) -> None:
    fields = {"flight.way": way, "main.canopy.size": "2.1 m"}
    page = open_page(f"{CALCULATORS[name]}#~{payload(fields)}")
    keys = DECLARED[name].keys(WAYS[way])
    assert page.evaluate(CHOICE) == (list(keys) if len(keys) > 1 else [])
    texts = []
    for key in keys:
        if len(keys) > 1 and set(page.evaluate(SHOWN)) != {key}:
            switch(page, key)
        assert set(page.evaluate(SHOWN)) == ({key} if len(keys) > 1 else set())
        texts.append(words(page, of=name))
        assert texts[-1] == words(page, told("calculate", fields | {"rig.bay": key}, calculator=name))
        assert texts[-1] == words(page, told("calculate", fields, calculator=name, bay=key))
    assert all(texts[0] != other for other in texts[1:])


def test_fields_shown_are_those_of_the_bay_shown(open_page: Callable[..., Page]) -> None:
    page = open_page("packing/")
    assert set(page.evaluate(OWN_GROUPS)) == {"main"}
    switch(page, "drogue")
    assert set(page.evaluate(OWN_GROUPS)) == {"drogue"}
    expect(page.locator('[name="drogue.bay.depth"]')).to_be_visible()
    expect(page.locator('[name="main.bay.depth"]')).to_be_hidden()
    before = words(page)
    type_in(page, "drogue.bay.depth", "400 mm")
    assert words(page) != before
    switch(page, "main")
    assert words(page) == words(page, told("calculate", calculator="packing"))  # the other bay has heard nothing of it


def test_the_bay_shown_is_remembered_and_the_same_on_every_page(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("folding/")
    switch(page, "drogue")
    shown = words(page)
    page.reload()
    until(page, LIVE)
    assert page.evaluate(SHOWN) == ["drogue"]
    assert words(page) == shown
    page.goto(f"{site_url}cord/")
    until(page, LIVE)
    assert page.evaluate(SHOWN) == ["drogue"]
    assert words(page) == words(page, told("calculate", {"rig.bay": "drogue"}, calculator="cord"))
    switch(page, "main")
    page.goto(f"{site_url}folding/")
    until(page, LIVE)
    assert page.evaluate(SHOWN) == ["main"]


def test_the_bay_shown_travels_in_a_link(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("packing/", permissions=["clipboard-read", "clipboard-write"])
    switch(page, "drogue")
    open_bar(page)
    page.get_by_role("button", name="Copy a link with this rig").click()
    expect(page.locator(".loft-note")).to_contain_text("copied")
    link = page.evaluate("navigator.clipboard.readText()")
    assert unpacked(link) == {"rig.start": TWO_BAYS_98, "rig.bay": "drogue"}
    other = open_page(link.removeprefix(site_url))
    assert other.evaluate(SHOWN) == ["drogue"]
    assert words(other) == words(page)


@pytest.mark.parametrize(("within", "viewport"), [(".loft-answer", PHONE), (".loft-answer", DESK)])
def test_the_focus_stays_on_the_switch(open_page: Callable[..., Page], within: str, viewport: dict[str, int]) -> None:
    page = open_page("folding/", viewport=viewport)
    focused = f"document.activeElement.closest('{within} .loft-bays') && document.activeElement.dataset.bay"
    for key in ("drogue", "main"):
        page.locator(f"{within} .loft-bays button[data-bay={key}]").focus()
        number = answers(page)
        page.keyboard.press("Enter")
        until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
        assert page.evaluate(SHOWN) == [key]
        assert page.evaluate(focused) == key


def test_to_look_at_the_other_bay_is_not_to_type(open_page: Callable[..., Page]) -> None:
    page = open_page("folding/")
    switch(page, "drogue")
    expect(page.locator("loft-rigbar .loft-whence")).to_have_text("a starting rig")
    page.evaluate(f"location.hash = '#~{payload({'main.bay.tube': '75 mm'})}'")
    until(page, "document.querySelector('[name=\"main.bay.tube\"]').value === '75 mm'")
    assert stored(page, "loftbook.rig.before") is None


@pytest.mark.parametrize("key", ["drogue", "main"])
def test_a_link_to_a_step_shows_the_bay_it_is_of(open_page: Callable[..., Page], key: str) -> None:
    other = {"drogue": "main", "main": "drogue"}[key]
    page = open_page(f"packing/#{key}-pack-bundle~{payload({'rig.bay': other, 'rig.name': 'Theirs'})}")
    until(page, f"document.activeElement.id === '{key}-pack-bundle'")
    assert page.evaluate(SHOWN) == [key]


def test_a_fault_in_the_bay_that_is_not_shown_can_be_reached(open_page: Callable[..., Page]) -> None:
    page = open_page("packing/")
    switch(page, "drogue")
    type_in(page, "drogue.bay.depth", "nonsense")
    page.locator(".loft-bays button[data-bay=main]:visible").first.click()
    fault = page.locator('[data-field="drogue.bay.depth"] .loft-fault')
    expect(fault).to_be_visible()  # not hidden with its bay
    expect(page.locator(".loft-state")).to_contain_text("do not match what is typed")
    page.fill('[name="drogue.bay.depth"]', "350 mm")
    until(page, "document.querySelector('[aria-invalid], .loft-stale') === null")
    expect(page.locator('[name="drogue.bay.depth"]')).to_be_hidden()


# --- whose a value is --------------------------------------------------------------------------------

FIELD = "main.bay.tube"
SAME = DEFAULTS[FIELD]


def mark(page: Page, path: str = FIELD) -> str:
    return page.locator(f'[data-field="{path}"] .loft-mark').get_attribute("data-origin") or ""


def retype(page: Page, path: str, text: str) -> None:
    """As by hand: what stands there is marked and typed over, letter by letter."""
    page.evaluate(OPEN, path)
    page.locator(f'[name="{path}"]').focus()
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(text)
    until(page, f"document.querySelector('[name=\"{path}\"]').value === '{text}' && !document.querySelector('.loft-stale')")


def test_every_field_of_a_rocket_says_whose_it_is_at_first(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    marks = page.evaluate("""Object.fromEntries([...document.querySelectorAll('[data-field]')].map(field =>
        [field.dataset.field, field.querySelector('.loft-mark')?.dataset.origin ?? null]))""")
    about = {path for path in DEFAULTS if path.split(".")[0] in ("rig", "compare")}
    assert marks == {path: None if path in about else "start" for path in DEFAULTS}
    labels = page.evaluate("[...document.querySelectorAll('.loft-mark')].map(mark => mark.ariaLabel ?? '')")
    assert all(label.startswith("the starting rig's: ") for label in labels)


def test_the_same_text_typed_is_the_readers_own(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("packing/", permissions=["clipboard-read", "clipboard-write"])
    assert mark(page) == "start"
    shown = words(page)
    retype(page, FIELD, SAME)
    assert mark(page) == "typed"
    assert stored(page) == {FIELD: SAME}
    assert words(page) == shown
    expect(page.locator("loft-rigbar .loft-whence")).to_contain_text("yours")

    page.reload()
    until(page, LIVE)
    assert mark(page) == "typed"

    open_bar(page)
    page.get_by_role("button", name="Copy a link with this rig").click()
    expect(page.locator(".loft-note")).to_contain_text("copied")
    link = page.evaluate("navigator.clipboard.readText()")
    assert unpacked(link) == {"rig.start": TWO_BAYS_98, FIELD: SAME}
    other = open_page(link.removeprefix(site_url))
    assert mark(other) == "typed"
    assert mark(other, "main.bay.depth") == "start"


def test_a_value_is_claimed_measured_and_unmeasured(open_page: Callable[..., Page]) -> None:
    page = open_page("packing/")
    field = page.locator(f'[data-field="{FIELD}"]')
    page.evaluate(OPEN, FIELD)
    field.locator(".loft-mark").click()
    expect(field.locator(".loft-claim")).to_be_visible()
    field.get_by_role("button", name="It is mine too").click()
    assert mark(page) == "typed"
    assert stored(page) == {FIELD: SAME}
    expect(field.get_by_role("button", name="Measured", exact=True)).to_be_focused()
    page.keyboard.press("Enter")
    assert mark(page) == "measured"
    assert stored(page) == {FIELD: SAME, "rig.measured": FIELD}
    expect(field.get_by_role("button", name="Measured", exact=True)).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("Enter")
    assert mark(page) == "typed"
    assert stored(page) == {FIELD: SAME}
    page.keyboard.press("Enter")
    retype(page, FIELD, "97 mm")  # what is typed over was not measured
    assert mark(page) == "typed"
    assert stored(page) == {FIELD: "97 mm"}


def test_measured_outlives_reload_file_and_link(open_page: Callable[..., Page], site_url: str, tmp_path: Path) -> None:
    page = open_page("packing/", permissions=["clipboard-read", "clipboard-write"])
    for path in (FIELD, "main.bay.depth"):
        page.evaluate(OPEN, path)
        page.locator(f'[data-field="{path}"] .loft-mark').click()
        page.locator(f'[data-field="{path}"]').get_by_role("button", name="Measured", exact=True).click()
    retype(page, "main.lines.length", "2.3 m")
    wanted = {FIELD: "measured", "main.bay.depth": "measured", "main.lines.length": "typed", "main.bay.shoulder": "start"}

    def marks(there: Page) -> dict[str, str]:
        return {path: mark(there, path) for path in wanted}

    assert marks(page) == wanted
    page.reload()
    until(page, LIVE)
    assert marks(page) == wanted

    open_bar(page)
    page.get_by_role("button", name="Copy a link with this rig").click()
    expect(page.locator(".loft-note")).to_contain_text("copied")
    link = page.evaluate("navigator.clipboard.readText()")
    assert set(unpacked(link)["rig.measured"].split()) == {FIELD, "main.bay.depth"}
    assert marks(open_page(link.removeprefix(site_url))) == wanted

    open_bar(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save rig to a file").click()
    file = tmp_path / "rig.toml"
    download.value.save_as(file)
    rig = parse(load(file.read_text("utf-8")))
    assert {path: rig.origin(path) for path in wanted} == wanted
    other = open_page("packing/")
    open_bar(other)
    with other.expect_file_chooser() as chooser:
        other.get_by_role("button", name="Open a rig file").click()
    chooser.value.set_files(file)
    expect(other.locator(".loft-note")).to_contain_text("is open")
    assert marks(other) == wanted
    assert words(other) == words(page)


def test_on_paper_stands_whose_a_value_is(open_page: Callable[..., Page], tmp_path: Path) -> None:
    from pypdf import PdfReader

    page = open_page("packing/")
    page.evaluate(OPEN, FIELD)
    page.locator(f'[data-field="{FIELD}"] .loft-mark').click()
    page.locator(f'[data-field="{FIELD}"]').get_by_role("button", name="Measured", exact=True).click()
    retype(page, "main.lines.length", "2.3 m")
    page.pdf(path=tmp_path / "page.pdf", format="A4")
    text = " ".join(" ".join(sheet.extract_text() for sheet in PdfReader(tmp_path / "page.pdf").pages).split())
    assert f"{SAME} ●" in text
    assert f"{DEFAULTS['main.bay.depth']} ○" in text
    assert "2.3 m" in text
    assert "2.3 m ○" not in text
    assert "2.3 m ●" not in text
