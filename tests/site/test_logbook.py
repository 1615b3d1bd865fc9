"""The logbook in a browser: written and kept, read back from its own files, refused where damaged, whole after a kill."""

import json
import os
import random
import shutil
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Page, Playwright
from test_accessibility import axe, judge
from test_pages import PHONE

from conftest import CHROMIUM_ARGS, NO_DATABASE, kill, until
from loftbook.rig.bay_fields import THROWN
from sweeps import WHOLE

__all__ = ["axe", "judge"]

pytestmark = pytest.mark.browser
KILLS = int(os.environ.get("LOFTBOOK_KILLS", "100" if WHOLE else "6"))  # a hundred by hand
FEW, MANY = 50, 10_000
OPENED = 100  # ms
ROWS = "document.querySelectorAll('.loft-logrow').length"
NOTE = "document.querySelector('loft-logbook .loft-note').textContent"


def begin(page: Page, url: str, kind: str) -> None:
    page.goto(f"{url}logbook/#{kind}")
    until(page, f"document.querySelector('#log-{kind}:not([hidden])')")


def write(page: Page, kind: str, **said: str) -> None:
    """Fill in the form of a kind and send it; what it says then is the caller's to look at."""
    if not page.locator(f"#log-{kind}").is_visible():
        page.click(f".loft-kinds [data-kind='{kind}']")
    for name, text in said.items():
        control = page.locator(f"#log-{kind} [name='{name if name in ('day', 'about') else f'{kind}.{name}'}']")
        if control.evaluate("one => one.tagName") == "SELECT":
            control.select_option(text)
        else:
            control.fill(text)
    page.click(f"#log-{kind} button[type=submit]")


def written(page: Page, rows: int) -> None:
    until(page, f"{ROWS} === {rows}")
    assert "Written down and kept" in page.evaluate(NOTE)


def saved(page: Page, button: str) -> str:
    with page.expect_download() as download:
        page.get_by_role("button", name=button).click()
    return Path(download.value.path()).read_text()


def opened(page: Page, text: str, name: str = "book.jsonl") -> str:
    """Open a file; what the page says of it."""
    page.evaluate("document.querySelector('loft-logbook .loft-note').replaceChildren()")
    page.locator("loft-logbook input[accept*=jsonl]").set_input_files({"name": name, "mimeType": "text/plain", "buffer": text.encode()})
    return str(until(page, NOTE))


def test_written_kept_corrected_and_struck(page: Page, site_url: str, complaints: list[str]) -> None:
    begin(page, site_url, "flight")
    write(page, "flight", apogee="612", rate="6.1 m/s", walk="260 m")
    until(page, "document.querySelector('#log-flight [aria-invalid]')")
    assert "612 m or 612 ft" in page.inner_text("#log-flight .loft-fault:not([hidden])")
    assert page.evaluate(ROWS) == 0
    write(page, "flight", apogee="612 m", note="<b>hot</b> & windy")
    written(page, 1)
    page.reload()
    until(page, f"{ROWS} === 1")
    page.click(".loft-logrow summary")
    until(page, "document.querySelector('.loft-logbody dl')")
    told = page.inner_text(".loft-logbody")
    assert "612 m, less than planned" in told
    assert "6.1 m/s, more than planned" in told
    assert "<b>hot</b> & windy" in told
    page.get_by_role("button", name="Correct it").click()
    assert page.input_value("#log-flight [name='flight.apogee']") == "612 m"
    write(page, "flight", apogee="621 m")
    until(page, "document.querySelector('.loft-logrow').textContent.includes('621 m')")
    assert page.evaluate(ROWS) == 1
    assert saved(page, "Save the book to a file").count("\n") == 2  # the first is still in the file
    page.on("dialog", lambda dialog: dialog.accept())
    page.click(".loft-logrow summary")
    page.get_by_role("button", name="Strike it").click()
    until(page, f"{ROWS} === 0")
    assert not complaints


