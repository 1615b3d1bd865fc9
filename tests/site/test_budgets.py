"""What may be fetched and how long a click may take: what scripts/speed.py wants, as far as it can be told on any machine."""

from collections.abc import Iterator
from math import inf
from pathlib import Path
from statistics import median

import pytest
from playwright.sync_api import Browser, BrowserContext, Playwright

from bench_live import CALCULATOR, NO_WORKER, fetched, first_answer
from bench_next import GOAL, clicked
from conftest import launch, until
from runtime import CUT, IMAGE
from speed import MEGABYTES

pytestmark = pytest.mark.browser
MOST_FILES = 21
PAGES = ("plan/", "packing/", "loads/")


@pytest.fixture(scope="module")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """As readers have it: what is compiled again counts."""
    with launch(playwright) as browser:
        yield browser


def test_a_first_visit_fetches_no_more_than_it_may(context: BrowserContext, site: Path, site_url: str) -> None:
    asked: set[str] = set()
    context.on("request", lambda request: asked.add(request.url))
    page = context.new_page()
    page.add_init_script(NO_WORKER)
    page.goto(site_url + CALCULATOR)
    until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")
    found = fetched(asked, site_url, site, ("gzip",))
    for part in (IMAGE, *CUT):
        assert any(address.endswith(f"/{part}") for address in asked)
    assert found["gzip"] / 1e6 <= MEGABYTES["gzip"]
    assert 10 < found["files"] <= MOST_FILES


def test_the_next_page_answers_long_before_one_that_is_loaded_anew(context: BrowserContext, site_url: str) -> None:
    """Twice what is wanted of a quiet machine, of each page the quickest of up to five: beside other work a click now and then waits."""
    best = dict.fromkeys(PAGES, (inf, inf))
    for _ in range(5):
        for path, (lead, _whole) in clicked(context, site_url, PAGES).items():
            best[path] = min(best[path][0], lead), min(best[path][1], first_answer(context, site_url + path)[0])
        by_click, anew = (median(side) for side in zip(*best.values(), strict=True))
        if by_click <= 2 * GOAL * anew:
            break
    assert by_click <= 2 * GOAL * anew
