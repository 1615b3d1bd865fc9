"""The pages that people land on, in every engine that browsers are made of: live, honest about what they keep, and without an error.

Each case is one browser that goes from page to page as a reader does: a page must answer from the core, as booted as the case wants;
what was typed on the page before must be there, or the page says that it is not kept; and nothing may go wrong in silence. What was
found is printed as a table at the end of the run (conftest.py). The memory image is made by one engine and must hold nothing of it.
"""

import json
import os
import re
import shutil
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import NamedTuple

import pytest

import build
from conftest import GUIDE, KillableServer, serving
from engines import ENGINES, NO_ROOM, WITNESS, Engine, Wish, chromium
from loftbook.faces.live import answer
from sweeps import WHOLE

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")]  # selenium's own

ANSWERED = "Number(document.querySelector('.loft-answer')?.dataset.answer) > 0"
NAMES = ["chromium", *ENGINES]
EVERY = WHOLE or os.environ.get("LOFTBOOK_ENGINES") == "all"  # every case in every engine; the suite has few of the slow ones
# In the order in which they are opened; the rocket gets its name on the first.
LANDED = ["plan/", "start/", "folding/", "", "card/", "step/", "field/", "logbook/"] if EVERY else ["plan/", "folding/"]
AGAIN = ["plan/", "", "field/", "logbook/"]  # each shows something else of what was kept
NAME = '[name="rig.name"]'
TYPED = {
    "plan/": {NAME: "Engine trial", '[name="rocket.mass"]': "5.43 kg"},
    "start/": {'[name="main.bay.tube"]': "97 mm"},
    "folding/": {'[name="main.canopy.size"]': "1.31 m"},
    "field/": {"input[data-name]": "Ada Plain"},
    "logbook/": {'#log-flight [name="flight.note"]': "seen by two"},
}

# Every part of the page has its own answer from the core; the home page asks only of a rig that is not the demo's.
LIVE = """(() => {
  const parts = [...document.querySelectorAll("loft-calculator, loft-handout")].map((one) => one.querySelector(".loft-answer"));
  const list = document.querySelector("loft-logbook .loft-loglist");
  return parts.every(({ dataset, classList }) => Number(dataset.answer) > 0 && !classList.contains("loft-stale")) && (!list || list.childElementCount > 0);
})()"""
# Asks through the page's own messenger, and so the worker that the page itself has started.
ASK = """(async () => {
  const { ask, onState } = await import(new URL("assets/live/messenger.js", BASE));
  const reply = await ask(REQUEST, { timeout: 60000 });
  let state;
  onState((now) => (state = now))();
  return { how: state.how, reply };
})()"""
ONE, ALL = (json.dumps({"do": "numbers", "calculator": name, "fields": {}}) for name in ("folding", "plan"))
# Whether all that was typed stands in its controls, and over pages without one the rocket's name; the home page says whose rocket it is.
THERE = """((typed, name) => {
  const home = document.querySelector("loft-home .loft-whose");
  const bar = document.querySelector("loft-rigbar strong")?.textContent;
  const same = ([where, text]) => (document.querySelector(where)?.value ?? text) === text;
  return Object.entries(typed).every(same) && (!name || (home ? !home.dataset.demo : bar === name));
})(TYPED, NAME)"""
TYPE = """(() => {
  document.querySelector(".loft-kinds [data-kind=flight]")?.click();
  for (const [where, text] of Object.entries(TEXTS)) {
    const control = document.querySelector(where);
    control.value = text;
    control.dispatchEvent(new Event("input", { bubbles: true }));
  }
})()"""
# What a page says of keeping: the walk-through and the logbook speak up only where it is not so.
SAYS = {
    "field/": "document.querySelector('.loft-said').textContent.includes('keeps nothing') ? 'not kept' : 'kept'",
    "logbook/": "document.querySelector('loft-logbook .loft-trouble') ? 'not kept' : 'kept'",
}
BAR_SAYS = """document.querySelector('loft-rigbar .loft-trouble') ? 'not kept' :
  document.querySelector('loft-rigbar').textContent.includes('kept in this browser') ? 'kept' : 'nothing'"""
