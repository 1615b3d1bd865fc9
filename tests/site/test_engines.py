"""The memory image boots in every engine that browsers are made of: it is made by one of them, and must hold nothing of that one."""

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from engines import ENGINES, Engine
from playwright.sync_api import Page

from loftbook.faces.live import answer

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")]  # selenium's own

KEPT = "document.querySelector('loft-offline')?.dataset.standing === 'ready'"
ANSWERED = "Number(document.querySelector('.loft-answer')?.dataset.answer) > 0"
# Asks through the page's own messenger, and so the worker that the page itself has started.
ASK = """(async () => {
  const { ask, onState } = await import(new URL("assets/live/messenger.js", BASE));
  const reply = await ask(REQUEST, { timeout: 60000 });
  let state;
  onState((now) => (state = now))();
  return { how: state.how, message: state.message, reply };
})()"""
REQUEST = json.dumps({"do": "numbers", "calculator": "plan", "fields": {}})  # every calculator's


class Chromium:
    def __init__(self, page: Page) -> None:
        self.open, self.js = page.goto, page.evaluate


@pytest.fixture(params=["chromium", *ENGINES])
def engine(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    if request.param == "chromium":
        yield Chromium(request.getfixturevalue("page"))
    else:
        with ENGINES[request.param](tmp_path) as started:
            yield started


def until(engine: Engine, expression: str, timeout: float = 60.0) -> None:
    end = time.monotonic() + timeout
    while not engine.js(expression):
        assert time.monotonic() < end, f"not so after {timeout:g} s: {expression}"
        time.sleep(0.1)


def assert_live_from_the_image(engine: Engine, base: str) -> None:
    """The page's own first answer is in place, and one more is that of this very core."""
    until(engine, ANSWERED)
    found = engine.js(ASK.replace("BASE", json.dumps(base)).replace("REQUEST", REQUEST))
    assert (found["how"], found["message"]) == ("snapshot", "")
    assert found["reply"] == json.loads(answer(REQUEST))


def test_answers_from_the_image_on_a_first_visit_and_with_the_server_gone(engine: Engine, site: Path, killable) -> None:
    server = killable(site)
    engine.open(server.url + "folding/")
    assert_live_from_the_image(engine, server.url)
    until(engine, KEPT)
    server.kill()
    engine.open(server.url + "plan/")
    assert_live_from_the_image(engine, server.url)
