"""The core gives the same answers, character by character, under CPython and in the browser's Python.

Any difference would show in a figure sooner or later: replies are compared as the texts they are, before any parsing.
Playwright runs in a thread of its own, so that it does not meet the one that other tests may have running.
"""

import importlib.util
import json
import shutil
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from cases import CASES, NAMES, label

from loftbook.faces.live import answer

ROOT = Path(__file__).resolve().parents[2]
AT_LEAST = 300

# Asks through the page's own messenger, but notes each reply as the text the worker sent; the messenger parses it.
ASK_ALL = """async ({ base, requests }) => {
  const texts = new Map();
  const Real = self.Worker;
  self.Worker = class extends Real {
    constructor(...given) {
      super(...given);
      this.addEventListener("message", ({ data }) => data.kind === "answer" && texts.set(data.number, data.text));
    }
  };
  const { ask } = await import(new URL("assets/live/messenger.js", base));
  const replies = [];
  for (const request of requests) {
    const before = texts.size;
    const reply = await ask(request, { timeout: 120000 });
    if (texts.size !== before + 1) throw new Error("a reply came from elsewhere");
    replies.push({ text: [...texts.values()].at(-1), reply: JSON.stringify(reply) });
  }
  return replies;
}"""


def shared() -> object:
    """How the other browser tests start Chromium."""
    spec = importlib.util.spec_from_file_location("site_conftest", ROOT / "tests" / "site" / "conftest.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    from server import make_server

    server = make_server(folder)
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    yield f"http://localhost:{server.server_address[1]}/"
    server.shutdown()
    server.server_close()


def in_browser(site: Path, requests: list[dict[str, object]]) -> list[dict[str, str]]:
    from playwright.sync_api import sync_playwright

    path = shutil.which("chromium") or shutil.which("google-chrome")
    assert path, "Chromium is needed"
    with serving(site) as url, sync_playwright() as playing:
        browser = playing.chromium.launch(executable_path=path, args=shared().CHROMIUM_ARGS)
        page = browser.new_page()
        page.goto(url + "404.html")  # a page without a calculator, so that all questions are ours
        return page.evaluate(ASK_ALL, {"base": url, "requests": requests})


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built site if it holds the very core that is tested here; otherwise one built aside."""
    import runtime

    built = ROOT / "site"
    if not _holds(built, runtime.ingredients()):
        built = tmp_path_factory.mktemp("parity") / "site"
        code = f"import sys; sys.path.insert(0, 'scripts'); import build, pathlib; build.build(pathlib.Path({str(built)!r}))"
        subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
    assert _holds(built, runtime.ingredients()), "the core changed while the site was built"
    return built


def _holds(built: Path, core: str) -> bool:
    """Whether the scripts of a site name this core: the build writes it where the worker reads it."""
    return any(json.dumps(core) in file.read_text("utf-8") for file in (built / "assets/live").glob("*.js"))


@pytest.fixture(scope="module")
def from_browser(site: Path) -> list[dict[str, str]]:
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(in_browser, site, CASES).result()


# --- the cases themselves ---------------------------------------------------------------------------


def test_the_cases_are_many_different_and_reach_everything() -> None:
    assert len(CASES) >= AT_LEAST
    assert len({json.dumps(case, sort_keys=True) for case in CASES}) >= AT_LEAST
    asked = Counter((case.get("do"), case.get("calculator")) for case in CASES)
    for name in NAMES:
        assert asked["numbers", name] >= 2
        assert asked["calculate", name] >= 2
    assert asked["read", None] >= 25
    assert asked["write", None] >= 20


def test_the_cases_are_answered_some_with_results_and_some_with_faults() -> None:
    replies = [json.loads(answer(json.dumps(case))) for case in CASES]
    good = sum(reply["ok"] for reply in replies)
    assert good >= 200
    assert len(replies) - good >= 60
    assert all(reply["ok"] or reply["faults"] for reply in replies)


@pytest.mark.parametrize("index", range(0, len(CASES), 20))
def test_the_same_question_has_the_same_answer_again(index: int) -> None:
    """Nothing that was asked before changes a reply (what the core remembers is only for speed)."""
    request = json.dumps(CASES[index])
    assert answer(request) == answer(request)


# --- the same in the browser --------------------------------------------------------------------------


@pytest.mark.browser
def test_as_many_replies_as_cases_came_from_the_browser(from_browser: list[dict[str, str]]) -> None:
    assert len(from_browser) == len(CASES) >= AT_LEAST


@pytest.mark.browser
@pytest.mark.parametrize("index", range(len(CASES)), ids=lambda index: f"{index}-{label(CASES[index])[:70]}")
def test_both_pythons_give_the_same_text(index: int, from_browser: list[dict[str, str]]) -> None:
    here = answer(as_sent(CASES[index]))
    there = from_browser[index]["text"]
    assert there == here, difference(there, here)


@pytest.mark.browser
def test_what_the_page_gets_is_what_the_worker_sent(from_browser: list[dict[str, str]]) -> None:
    """The messenger's parsing loses nothing: no number changes on the way into the page."""
    for got in from_browser:
        assert json.loads(got["reply"]) == json.loads(got["text"])


def as_sent(request: dict[str, object]) -> str:
    """The text that the messenger makes of a request."""
    return json.dumps(request, ensure_ascii=False, separators=(",", ":"))


def difference(there: str, here: str) -> str:
    """The first place where two replies part."""
    at = next((i for i, (a, b) in enumerate(zip(there, here, strict=False)) if a != b), min(len(there), len(here)))
    return f"at {at}: browser …{there[max(0, at - 60) : at + 60]}… CPython …{here[max(0, at - 60) : at + 60]}…"
