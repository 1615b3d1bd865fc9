"""The job end to end: a tube is changed on the plan page and in a file; with the server gone all of it still works."""

import io
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader
from test_offline import open_and_keep
from test_pages import open_all, type_in

from conftest import ROOT, until
from loftbook.rig.fields import DEFAULTS
from loftbook.rig.files import to_toml
from loftbook.rig.ways import TWO_BAYS

pytestmark = pytest.mark.browser

LIVE = "Number(document.querySelector('.loft-answer').dataset.answer) > 0"
CHECKS = """Object.fromEntries([...document.querySelectorAll('.loft-check')].map((c) =>
    [`${c.dataset.bay ?? ''}.${c.dataset.check}`, c.textContent]))"""


def pictures(page: Page) -> list[str]:
    return page.evaluate("[...document.querySelectorAll('.loft-whole figure > svg')].map((svg) => svg.outerHTML)")


def test_another_tube_changes_folds_stack_and_checks_as_the_same_file_does(
    chromium: Browser, site_url: str, tmp_path: Path
) -> None:
    page = chromium.new_page()
    page.goto(f"{site_url}plan/")
    until(page, LIVE)
    open_all(page)
    before, drawn = page.evaluate(CHECKS), pictures(page)
    type_in(page, "main.bay.tube", "54 mm")
    until(page, "document.querySelector('[data-check=bundle-fits][data-bay=main]').dataset.verdict === 'fail'")
    after = page.evaluate(CHECKS)
    changed = [new for old, new in zip(drawn, pictures(page), strict=False) if old != new]
    assert len(changed) >= 4  # the bundle in its tube, the last folds, the packed bay, the bay among the others
    assert any("packed bay" in svg for svg in changed)
    assert any("layers" in svg for svg in changed)
    page.close()

    rig = tmp_path / "rig.toml"
    rig.write_text(to_toml({"rig.start": DEFAULTS["rig.start"], "main.bay.tube": "54 mm"}), "utf-8")
    command = [sys.executable, "-m", "loftbook.faces.command", "plan", str(rig), "--json"]
    done = subprocess.run(command, cwd=ROOT / "calc", capture_output=True, text=True, check=False)
    assert done.returncode == 1
    told = {f"{check['bay']}.{check['name']}": check["reason"] for check in json.loads(done.stdout)["checks"]}
    assert set(told) == set(after)
    for name, reason in told.items():
        assert reason in after[name], name
    different = {name for name in told if before[name] != after[name]}
    assert different >= {"main.bundle-fits", "main.bay-holds-all", "main.line-wraps"}
    assert not [name for name in different if name.startswith("drogue.")]  # a bay of its own


def test_with_the_server_gone_the_plan_answers_and_prints(page: Page, site: Path, killable: Callable[..., object]) -> None:
    """That every calculator answers then is in test_offline.py."""
    server = killable(site)
    open_and_keep(page, server.url)  # type: ignore[attr-defined]
    server.kill()  # type: ignore[attr-defined]
    page.goto(f"{server.url}plan/")  # type: ignore[attr-defined]
    until(page, LIVE)
    open_all(page)
    type_in(page, "rocket.mass", "5.31 kg")
    until(page, "document.querySelector('.loft-whole').textContent.includes('5.31 kg needs')")
    read = PdfReader(io.BytesIO(page.pdf()))
    printed = " ".join(sheet.extract_text() for sheet in read.pages)
    for words in (DEFAULTS["rig.name"], "5.31 kg", "Touchdown rate", "The bundle", "Black powder", "Recovery cord",
                  "Fold it: drogue", "Fold it: main", "Pack it: drogue", "Pack it: main", "One thing fails at a time"):  # fmt: skip
        assert words in printed


def test_a_rig_with_drogue_and_main_is_planned_live_in_time(chromium: Browser, site_url: str) -> None:
    """8 kg, 100 mm tube, 1,500 m: loads, chain, separation and scatter in the page, in under 400 ms after typing."""
    page = chromium.new_page()
    page.goto(f"{site_url}plan/")
    until(page, LIVE)
    open_all(page)
    rig = {
        "rocket.mass": "8 kg", "rocket.length": "2.6 m", "main.bay.tube": "100 mm", "main.bay.depth": "700 mm",
        "main.canopy.size": "2.4 m", "main.lines.length": "2.4 m", "flight.apogee": "1500 m",
    }  # fmt: skip
    assert page.input_value("select[name='flight.way']") == TWO_BAYS
    for path, text in rig.items():
        type_in(page, path, text)
    until(page, "document.querySelector('.loft-whole').textContent.includes('From 1500 m')")
    page.evaluate(
        "window.put = 0; new MutationObserver(() => (window.put = performance.now())).observe(document, "
        "{subtree: true, attributes: true, attributeFilter: ['data-answer']})"
    )
    times = []
    for text in ("8.1 kg", "8.2 kg", "8.3 kg", "8.4 kg", "8.5 kg", "8.6 kg", "8.7 kg"):
        page.evaluate("window.put = 0; addEventListener('input', () => (window.typed = performance.now()), {once: true, capture: true})")
        type_in(page, "rocket.mass", text)
        until(page, "window.put > window.typed")
        times.append(page.evaluate("window.put - window.typed"))
    words = page.text_content(".loft-whole")  # what is far from the screen is not laid out
    for name in ("Opening load, three ways", "The chain, weakest first", "Ground-test ladder", "9 of 10 come down within"):
        assert name in words
    assert sorted(times)[len(times) // 2] < 400, times
    page.close()
