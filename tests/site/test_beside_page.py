"""Whole rigs beside each other, on their page and under the mends of a plan: put there, taken at a touch, undone, on a phone, on paper."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from test_accessibility import axe, judge
from test_pages import DESK, LIVE, PHONE, STILL, open_page, payload, stored, type_in

from conftest import until
from loftbook.faces.live import answer
from loftbook.rig.fields import DEFAULTS, STARTS

__all__ = ["axe", "judge", "open_page"]
pytestmark = pytest.mark.browser
WEAK = {"main.cord.link": "60 N"}
PLACE = "document.querySelector('.loft-sides-place')"
FIRST, SECOND, *_ = STARTS
QUIET = f"{PLACE}.ariaBusy !== 'true'"


def columns(page: Page) -> list[str]:
    """The heads of the table."""
    return page.locator(".loft-sides-place thead").first.locator("th").all_inner_texts()[-int(page.locator(".loft-sides").first.get_attribute("data-rigs")) :]  # type: ignore[arg-type]


def until_rigs(page: Page, count: int) -> None:
    until(page, f"{QUIET} && {PLACE}.querySelector('.loft-sides')?.dataset.rigs === '{count}'")


def put(page: Page, name: str, count: int) -> None:
    """Touches a button of the bar, and waits for so many columns."""
    page.locator(".loft-sides-bar").evaluate("fold => (fold.open = true)")
    page.locator(".loft-sides-bar").get_by_role("button", name=name, exact=True).click()
    until_rigs(page, count)


def row(page: Page, label: str) -> list[str]:
    """The cells of the row of that name in the first table."""
    cells = """label => [...document.querySelector('.loft-sides').rows].find(row => row.cells[0].textContent === label)?.innerText
        ? [...[...document.querySelector('.loft-sides').rows].find(row => row.cells[0].textContent === label).cells].slice(1).map(cell => cell.textContent) : []"""
    return page.evaluate(cells, label)


# --- on its page -----------------------------------------------------------------------------------------------


def test_without_scripts_the_demo_rig_stands_beside_another(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/", live=False, java_script_enabled=False, viewport=DESK)
    assert columns(page) == [f"A: As it is: {DEFAULTS['rig.name']}", f"B: Starting rig: {SECOND}"]
    expect(page.locator(".loft-sides").first).to_contain_text("No check stops it")
    expect(page.locator(".loft-sides [data-versus=worse]").first).to_be_visible()
    expect(page.locator(".loft-sides-acts").first).to_be_hidden()


def test_the_live_table_of_the_same_rigs_is_the_static_one(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/")
    mark = page.locator(".loft-sides-place").get_attribute("data-mark")
    rigs = [{"name": f"As it is: {DEFAULTS['rig.name']}", "fields": {"rig.start": FIRST}}, {"name": f"Starting rig: {SECOND}", "fields": {"rig.start": SECOND}}]
    assert json.loads(answer(json.dumps({"do": "beside", "rigs": rigs})))["mark"] == mark
    put(page, FIRST, 3)
    put(page, f"Starting rig: {FIRST}", 2)  # left out again
    assert page.locator(".loft-sides-place").get_attribute("data-mark") == mark


def test_what_is_typed_is_followed_and_what_was_held_stays(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/")
    put(page, "The rig as it is now", 3)
    type_in(page, "main.canopy.size", "1.9 m")
    until(page, f"{QUIET} && {PLACE}.textContent.includes('1.9 m')")
    first, start, held = row(page, "Canopy size")
    assert "1.9 m ◐" in first
    assert STARTS[SECOND]["main.canopy.size"] in start
    assert held.startswith(f"{DEFAULTS['main.canopy.size']} ○")
    assert "≠ other" in held


def test_four_are_the_most_and_one_left_out_makes_room(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/")
    for count, name in enumerate(list(STARTS)[2:4], 3):
        put(page, name, count)
    assert len(columns(page)) == 4
    adding = page.locator(".loft-sides-bar").get_by_role("button", name=list(STARTS)[4], exact=True)
    expect(adding).to_be_disabled()
    expect(page.locator(".loft-sides-bar")).to_contain_text("Four are the most")
    put(page, f"Starting rig: {SECOND}", 3)
    expect(adding).to_be_enabled()
    assert [head.split(": ")[-1] for head in columns(page)[1:]] == list(STARTS)[2:4]


def test_one_touch_takes_a_rig_keeps_mine_and_another_undoes_it(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/", viewport=PHONE)
    type_in(page, "main.canopy.size", "1.9 m")
    until(page, f"{QUIET} && {PLACE}.textContent.includes('1.9 m')")
    put(page, SECOND, 3)
    before = stored(page)
    page.locator("[data-rig='2']").click()
    until(page, f"{QUIET} && {PLACE}.querySelector('thead').textContent.includes('As it was')")
    assert stored(page) == {"rig.start": SECOND}
    assert stored(page, "loftbook.rig.before") == before
    assert [head.partition(": ")[2].partition(":")[0] for head in columns(page)] == ["As it is", "Starting rig", "As it was"]
    expect(page.locator(".loft-note")).to_contain_text(f"On the page now: Starting rig: {SECOND}.")
    page.get_by_role("button", name="Undo: as it was before").click()
    until(page, f"{QUIET} && !{PLACE}.querySelector('thead').textContent.includes('As it was')")
    assert stored(page) == before
    assert stored(page, "loftbook.rig.before") is None
    assert stored(page, "loftbook.rig.about") == {"from": "demo", "touched": True}


def test_what_was_typed_after_taking_waits_when_it_is_undone(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/")
    type_in(page, "main.canopy.size", "1.9 m")
    until(page, f"{QUIET} && {PLACE}.textContent.includes('1.9 m')")
    put(page, SECOND, 3)
    page.locator("[data-rig='2']").click()
    until(page, f"{QUIET} && {PLACE}.querySelector('thead').textContent.includes('As it was')")
    type_in(page, "main.canopy.size", "1.3 m")
    page.get_by_role("button", name="Undo: as it was before").click()
    until(page, STILL)
    assert stored(page)["main.canopy.size"] == "1.9 m"  # type: ignore[index]
    assert stored(page, "loftbook.rig.before")["main.canopy.size"] == "1.3 m"  # type: ignore[index]


def test_the_rig_that_waits_stands_beside_the_one_that_came(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("compare/")
    type_in(page, "main.canopy.size", "1.9 m")
    page.goto(f"{site_url}compare/#~{payload({'rig.name': 'Sent'})}")
    page.reload()
    until(page, f"{QUIET} && {PLACE}.querySelector('thead').textContent.includes('Kept before')")
    assert columns(page) == ["A: As it is: Sent", f"B: Kept before: {DEFAULTS['rig.name']}"]
    first, kept = row(page, "Canopy size")
    assert first.startswith("2.2 m ○")
    assert kept.startswith("1.9 m ◐")
    put(page, f"The one kept before: {DEFAULTS['rig.name']}", 3)


def test_a_file_is_put_there_and_one_that_is_none_says_why(open_page: Callable[..., Page], tmp_path: Path) -> None:
    good, bad = tmp_path / "mine.toml", tmp_path / "bad.toml"
    good.write_text(f'[rig]\nstart = "{SECOND}"\nname = "From a file"\n[main.canopy]\nsize = "1.5 m"\n')
    bad.write_text("this is no rig")
    page = open_page("compare/")
    chooser = page.get_by_label("A rig file to put beside it")
    chooser.set_input_files(bad)
    expect(page.locator("loft-beside .loft-faults")).to_contain_text("TOML")
    assert len(columns(page)) == 2
    chooser.set_input_files(good)
    until_rigs(page, 3)
    assert columns(page)[2] == "C: File: mine.toml"
    assert page.locator("loft-beside .loft-faults").count() == 0
    page.locator("[data-rig='2']").click()
    until(page, STILL)
    assert stored(page) == {"rig.start": SECOND, "rig.name": "From a file", "main.canopy.size": "1.5 m"}
    expect(page.locator("loft-rigbar")).to_contain_text("from a file")


def test_a_faulty_rig_fills_its_column_and_stops_no_other(open_page: Callable[..., Page]) -> None:
    page = open_page(f"compare/#~{payload({'rig.name': 'Sent'})}")
    type_in(page, "main.canopy.size", "a metre")
    until(page, f"{QUIET} && {PLACE}.textContent.includes('Cannot be worked out')")
    first, other = row(page, "Verdict")
    assert "a metre" in first
    assert other.startswith("No check stops it")
    assert page.locator(".loft-sides-place").evaluate("place => place.classList.contains('loft-stale')") is False


# --- under the mends of a plan -----------------------------------------------------------------------------------


def ask_for_mends(page: Page) -> None:
    page.locator(".loft-check[data-check=chain] .loft-mend:visible").first.click()
    until(page, "document.querySelector('.loft-mending [data-beside]')")


@pytest.mark.parametrize("view", [PHONE, DESK], ids=["phone", "desk"])
def test_mends_stand_beside_the_rig_as_it_is_and_one_is_taken_there(open_page: Callable[..., Page], judge: Callable[..., None], view: dict[str, int]) -> None:
    page = open_page(f"plan/#~{payload(WEAK | {'rig.measured': 'main.cord.link'})}", viewport=view)
    until(page, "document.querySelector('.loft-mend')")
    ask_for_mends(page)
    mends = json.loads(page.locator("[data-beside]").get_attribute("data-beside"))  # type: ignore[arg-type]
    page.get_by_role("button", name="Put them beside each other").click()
    until(page, f"{PLACE}?.querySelector('.loft-sides')")
    assert columns(page) == ["A: As it is", *(f"{letter}: {mend['name']}" for letter, mend in zip("BCD", mends, strict=False))]
    assert page.locator(".loft-mending + .loft-sides-place").count() == 1
    first, second, *_ = row(page, "Chain of strength (main)")
    assert first.startswith("Fails")
    assert "▲ better" in second
    link = row(page, "Link rating")
    assert link[0] == "60 N ●"
    assert f"{mends[0]['texts']['main.cord.link']} ◐" in link[1]  # another link is not the one that was measured
    assert page.evaluate("document.documentElement.scrollWidth") <= view["width"]
    judge(page)
    page.locator("[data-rig='1']").click()
    until(page, f"!{PLACE}")
    until(page, STILL)
    taken = stored(page)
    assert taken
    assert taken["main.cord.link"] == mends[0]["texts"]["main.cord.link"]
    assert "rig.measured" not in taken
    assert page.locator(".loft-check[data-check=chain][data-verdict=fail]").count() == 0
    page.get_by_role("button", name="Undo: as it was before").click()
    until(page, "document.querySelector('.loft-check[data-check=chain][data-verdict=fail]')")
    assert stored(page)["main.cord.link"] == "60 N"  # type: ignore[index]
    assert stored(page)["rig.measured"] == "main.cord.link"  # type: ignore[index]


def test_looking_again_takes_the_old_table_away(open_page: Callable[..., Page]) -> None:
    page = open_page(f"plan/#~{payload(WEAK)}")
    until(page, "document.querySelector('.loft-mend')")
    ask_for_mends(page)
    page.get_by_role("button", name="Put them beside each other").click()
    until(page, f"{PLACE}?.querySelector('.loft-sides')")
    page.locator(".loft-check[data-check=chain] .loft-mend:visible").first.click()
    until(page, f"!{PLACE}")


# --- on a phone, by axe, on paper ----------------------------------------------------------------------------------


def test_on_a_phone_the_first_stays_while_the_others_scroll(open_page: Callable[..., Page]) -> None:
    page = open_page("compare/", viewport=PHONE)
    for count, name in enumerate(list(STARTS)[2:4], 3):
        put(page, name, count)
    box = page.locator(".loft-sides-place > .loft-scroll").first
    assert box.evaluate("box => box.scrollWidth > box.clientWidth")
    for far in (70, 150, 260, 10_000):  # wherever a thumb leaves it, no figure is cut in two
        box.evaluate("(box, far) => box.scrollTo({ left: far, behavior: 'instant' })", far)
        cut = """box => [...box.querySelectorAll('tbody tr:first-child td')].slice(1).map(cell => cell.getBoundingClientRect().left - box.getBoundingClientRect().left - box.clientWidth / 2)
            .filter(left => Math.abs(left) > 1 && Math.abs(left % (box.clientWidth / 2)) > 1).length"""
        until(page, f"({cut})({PLACE}.querySelector('.loft-scroll')) === 0", timeout=5)
    lines = page.evaluate("""[...document.querySelector('.loft-sides').tBodies].flatMap(body => [...body.rows]).filter(row => row.cells.length > 2).map(row => {
        const box = row.closest('.loft-scroll').getBoundingClientRect(), [name, first, , , last] = [...row.cells].map(cell => cell.getBoundingClientRect());
        return [name.left - box.left, first.left - box.left, box.right - last.right, box.right - name.right, first.right - last.left]; })""")
    assert len(lines) > 20
    for name, first, last, name_end, overlap in lines:
        assert abs(name) < 1
        assert abs(first) < 1
        assert abs(last) < 1
        assert name_end >= -1
        assert overlap <= 1
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("view", [PHONE, DESK], ids=["phone", "desk"])
def test_axe_has_nothing_against_four_of_them(open_page: Callable[..., Page], judge: Callable[..., None], view: dict[str, int], scheme: str) -> None:
    page = open_page(f"compare/#~{payload(WEAK | {'main.cord.length': '1 m'})}", viewport=view, color_scheme=scheme)
    until(page, f"{QUIET} && {PLACE}.textContent.includes('60 N')")
    put(page, SECOND, 3)
    put(page, list(STARTS)[4], 4)
    page.evaluate("document.querySelectorAll('loft-beside details').forEach(fold => (fold.open = true))")
    judge(page)
    small = page.evaluate("""[...document.querySelectorAll('loft-beside :is(button, summary)')].map(one => [one.textContent, one.getBoundingClientRect()])
        .filter(([, box]) => box.height < 43.9 || box.width < 43.9).map(([text]) => text)""")
    assert small == []


def test_on_paper_the_table_is_whole_and_the_buttons_are_gone(open_page: Callable[..., Page], tmp_path: Path) -> None:
    from pypdf import PdfReader

    page = open_page("compare/")
    for count, name in enumerate(list(STARTS)[2:4], 3):
        put(page, name, count)
    page.pdf(path=tmp_path / "beside.pdf", format="A4")
    words = " ".join(sheet.extract_text() for sheet in PdfReader(tmp_path / "beside.pdf").pages)
    for told in ("D: Starting", "Still the starting rig", "worse", "Fields that say something else"):
        assert told in words
    assert "Take B" not in words
    assert "Leave out" not in words
    page.emulate_media(media="print")
    until(page, LIVE)
    right = page.evaluate("Math.max(...[...document.querySelectorAll('.loft-sides td')].map(cell => cell.getBoundingClientRect().right))")
    assert right <= DESK["width"]