STANDING = "document.querySelector('loft-offline').dataset.standing"
WORKERS = """navigator.serviceWorker?.getRegistration().then((one) => [document.querySelector("loft-offline").textContent,
  ...["installing", "waiting", "active"].map((what) => `${what}: ${one?.[what]?.state}`)].join(", "), String)"""
EMPTY = "empty.html"  # nothing runs there, and it names its icon: a browser would ask for one that is not there, and say so on a later page
FILL = """(() => {
  try {
    for (let size = 2 ** 22; size >= 1; ) {
      try {
        localStorage.setItem(`filler ${Math.random()}`, "x".repeat(size));
      } catch {
        size = Math.floor(size / 2);
      }
    }
  } catch {}
})()"""


# What an engine says itself where a page asks for what it may not have; the page has the refusal too, and tells it.
OWN_WORDS = re.compile("Failed to register/update a ServiceWorker for scope .*: Storage access is restricted")


def until(engine: Engine, expression: str, wanted: object = True, timeout: float = 60.0) -> None:
    end = time.monotonic() + timeout
    while (found := engine.js(expression)) != wanted:
        assert time.monotonic() < end, f"{found!r} and not {wanted!r} after {timeout:g} s: {expression}"
        time.sleep(0.05)


class Reader:
    """Goes from page to page, types where one can, and notes what became of it."""

    def __init__(self, engine: Engine, base: str, note: Callable[[str, str], None], kept: bool = True, how: str = "snapshot") -> None:
        self.engine, self.base, self.note, self.how = engine, base, note, how
        self.says = "kept" if kept else "not kept"
        self.typed: dict[str, str] = {}
        self.faults: list[str] = []

    def look(self, page: str) -> str:
        """Opens a page; what is live there, and what it says of the things typed on the pages before."""
        self.engine.open(self.base + page)
        until(self.engine, LIVE)
        request = ALL if page == "plan/" else ONE  # all takes long
        found = self.engine.js(ASK.replace("BASE", json.dumps(self.base)).replace("REQUEST", request))
        assert found["how"] == self.how
        assert found["reply"] == json.loads(answer(request))
        there = THERE.replace("TYPED", json.dumps(self.typed)).replace("NAME", json.dumps(self.typed.get(NAME, "")))
        if not self.typed:
            return "live"
        if self.says == "kept":
            until(self.engine, there, timeout=30)
            return "live, typed is here"
        assert not self.engine.js(there), "it is said not to be kept and is here"
        if page == "":  # no form, no bar: the demo's rocket must not pass for the reader's own
            assert self.engine.js("document.querySelector('loft-home .loft-whose').dataset.demo")
            return "live, says it is the demo's"
        until(self.engine, BAR_SAYS, "not kept", timeout=30)
        return "live, says not kept"

    def type(self, page: str) -> str:
        self.engine.js(TYPE.replace("TEXTS", json.dumps(TYPED[page])))
        self.typed |= TYPED[page]
        until(self.engine, SAYS.get(page, BAR_SAYS), self.says, timeout=30)
        return f"typed: {self.says}"

    def visit(self, page: str, typing: bool = True) -> None:
        """A cell of the table; a fault stands in it, and the tour goes on."""
        try:
            told = self.look(page)
            if typing and page in TYPED:
                told += f"; {self.type(page)}"
            wrong = [error for error in self.engine.errors() if not OWN_WORDS.search(error)]
            assert not wrong, f"logs {wrong}"
        except AssertionError as fault:
            told = f"FAILS: {str(fault).splitlines()[0]}"
            self.faults.append(f"/{page} {fault}")
        self.note(f"/{page}", told)

    def tour(self, pages: list[str], typing: bool = True) -> None:
        for page in pages:
            self.visit(page, typing)

    def offline(self, *wanted: str) -> None:
        """How it stands with the device at last: what is ready is proved with the server gone."""
        end = time.monotonic() + 90  # all of the site is fetched
        while (standing := self.engine.js(STANDING)) not in ("ready", "failed", "impossible") and time.monotonic() < end:
            time.sleep(0.1)
        if standing in wanted:
            self.note("offline", standing)
        else:
            self.note("offline", f"FAILS: {standing}")
            self.faults.append(f"offline: {self.engine.js(WORKERS)}")


class Stage(NamedTuple):
    """What a case is played on: starts a browser with the same profile each time; the site as a folder."""

    start: Callable[[], AbstractContextManager[Engine]]
    folder: Path
    note: Callable[[str, str], None]
    restarts: bool