def test_its_own_file_brings_back_the_same_book_and_a_damaged_one_nothing(page: Page, site_url: str) -> None:
    begin(page, site_url, "test")
    write(page, "test", mass="1.3 g", pins="3", result="threw everything clear")
    written(page, 1)
    write(page, "pull", force="31 N", note='says "tight"; =1+1')
    written(page, 2)
    write(page, "bundle", mass="78 g", width="60 mm", length="250 mm", thickness="30 mm")
    written(page, 3)
    book, table = saved(page, "Save the book to a file"), saved(page, "Save it as a table")
    for text, name in ((book, "book.jsonl"), (table, "book.csv"), (book + book, "twice.jsonl")):
        assert "0 new entries; 3 were in the book already" in opened(page, text, name)
    lines = book.splitlines()
    lines.sort(key=lambda one: '"kind":"pull"' not in one)
    hurt = "\n".join([lines[1], lines[0].replace("31 N", "13 N"), lines[2]])
    assert "line 2: it does not say what was written down" in opened(page, hurt)
    assert "line 3" in opened(page, "\n".join([*lines[:2], lines[2][:-20]]))
    assert "Nothing in the book has changed" in opened(page, "time,height\n1,2\n", "flight.csv")
    assert page.evaluate(ROWS) == 3
    page.evaluate("indexedDB.deleteDatabase('loftbook')")
    page.reload()
    until(page, "document.querySelector('.loft-loglist').dataset.count === '0'")
    assert "3 new entries; 0 were in the book already" in opened(page, table, "book.csv")
    assert sorted(saved(page, "Save the book to a file").splitlines()) == sorted(lines)


def test_what_was_measured_is_taken_into_the_rig_and_out_again(page: Page, site_url: str) -> None:
    begin(page, site_url, "pull")
    write(page, "pull", force="41 N")
    written(page, 1)
    write(page, "pull", force="52 N")
    written(page, 2)
    until(page, "document.querySelector('.loft-known')?.textContent.includes('41 N to 52 N to part it by hand, from 2 pulls')")
    page.locator(".loft-known button").click()
    rig = "JSON.parse(localStorage.getItem('loftbook.rig') ?? '{}')"
    until(page, f"{rig}['main.joint.friction'] === '41 N'")
    kept = page.evaluate(rig)
    assert kept["main.joint.friction_most"] == "52 N"
    assert kept["rig.measured"].split() == ["main.joint.friction", "main.joint.friction_most"]
    page.get_by_role("button", name="Undo").click()
    until(page, f"!('main.joint.friction_most' in {rig}) && !({rig}['rig.measured'] ?? '').includes('friction')")
    page.evaluate("document.querySelector('.loft-known button').click()")
    page.goto(f"{site_url}separation/")
    until(page, "document.querySelector('[data-field=\"main.joint.friction\"] input')?.value === '41 N'")


def test_who_corrects_an_entry_keeps_the_rig_it_was_written_with(page: Page, site_url: str) -> None:
    begin(page, site_url, "test")
    page.evaluate("""() => localStorage.setItem("loftbook.rig", JSON.stringify({ "rig.name": "Stint", "main.bay.depth": "300 mm" }))""")
    page.reload()
    write(page, "test", mass="1.3 g", pins="3", result=THROWN)
    written(page, 1)
    page.evaluate("""() => localStorage.setItem("loftbook.rig", JSON.stringify({ "rig.name": "Stint", "main.bay.depth": "500 mm" }))""")
    page.reload()
    page.locator(".loft-logrow summary").click()
    page.get_by_role("button", name="Correct it").click()
    write(page, "test", note="blue wadding")
    until(page, "document.querySelector('.loft-logrow')?.textContent && document.querySelector('.loft-loglist').dataset.count === '2'")
    entries = [json.loads(one) for one in saved(page, "Save the book to a file").splitlines()]
    assert [one["fields"]["main.bay.depth"] for one in entries] == ["300 mm"] * 2
    assert sorted("replaces" in one for one in entries) == [False, True]


def test_of_several_canopies_it_must_be_said_which_was_looked_over(page: Page, site_url: str) -> None:
    begin(page, site_url, "inspection")
    page.evaluate("""() => localStorage.setItem("loftbook.rig", JSON.stringify({ "rig.start": "two bays, 98 mm", "rig.name": "Stint" }))""")
    page.reload()
    write(page, "inspection", of="canopy", result="sound")
    until(page, "document.querySelector('#log-inspection-about-fault')?.textContent.includes('every one of them')")
    write(page, "inspection", about="main")
    written(page, 1)


def test_a_picture_is_added_small_and_without_what_its_camera_wrote(page: Page, site_url: str, tmp_path: Path) -> None:
    begin(page, site_url, "repack")
    write(page, "repack")
    written(page, 1)
    page.click(".loft-logrow summary")
    until(page, "document.querySelector('.loft-logbody dl')")
    shot = tmp_path / "shot.png"
    page.screenshot(path=shot)
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Add a picture").click()
    chooser.value.set_files(shot)
    until(page, "document.querySelector('.loft-logpicture')?.naturalWidth > 0")
    book = saved(page, "Save the book to a file").splitlines()
    picture = next(json.loads(one) for one in book if '"kind":"picture"' in one)
    assert picture["said"]["picture.data"].startswith("data:image/jpeg;base64,")
    assert page.evaluate(ROWS) == 1


