"""What tests of the built site share: the site, a server that can be killed, and Chromium.

Pages carry a policy that forbids eval, so Playwright's `wait_for_function` can't be used on them: use `until`.
"""

import os
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, Playwright, Route, expect, sync_playwright

from engines import CHROMIUM_ARGS
from server import make_server

ROOT = Path(__file__).resolve().parents[2]


def _guide() -> dict[str, str]:
    """The Markdown of every page in the menu, by its address: "plan/" for plan.md; the start page is ""."""
    files = re.findall(r"^  - .+: ([\w-]+\.md)$", (ROOT / "mkdocs.yml").read_text(), re.MULTILINE)
    return {"" if file == "index.md" else f"{file.removesuffix('.md')}/": (ROOT / "docs" / file).read_text() for file in files}


def _places(tag: str) -> dict[str, str]:
    """The address of the page that holds each element of a kind, by its name."""
    return {name: path for path, text in GUIDE.items() for name in re.findall(f'<{tag} name="([a-z-]+)">', text)}


GUIDE = _guide()
CALCULATORS, HANDOUTS = _places("loft-calculator"), _places("loft-handout")
expect.set_options(timeout=30_000)  # machines may be busy
# Where a page may not open the browser's own database.
NO_DATABASE = "Object.defineProperty(indexedDB, 'open', {value: () => { throw new DOMException('denied', 'SecurityError') }});"


def until(page: Page, expression: str, timeout: float = 60.0) -> object:
    """The first true value of a JavaScript expression."""
    end = time.monotonic() + timeout
    while time.monotonic() < end:
        with suppress(Error):  # the page may be on its way to another
            if value := page.evaluate(expression):
                return value
        time.sleep(0.05)
    raise AssertionError(f"not so after {timeout:g} s: {expression}")


def break_down(route: Route) -> None:
    """A worker that stops as it begins, for `page.route`: one that does not come is tried again and again, which takes a minute."""
    route.fulfill(body="throw new Error('broken');", content_type="text/javascript")


def kill(folder: Path) -> None:
    """Every process of a browser that keeps its things there, at once."""
    subprocess.run(["pkill", "-KILL", "-f", str(folder)], check=False)


@pytest.fixture(scope="session")
def site() -> Path:
    """The built site; built now if it is not there."""
    if not (ROOT / "site" / "_headers").is_file():
        subprocess.run([sys.executable, "scripts/build.py"], cwd=ROOT, check=True)
    return ROOT / "site"


@pytest.fixture(scope="session")
def pages(site: Path) -> list[str]:
    """The address of every page, such as "folding/"; the start page is ""."""
    found = sorted(file.parent.relative_to(site).as_posix() for file in site.rglob("index.html"))
    return ["" if page == "." else f"{page}/" for page in found]


@pytest.fixture
def copy_of_site(site: Path, tmp_path: Path) -> Callable[..., Path]:
    """Makes a copy in which some files are changed: `copy_of_site({"a.js": "text", "b.bin": None})`; None leaves one out."""

    def make(changes: dict[str, str | bytes | None] | None = None, name: str = "copy") -> Path:
        copy = tmp_path / name
        shutil.copytree(site, copy, copy_function=os.link)
        for path, content in (changes or {}).items():
            (copy / path).unlink(missing_ok=True)  # the link, not what it leads to
            if content is not None:
                (copy / path).write_bytes(content.encode() if isinstance(content, str) else content)
        return copy

    return make


class KillableServer:
    """Our own server as a process of its own."""

    def __init__(self, folder: Path, under: str = "/", port: int = 0) -> None:
        command = [sys.executable, ROOT / "scripts" / "server.py", folder, "--under", under, "--port", str(port)]
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        self.url = self._process.stdout.readline().strip()

    def kill(self) -> None:
        """Gone for good: what opens now comes from the reader's device."""
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()


@pytest.fixture
def killable() -> Iterator[Callable[..., KillableServer]]:
    """Starts servers: `killable(folder, under="/")`."""
    started: list[KillableServer] = []

    def start(folder: Path, under: str = "/", port: int = 0) -> KillableServer:
        started.append(KillableServer(folder, under, port))
        return started[-1]

    yield start
    for server in started:
        server.kill()


@contextmanager
def serving(folder: Path, under: str = "/") -> Iterator[str]:
    """Serve a folder from this process for a while."""
    server = make_server(folder, under=under)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    yield f"http://localhost:{server.server_address[1]}{under}"
    server.shutdown()
    server.server_close()


@pytest.fixture(scope="session")
def site_url(site: Path) -> Iterator[str]:
    """The address of the built site, served as long as the tests run; ends with a slash."""
    with serving(site) as url:
        yield url


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as playing:
        yield playing


def launch(playwright: Playwright, *flags: str) -> Browser:
    """Chromium without a browser around its pages, where that is installed: the same engine, and half the work of a whole one for each page opened.

    The whole one is driven where the browser itself matters: engines.py, and where it is killed.
    """
    path = shutil.which("chromium-headless-shell") or shutil.which("chromium") or shutil.which("google-chrome")
    assert path, "Chromium is needed: apt-get install chromium chromium-headless-shell"
    return playwright.chromium.launch(executable_path=path, args=[*CHROMIUM_ARGS, *flags], headless=True)


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """One that compiles Python once and plainly: a page that is soon closed gains nothing by its being compiled again, which is a quarter of the work.

    As readers have it, it is driven by engines.py, the parity of all answers and test_budgets.py.
    """
    with launch(playwright, "--js-flags=--liftoff-only") as browser:
        yield browser


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    """A browser without any past."""
    made = chromium.new_context()
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


@pytest.fixture
def complaints(context: BrowserContext) -> list[str]:
    """Whatever a page complains of in its console, breaches of the policy among it, and errors nobody caught."""
    found: list[str] = []
    context.on("console", lambda message: found.append(message.text) if message.type in ("error", "warning") else None)
    context.on("weberror", lambda error: found.append(str(error.error)))
    return found