def first_visit(stage: Stage) -> list[str]:
    """Every page has an origin of its own, on which nobody has been."""
    faults = []
    with stage.start() as engine:
        for page in LANDED:
            with serving(stage.folder) as base:
                reader = Reader(engine, base, stage.note)
                reader.visit(page)
            faults += reader.faults
    return faults


def settled(stage: Stage, engine: Engine, base: str, pages: list[str], how: str = "snapshot") -> Reader:
    """Somebody who has been on the plan until all of the guide was kept, and then on other pages."""
    reader = Reader(engine, base, stage.note, how=how)
    reader.visit("plan/")
    reader.offline("ready")
    reader.tour(pages)
    return reader


def repeat_visit(stage: Stage) -> list[str]:
    with serving(stage.folder) as base:
        with stage.start() as engine:
            reader = settled(stage, engine, base, ["field/", "logbook/"])
            if not stage.restarts:
                reader.tour(AGAIN, typing=False)
                return reader.faults
        with stage.start() as engine:
            reader.engine = engine
            reader.tour(AGAIN, typing=False)
    return reader.faults


def server_killed(stage: Stage) -> list[str]:
    server = KillableServer(stage.folder)
    try:
        with stage.start() as engine:
            reader = Reader(engine, server.url, stage.note)
            engine.open(server.url + "safety/")
            reader.offline("ready")
            server.kill()
            reader.tour(LANDED)
            if EVERY:
                reader.visit("field/", typing=False)  # no other page shows what was typed there
            return reader.faults
    finally:
        server.kill()


def image_refused(stage: Stage) -> list[str]:
    with serving(stage.folder) as base, stage.start() as engine:
        return settled(stage, engine, base, ["step/", "logbook/"], how="ordinary").faults


def next_page(stage: Stage) -> list[str]:
    """From page to page by clicks, and back: the window stays the same one, so nothing is started anew."""
    shown = "document.title === {!r} && Boolean(document.querySelector('.loft-more')) && " + ANSWERED
    with serving(stage.folder) as base, stage.start() as engine:
        engine.open(base + "folding/")
        until(engine, ANSWERED)
        engine.js("(window.same = true, document.querySelector('article').append(Object.assign(document.createElement('a'), { href: '../packing/#what-goes-wrong' })), document.querySelector('article > a:last-child').click())")
        until(engine, shown.format("Pack it - Loftbook"))
        until(engine, "(top => top >= 0 && top < innerHeight)(document.getElementById('what-goes-wrong').getBoundingClientRect().top)", timeout=10)
        assert engine.js("location.hash + location.pathname") == "#what-goes-wrong/packing/"
        engine.js("history.back()")
        until(engine, shown.format("Fold it - Loftbook"))
        engine.js("document.querySelector('.md-footer__link--next').click()")
        until(engine, shown.format("Pack it - Loftbook"))
        assert engine.js("document.activeElement.localName") == "h1"
        assert engine.js("window.same === true")
        stage.note("packing/", "no new start")
    return []


def storage_denied(stage: Stage) -> list[str]:
    with serving(stage.folder) as base, stage.start() as engine:
        reader = Reader(engine, base, stage.note, kept=False)
        reader.tour(["plan/", "folding/", "", "card/", "field/", "logbook/"])
        reader.offline("failed", "impossible")
        return reader.faults


def storage_full(stage: Stage) -> list[str]:
    with serving(stage.folder) as base, stage.start() as engine:
        engine.open(base + EMPTY)
        engine.js(FILL)
        reader = Reader(engine, base, stage.note, kept=False)
        reader.tour(["plan/", "folding/", "field/", "logbook/"])
        reader.offline("failed")
        return reader.faults


def private_window(stage: Stage) -> list[str]:
    """Kept until the window closes, which no page can know; that the next one is without a past shows that it was private."""
    with serving(stage.folder) as base:
        with stage.start() as engine:
            reader = settled(stage, engine, base, ["folding/", "logbook/"])
        with stage.start() as engine:
            again = Reader(engine, base, lambda page, told: stage.note("closed, then /plan/", told.replace("live", "nothing is here, live")))
            again.visit("plan/", typing=False)
            if engine.js(f"document.querySelector('{NAME}').value") == TYPED["plan/"][NAME]:
                again.faults.append("the private window kept what was typed")
    return reader.faults + again.faults