def test_what_is_typed_and_not_written_down_is_there_again(page: Page, site_url: str) -> None:
    begin(page, site_url, "flight")
    page.fill("#log-flight [name='flight.note']", "drogue late, seen by two")
    page.reload()
    until(page, "document.querySelector('#log-flight [name=\"flight.note\"]').value === 'drogue late, seen by two'")
    assert page.locator("#log-flight").is_visible()


def test_where_nothing_can_be_kept_it_is_said_and_can_be_saved(page: Page, site_url: str) -> None:
    page.add_init_script(NO_DATABASE)
    begin(page, site_url, "pull")
    write(page, "pull", force="31 N")
    until(page, f"{NOTE}.includes('keeps no logbook')")
    assert '"pull.force":"31 N"' in saved(page, "Save this entry to a file")
    assert page.input_value("#log-pull [name='pull.force']") == "31 N"


def book_of(count: int) -> str:
    from loftbook.log.entries import Entry, line

    return "\n".join(
        line(Entry(f"2026-01-01T00:00:{i // 1000 % 60:02}.{i % 1000:03}Z", "flight", f"20{10 + i % 17:02}-0{1 + i % 9}-1{i % 10}", "Stint", said={"flight.went": "as planned", "flight.apogee": f"{300 + i} m"}))
        for i in range(count)
    )


def openings(page: Page, url: str, rows: int) -> list[float]:
    """How long the book took to open on several visits [ms], the quickest first."""
    times = []
    for _ in range(6):
        page.goto(f"{url}safety/")
        page.goto(f"{url}logbook/")
        until(page, f"{ROWS} === {rows}")
        times.append(page.evaluate("performance.getEntriesByName('loftbook.book')[0].duration"))
    return sorted(times)


