"""What a reader's search finds: passages, steps and faults first, sources and outside checks last, each at its own place."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from conftest import until
from searching import passages, without_forms

PHONE = {"width": 360, "height": 740}
LAST = {"sources/", "outside-checks/"}


@pytest.fixture(scope="module")
def entries(site: Path) -> list[dict]:
    return json.loads((site / "search" / "search_index.json").read_text())["docs"]


@pytest.fixture
def looking(site_url: str, chromium: Browser) -> Iterator[Page]:
    made = chromium.new_context(viewport=PHONE, service_workers="block")
    yield made.new_page()
    made.close()


def test_a_passage_is_read_with_its_heading_and_without_its_picture() -> None:
    (one,) = passages(
        '<ol><li class="loft-step" id="main-x"><h3>1. Do it <a href="#">#</a></h3><p>First &amp; <strong>last</strong>:</p>'
        '<p>twice.<br>Yes</p><figure><svg><text>12 mm</text></svg><figcaption>Drawn</figcaption></figure></li></ol><p>no</p>'
    )
    assert one["location"] == "#main-x"
    assert one["title"] == "1. Do it"
    assert one["text"] == "First & last : twice. Yes Drawn"
    assert passages('<section class="loft-passage" id="x"><p>no heading</p></section><p id="y">no</p>') == []
    assert without_forms('<form class="a"><formless>') == '<form data-search-exclude="yes" class="a"><formless>'


def test_every_step_and_passage_is_in_the_index_and_its_anchor_in_the_page(site: Path, entries: list[dict]) -> None:
    places = [entry["location"] for entry in entries]
    assert len(set(places)) == len(places)
    for wanted in ("packing/#main-pack-bundle", "packing/#main-pack-close", "folding/#main-fold-lay-out"):
        assert wanted in places
    for entry in entries:
        page, _, anchor = entry["location"].partition("#")
        assert not anchor or f'id="{anchor}"' in (site / page / "index.html").read_text()
        assert "Show units inmetric" not in entry["text"]  # no form
    assert "data-search-exclude" not in (site / "packing" / "index.html").read_text()


def test_sources_and_outside_checks_weigh_least(entries: list[dict]) -> None:
    weights = {entry["location"]: entry.get("boost", 1) for entry in entries}
    last = [weight for place, weight in weights.items() if place.split("#")[0] in LAST]
    others = [weight for place, weight in weights.items() if place.split("#")[0] not in LAST]
    assert max(last) < min(others)
    steps = [weight for place, weight in weights.items() if "-pack-" in place or "-fold-" in place]
    assert min(steps) == max(others)


@pytest.mark.parametrize(("asked", "first"), [
    ("protector", ("packing/", "mistakes/", "separation/", "measure/", "canopy/")), ("bundle", ("packing/", "folding/", "mistakes/")),
    ("slit the tube", ("mistakes/",)), ("vent", ("separation/", "canopy/", "making/", "electronics/", "mistakes/", "inspection/")),
])  # fmt: skip
def test_a_search_lands_on_the_passage(looking: Page, site_url: str, asked: str, first: tuple[str, ...]) -> None:
    looking.goto(f"{site_url}safety/")
    looking.get_by_role("button", name="Search").click()
    looking.get_by_role("textbox", name="Search for").fill(asked)
    until(looking, "document.querySelectorAll('.md-search-result__item').length")
    links = looking.eval_on_selector_all(".md-search-result__item", "rows => rows.map(row => row.querySelector('a').href)")
    pages = [link.removeprefix(site_url).split("#")[0].split("?")[0] for link in links]
    assert pages[0] in first
    for late in LAST & set(pages):
        assert pages.index(late) >= len([page for page in pages if page not in LAST])
    looking.locator(".md-search-result__item a").first.click()
    until(looking, f"location.href.startsWith({json.dumps(site_url + pages[0])})")