CASES: dict[str, tuple[Wish, Callable[[Stage], list[str]]]] = {
    "first visit": ("", first_visit),
    "repeat visit": ("", repeat_visit),
    "server killed": ("", server_killed),
    "next page": ("", next_page),
    "image refused": ("", image_refused),
    "storage denied": ("denied", storage_denied),
    "storage full": ("full", storage_full),
    "private window": ("private", private_window),
}
# How an engine comes to be in a case, where it is not by its own means alone; printed above the case's pages.
HOW = {
    ("repeat visit", "webkit"): "the same browser: driven, it is always private",
    ("storage denied", "chromium"): "its setting",
    ("storage denied", "firefox"): "its setting",
    ("storage denied", "webkit"): "its switches",
    ("storage full", "chromium"): "its quota",
    ("storage full", "firefox"): "its quota",
    ("storage full", "webkit"): "stub",
    ("private window", "webkit"): "always private",
}
# Why not every page is opened in every case; printed below its pages.
LEFT_OUT = {
    "first visit": "no second page: what is typed goes from page to page in the cases below",
    "repeat visit": "start and folding as plan, card and step as field: one form, one bar that says whose rig it is",
    "image refused": "all others: the worker knows nothing of pages, one of each kind is opened",
    "storage denied": "start as folding, step as card: one form, one hand-out",
    "storage full": "all others: as where storage is denied; these have something to keep",
    "private window": "all others: as on a repeat visit; these have something to keep",
}


@pytest.fixture(scope="session")
def folders(site: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], Path]:
    """The site as an engine needs it for a case: as built, or a release of its own that differs in what the case is about."""

    def changed(case: str, engine: str) -> Path:
        if case not in ("image refused", "storage full") and engine != "webkit":
            return site
        copy = tmp_path_factory.mktemp("site") / "site"
        shutil.copytree(site, copy)
        if case == "image refused":
            worker = copy / "assets/live/worker.js"
            worker.write_text(re.sub(r'"made": "\w+"', '"made": "of another build"', worker.read_text()))
        if case == "storage full":
            (copy / EMPTY).write_text("<!doctype html><link rel='icon' href='data:,'>")
        stub = NO_ROOM if case == "storage full" else ""
        if engine == "webkit":
            (copy / "witness.js").write_text(WITNESS + stub)
            for page in copy.rglob("index.html"):
                text = page.read_text()
                depth = len(page.relative_to(copy).parts) - 1
                page.write_text(re.sub(r"(<head>\s*<meta charset[^>]*>)", rf'\1<script src="{"../" * depth}witness.js"></script>', text, count=1))
        (copy / "offline-worker.js").unlink()
        build.write_release(copy)
        if engine == "webkit" and stub:
            program = copy / "offline-worker.js"
            program.write_text(stub + program.read_text())
        return copy

    return changed


PLAYED = [(name, case) for name in NAMES for case in CASES if EVERY or name == "chromium" or case in ("server killed", "next page")]


@pytest.mark.parametrize(("name", "case"), PLAYED, ids=[f"{name}-{case}" for name, case in PLAYED])
def test_case(name: str, case: str, request: pytest.FixtureRequest, folders: Callable[[str, str], Path], tmp_path: Path) -> None:
    wish, play = CASES[case]

    def start() -> AbstractContextManager[Engine]:
        profile = tmp_path / "profile"
        profile.mkdir(exist_ok=True)
        return chromium(request.getfixturevalue("playwright"), profile, wish) if name == "chromium" else ENGINES[name](profile, wish)

    def note(page: str, told: str) -> None:
        request.node.user_properties.append(("cell", [case, page, name, told]))

    if (case, name) in HOW:
        note("how", HOW[case, name])
    faults = play(Stage(start, folders(case, name), note, restarts=name != "webkit"))
    if case in LEFT_OUT:
        note("not opened", LEFT_OUT[case])
    assert not faults, "\n".join(faults)


def test_every_page_that_people_land_on_is_in_the_menu() -> None:
    assert set(LANDED) <= set(GUIDE)
    assert not EVERY or set(TYPED) <= set(LANDED)