def test_ten_thousand_entries_open_in_no_time(page: Page, site_url: str) -> None:
    """The quickest of six visits, for other work on the machine only adds; and as many as fill one screen take about as long, in the same run."""
    begin(page, site_url, "flight")
    assert f"{FEW} new entries" in opened(page, book_of(FEW))
    few = openings(page, site_url, FEW)
    assert f"{MANY - FEW} new entries" in opened(page, book_of(MANY))
    many = openings(page, site_url, FEW)
    assert many[0] < OPENED, many
    assert many[len(many) // 2] < 3 * few[len(few) // 2], (few, many)
    page.get_by_role("button", name="Show older entries").click()
    until(page, f"{ROWS} === {2 * FEW}")


@pytest.mark.parametrize("seed", range(1))
def test_nothing_that_was_acknowledged_is_lost_in_a_kill(playwright: Playwright, site_url: str, tmp_path: Path, seed: int) -> None:
    """The browser is killed at random moments while entries are written; each time all that was told as kept is there again."""
    path, dice, folder = shutil.which("chromium") or shutil.which("google-chrome"), random.Random(seed), tmp_path / "profile"
    kept: list[str] = []
    one = """async (force) => {
        const form = document.querySelector('#log-pull'), note = document.querySelector('loft-logbook .loft-note');
        if (form.hidden) document.querySelector('.loft-kinds [data-kind=pull]').click();
        note.replaceChildren();
        form.querySelector('[name="pull.force"]').value = force;
        form.requestSubmit(form.querySelector('[type=submit]'));
        while (!note.textContent.includes(force)) await new Promise((resolve) => setTimeout(resolve, 2));
        return force;
    }"""
    for round_ in range(KILLS + 1):
        context = playwright.chromium.launch_persistent_context(folder, executable_path=path, args=CHROMIUM_ARGS, headless=True, service_workers="block")
        page = context.pages[0]
        begin(page, site_url, "pull")
        if kept:
            until(page, f"Number(document.querySelector('.loft-loglist')?.dataset.count) >= {len(kept)}")
            there = saved(page, "Save the book to a file")
            lost = [force for force in kept if f'"pull.force":"{force}"' not in there]
            assert not lost, f"round {round_}: {lost}"
        if round_ == KILLS:
            context.close()
            break
        with_first = page.evaluate(one, f"{round_}.5 N")  # so that the calculators are awake
        kept.append(with_first)
        timer = threading.Timer(dice.uniform(0.02, 1.2), kill, (folder,))
        timer.start()
        try:
            for count in range(1000):
                kept.append(page.evaluate(one, f"{round_}.{count + 1:03}7 N"))
        except Error:
            pass
        timer.join()
        with pytest.raises(Error):
            page.evaluate("1")
        time.sleep(0.3)
    assert len(kept) > 2 * KILLS




def test_what_is_put_aside_closes_the_walk_and_stands_on_the_card(page: Page, site_url: str) -> None:
    begin(page, site_url, "inspection")
    write(page, "inspection", about="", of="cord", result="put aside")
    written(page, 1)
    page.goto(f"{site_url}field/")
    until(page, "document.querySelector('.loft-grounded')?.textContent.includes('Put aside: Cord')")
    page.goto(f"{site_url}card/")
    until(page, "document.querySelector('[data-due]')?.textContent.includes('Put aside: Cord')")
    begin(page, site_url, "repair")
    write(page, "repair", about="", of="cord", note="a new one, of the same webbing")
    written(page, 2)
    write(page, "inspection", about="", of="cord", result="sound")
    written(page, 3)
    page.goto(f"{site_url}field/")
    until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0 && !document.querySelector('.loft-grounded')?.textContent.includes('Put aside')")


def test_a_canopy_kept_by_name_is_fitted_into_another_rig_with_what_was_measured(page: Page, site_url: str) -> None:
    page.goto(site_url)
    rig = {"rig.name": "Stint", "main.canopy.name": "Orange", "main.canopy.size": "1.44 m", "main.pack.density": "0.2 g/cm3", "rig.measured": "main.pack.density"}
    page.evaluate("(rig) => localStorage.setItem('loftbook.rig', JSON.stringify(rig))", rig)
    page.goto(f"{site_url}logbook/")
    page.get_by_role("button", name="Keep this rocket by name").click()
    written(page, 1)
    page.evaluate("(rig) => localStorage.setItem('loftbook.rig', JSON.stringify(rig))", {"rig.name": "Sanderling"})
    page.reload()
    until(page, "document.querySelector('.loft-knownof')?.textContent.includes('Canopy Orange: 1.44 m')")
    page.get_by_role("button", name="Fit it as the canopy of the main").click()
    kept = "JSON.parse(localStorage.getItem('loftbook.rig'))"
    until(page, f"{kept}['main.canopy.name'] === 'Orange'")
    fitted = page.evaluate(kept)
    assert (fitted["rig.name"], fitted["main.canopy.size"], fitted["main.pack.density"], fitted["rig.measured"]) == ("Sanderling", "1.44 m", "0.2 g/cm3", "main.pack.density")
    page.get_by_role("button", name="Open this rocket").click()
    until(page, f"{kept}['rig.name'] === 'Stint'")


def test_from_the_end_of_a_walk_to_an_entry_it_is_two_taps(page: Page, site_url: str) -> None:
    page.goto(f"{site_url}field/")
    link = page.locator("[data-end=ground] a[href*=logbook]")
    page.goto(str(link.evaluate("one => one.href")))  # the first tap; the card is shown once all before it is done
    until(page, "document.querySelector('#log-flight:not([hidden])')")
    page.click("#log-flight button[type=submit]")  # the second
    written(page, 1)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_forms_faults_and_entries_are_for_everybody(chromium: Browser, site_url: str, judge: Callable[..., None], scheme: str) -> None:
    page = chromium.new_context(viewport=PHONE, color_scheme=scheme, service_workers="block").new_page()  # type: ignore[arg-type]
    begin(page, site_url, "flight")
    write(page, "flight", apogee="612")
    until(page, "document.querySelector('#log-flight [aria-invalid]')")
    judge(page)
    write(page, "flight", apogee="612 m")
    written(page, 1)
    write(page, "pull", force="31 N")
    written(page, 2)
    page.get_by_role("button", name="Keep this rocket by name").click()
    written(page, 3)
    until(page, "document.querySelectorAll('.loft-known li').length >= 2")
    page.locator(".loft-logrow summary").last.click()
    until(page, "document.querySelector('.loft-logbody dl')")
    judge(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    small = page.evaluate("[...document.querySelectorAll('loft-logbook :is(button, summary, input, select)')].filter((one) => one.getClientRects().length && one.getBoundingClientRect().height < 44).map((one) => one.outerHTML.slice(0, 80))")
    assert small == []
    page.context.close()
