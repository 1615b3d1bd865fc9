"""Below a path, and on servers that are not ours: what the page for whoever hosts the guide says."""

import hashlib
import json
import os
import re
import socket
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import Page

import build
from conftest import serving, until

pytestmark = pytest.mark.browser
LIVE = "Number(document.querySelector('.loft-answer')?.dataset.answer) > 0"
KEPT = "document.querySelector('loft-offline')?.dataset.standing === 'ready'"


def test_a_page_that_is_not_there_finds_the_guide_above_it(page: Page, site: Path) -> None:
    with serving(site, under="/some/club/") as url:
        answer = page.goto(f"{url}no/such/page/")
        assert answer
        assert answer.status == 404
        until(page, f"document.querySelector('a').href === {json.dumps(url)} && document.styleSheets.length === 3")
    text = (site / "404.html").read_text()
    assert not re.findall(r'(?:src|href)="(?!/"|data:,)', text)  # nothing in it says where it stands


def test_below_a_path_of_pythons_own_server_all_works_and_with_it_gone(page: Page, site: Path, tmp_path: Path) -> None:
    (tmp_path / "guide").symlink_to(site)
    with socket.socket() as probe:
        probe.bind(("localhost", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen([sys.executable, "-m", "http.server", str(port), "-d", str(tmp_path), "-b", "localhost"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        time.sleep(1)
        url = f"http://localhost:{port}/guide/"
        page.goto(f"{url}folding/")
        until(page, LIVE)
        until(page, KEPT)
    finally:
        server.kill()
        server.wait()
    page.goto(f"{url}plan/")
    until(page, LIVE)


def test_the_same_site_is_the_same_archive(site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(build, "ROOT", tmp_path)
    (tmp_path / "scripts").mkdir()
    (tmp_path / "scripts" / "server.py").write_text("# a server\n")
    first = hashlib.sha256(build.archive(site).read_bytes()).hexdigest()
    os.utime(tmp_path / "scripts" / "server.py", (1, 1))
    again = build.archive(site)
    assert hashlib.sha256(again.read_bytes()).hexdigest() == first
    with zipfile.ZipFile(again) as packed:
        assert {name.partition("/site/")[2] for name in packed.namelist() if "/site/" in name} == build.files_of(site)


def test_whose_work_is_handed_on_is_told_with_it(page: Page, site_url: str, site: Path) -> None:
    page.goto(f"{site_url}host/")
    with page.expect_response("**/notices.txt") as told:
        page.get_by_role("link", name="one text beside the pages").click()
    text = told.value.text()
    wheels = {file.name.split("-")[0].replace("_", "-") for file in site.glob("assets/live/runtime/*/*.whl")} - {"loftbook"}
    assert len(wheels) > 3
    for name in {*wheels, "pyodide", "mkdocs-material", "workbox-core", "idb"}:
        assert re.search(rf"^--- {name} \d", text, re.M), name
    assert text.count("Permission is hereby granted") > 4


def test_the_manifest_leads_to_pages_that_are_there(site: Path) -> None:
    told = json.loads((site / "assets/icons/loftbook.webmanifest").read_text())
    for address in (told["start_url"], *(one["url"] for one in told["shortcuts"])):
        assert (site / "assets/icons" / address / "index.html").resolve().is_file(), address


def test_where_a_browser_offers_to_install_a_button_does_it(page: Page, site_url: str) -> None:
    page.goto(f"{site_url}safety/")
    assert page.get_by_role("button", name="Put it on this device").count() == 0
    page.evaluate("() => { const offered = new Event('beforeinstallprompt', { cancelable: true }); offered.prompt = () => (self.asked = true); dispatchEvent(offered); }")
    page.get_by_role("button", name="Put it on this device").click()
    assert page.evaluate("self.asked")
    assert page.get_by_role("button", name="Put it on this device").count() == 0
