"""What is typed and ticked is on the disk within a second: a browser that is killed loses nothing older, and says so where nothing can be kept."""

import os
import random
import shutil
import time
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright

from conftest import CHROMIUM_ARGS, NO_DATABASE, kill, until
from sweeps import WHOLE

pytestmark = pytest.mark.browser
KILLS = int(os.environ.get("LOFTBOOK_KILLS", "100" if WHOLE else "5"))  # a hundred by hand
SAID = 1.0  # s after which a typed text is on the disk
MASS = "document.querySelector('[data-field=\"rocket.mass\"] input')"
FULL = "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError') };"


def test_what_was_typed_and_ticked_a_second_before_a_kill_is_there(playwright: Playwright, site_url: str, tmp_path: Path) -> None:
    path, dice, folder = shutil.which("chromium") or shutil.which("google-chrome"), random.Random(3), tmp_path / "profile"
    typed, ticked = "", set[str]()
    for round_ in range(KILLS + 1):
        context = playwright.chromium.launch_persistent_context(folder, executable_path=path, args=CHROMIUM_ARGS, headless=True, service_workers="block")
        page = context.pages[0]
        if typed:
            page.goto(f"{site_url}field/")
            until(page, f"[...document.querySelectorAll('input[data-item]:checked')].length >= {len(ticked)}")
            assert set(page.evaluate("[...document.querySelectorAll('input[data-item]:checked')].map((one) => one.dataset.item)")) >= ticked
            page.goto(f"{site_url}plan/")
            until(page, f"{MASS}.value === {typed!r}", timeout=15)
        if round_ == KILLS:
            context.close()
            break
        page.goto(f"{site_url}field/")
        until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")
        box = page.evaluate("(() => { const [one] = [...document.querySelectorAll('[data-chain=ground] input[data-item]:not(:checked)')]; one?.click(); return one?.dataset.item ?? '' })()")
        ticked |= {box} - {""}
        page.goto(f"{site_url}plan/")
        until(page, f"{MASS}?.closest('loft-calculator')?.querySelector('.loft-state')")
        typed = f"5.{round_}{dice.randrange(10)}1 kg"
        page.evaluate("text => { const one = " + MASS + "; one.value = text; one.dispatchEvent(new Event('input', {bubbles: true})) }", typed)
        time.sleep(SAID + dice.uniform(0, 0.5))
        kill(folder)
        time.sleep(0.3)
    assert ticked


def test_what_a_page_was_left_with_before_it_was_on_the_disk_the_next_page_writes(page: Page, site_url: str) -> None:
    """localStorage is on the disk some seconds later: who leaves a page at once has his text in there alone."""
    page.goto(f"{site_url}plan/")
    until(page, MASS)
    page.evaluate("localStorage.setItem('loftbook.walk', 'left'), localStorage.setItem('loftbook.turns', JSON.stringify({'loftbook.walk': Date.now()}))")
    page.goto(f"{site_url}loads/")
    until(page, """new Promise((done) => { const open = indexedDB.open("loftbook"); open.onsuccess = () => {
      const get = open.result.transaction("typed").objectStore("typed").get("loftbook.walk"); get.onsuccess = () => { open.result.close(); done(get.result?.text === "left"); }; } })""")


def test_where_local_storage_is_full_the_database_keeps_it(page: Page, site_url: str) -> None:
    page.add_init_script(FULL)
    page.goto(f"{site_url}plan/")
    until(page, MASS)
    page.evaluate("() => { const one = " + MASS + "; one.value = '5.31 kg'; one.dispatchEvent(new Event('input', {bubbles: true})) }")
    time.sleep(SAID)
    page.goto(f"{site_url}loads/")
    page.goto(f"{site_url}plan/")
    until(page, f"{MASS}.value === '5.31 kg'")
    assert "kept in this browser" in page.inner_text("loft-rigbar")


def test_where_nothing_can_be_kept_the_next_page_says_that_its_figures_are_older(page: Page, site_url: str) -> None:
    page.add_init_script(NO_DATABASE + FULL)
    page.goto(f"{site_url}plan/")
    until(page, MASS)
    page.evaluate("() => { const one = " + MASS + "; one.value = '5.31 kg'; one.dispatchEvent(new Event('input', {bubbles: true})) }")
    until(page, "document.querySelector('.loft-kept')?.textContent.includes('keeps nothing')")
    page.goto(f"{site_url}loads/")
    until(page, "document.querySelector('.loft-kept')?.textContent.includes('these are older figures')")


def test_what_another_tab_typed_is_here_too(page: Page, site_url: str) -> None:
    page.goto(f"{site_url}plan/")
    until(page, MASS)
    other = page.context.new_page()
    other.goto(f"{site_url}plan/")
    until(other, MASS)
    other.evaluate("() => { const one = " + MASS + "; one.value = '5.47 kg'; one.dispatchEvent(new Event('input', {bubbles: true})) }")
    until(page, f"{MASS}.value === '5.47 kg'")
