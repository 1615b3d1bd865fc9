"""The core gives the same answers, character by character, under CPython and in the browser's Python.

Any difference would show in a figure sooner or later: replies are compared as the texts they are, before any parsing.
Playwright runs in a thread of its own, so that it does not meet the one that other tests may have running.
"""

import importlib.util
import json
import os
import shutil
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

import pytest
from cases import CASES, NAMES, label

from loftbook.calculators import CALCULATORS
from loftbook.errors import Refusal
from loftbook.faces.live import answer
from loftbook.quantity import Kind, read
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.ways import WAYS

ROOT = Path(__file__).resolve().parents[2]
AT_LEAST = 1200
AT_ONCE = 200  # requests that the page is given at a time: replies are long

# Asks through the page's own messenger, but notes each reply as the text the worker sent; the messenger parses it.
ASK_ALL = """async ({ base, requests }) => {
  if (!self.told) {
    const told = (self.told = []);
    const Real = self.Worker;
    self.Worker = class extends Real {
      constructor(...given) {
        super(...given);
        this.addEventListener("message", ({ data }) => data.kind === "answer" && told.push(data.text));
      }
    };
  }
  const { ask } = await import(new URL("assets/live/messenger.js", base));
  const replies = [];
  for (const request of requests) {
    self.told.length = 0;
    const reply = await ask(request, { timeout: 120000 });
    if (self.told.length !== 1) throw new Error("a reply came from elsewhere");
    replies.push({ text: self.told[0], reply: JSON.stringify(reply) });
  }
  return replies;
}"""

# Answers requests in a Python of its own.
ASK_ELSEWHERE = """
import json, sys
from loftbook.faces.live import answer
json.dump([answer(text) for text in json.load(sys.stdin)], sys.stdout)
"""


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
        batches = (requests[i : i + AT_ONCE] for i in range(0, len(requests), AT_ONCE))
        return [reply for batch in batches for reply in page.evaluate(ASK_ALL, {"base": url, "requests": batch})]


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


@cache
def here(index: int) -> str:
    """The answer of this Python to a case."""
    return answer(as_sent(CASES[index]))


# --- the cases themselves ---------------------------------------------------------------------------


def test_the_cases_are_many_different_and_reach_everything() -> None:
    assert len({json.dumps(case, sort_keys=True) for case in CASES}) == len(CASES) >= AT_LEAST
    asked = Counter((case.get("do"), case.get("calculator")) for case in CASES)
    for name in NAMES:
        assert asked["numbers", name] >= 2
        assert asked["calculate", name] >= 2
        assert asked["more", name] == asked["calculate", name]
    assert asked["read", None] >= 25
    assert asked["write", None] >= 20
    assert asked["walk", None] >= len(WAYS)
    assert asked["card", None] >= len(WAYS)


def test_every_calculator_is_asked_about_everything_in_every_way_from_every_rig_in_both_systems() -> None:
    def asked(way: str, start: str, system: str) -> set[tuple[object, object]]:
        fields = {"flight.way": way, "rig.start": start, "rig.units": system}
        return {(case.get("calculator"), case.get("bay")) for case in CASES if case.get("fields") == fields}

    for way, there in WAYS.items():
        wanted = {(name, key) for name, one in CALCULATORS.items() for key in one.keys(there)}
        for start in STARTS:
            for system in FIELDS["rig.units"].choices:
                assert wanted <= asked(way, start, system), (way, start, system)


def test_every_field_stands_at_both_ends_and_at_every_choice() -> None:
    typed: dict[str, set[str]] = {path: set() for path in FIELDS}
    for case in CASES:
        fields = case.get("fields")
        for path, text in fields.items() if isinstance(fields, dict) else ():
            typed.setdefault(path, set()).add(str(text))
    for path, field in FIELDS.items():
        assert set(field.choices) <= typed[path], path
        if field.kind:
            assert {field.low, field.high} <= set(_numbers(typed[path], field.kind)), path


def _numbers(texts: set[str], kind: Kind) -> Iterator[float]:
    for text in texts:
        with suppress(Refusal):
            yield read(text, kind)


def test_the_cases_are_answered_some_with_results_and_some_with_faults() -> None:
    replies = [json.loads(here(index)) for index in range(len(CASES))]
    good = sum(reply["ok"] for reply in replies)
    assert good >= 1000
    assert len(replies) - good >= 100
    assert all(reply["ok"] or reply["faults"] for reply in replies)


def test_no_answer_hangs_on_what_was_asked_before() -> None:
    """A third of the cases in a Python of its own, the last first, another order in its sets: the same texts.

    What the core remembers is only for speed.
    """
    picked = range(len(CASES) - 1, -1, -3)
    done = subprocess.run(
        [sys.executable, "-c", ASK_ELSEWHERE],
        input=json.dumps([as_sent(CASES[index]) for index in picked]),
        env=os.environ | {"PYTHONPATH": str(ROOT / "calc"), "PYTHONHASHSEED": "4321"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    for index, there in zip(picked, json.loads(done.stdout), strict=True):
        assert there == here(index), f"{label(CASES[index])}: {difference(there, here(index))}"


# --- the same in the browser --------------------------------------------------------------------------


@pytest.mark.browser
def test_as_many_replies_as_cases_came_from_the_browser(from_browser: list[dict[str, str]]) -> None:
    assert len(from_browser) == len(CASES) >= AT_LEAST


@pytest.mark.browser
@pytest.mark.parametrize("index", range(len(CASES)), ids=lambda index: f"{index}-{label(CASES[index])[:70]}")
def test_both_pythons_give_the_same_text(index: int, from_browser: list[dict[str, str]]) -> None:
    there = from_browser[index]["text"]
    assert there == here(index), difference(there, here(index))


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
    return f"at {at}: there …{there[max(0, at - 60) : at + 60]}… here …{here[max(0, at - 60) : at + 60]}…"
