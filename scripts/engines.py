"""The three engines for tests and for the table of speeds, behind three words: `open(address)`; `js(expression)`, where the expression may be a promise; and
`errors()`, what went wrong since somebody last asked.

Debian's own programs: Playwright drives Chromium, puppeteer-core drives Firefox (firefox.mjs), selenium drives WebKit's small browser,
which needs a screen and so gets one that nobody sees. Each has a profile of its own, without any past, and each is started for a
`Wish`: that a page may keep nothing ("denied"), that there is no room ("full"), or a private window ("private"). WebKit has no ear for
a page's errors and no room that could be filled, so a script that a test puts into its pages does both (`WITNESS`, `NO_ROOM`).
"""

import json
import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Literal, Protocol
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, Page, Playwright
from selenium.webdriver import WebKitGTK, WebKitGTKOptions
from selenium.webdriver.webkitgtk.service import Service

from house import tool

Wish = Literal["", "denied", "full", "private"]
CHROMIUM_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # a request to any other host fails, and so shows
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost",
]

# For WebKit's pages, before all other scripts: its driver does not hand on what a console says.
WITNESS = """self.witnessed = [];
addEventListener("error", ({ message, target }) => witnessed.push(message ?? `not loaded: ${target.src ?? target.href}`), true);
addEventListener("unhandledrejection", ({ reason }) => witnessed.push(`unhandled: ${reason}`));
addEventListener("securitypolicyviolation", ({ blockedURI }) => witnessed.push(`against the policy: ${blockedURI}`));
console.error = (...said) => witnessed.push(said.join(" "));
"""
# For WebKit's pages and service worker where there is no room.
NO_ROOM = """{
  const full = () => new DOMException("no room", "QuotaExceededError");
  if (self.Storage) Storage.prototype.setItem = () => { throw full(); };
  IDBObjectStore.prototype.put = IDBObjectStore.prototype.add = () => { throw full(); };
  Cache.prototype.put = Cache.prototype.add = Cache.prototype.addAll = () => Promise.reject(full());
}
"""


class Engine(Protocol):
    def open(self, address: str) -> None: ...
    def js(self, expression: str) -> object: ...
    def errors(self) -> list[str]: ...


class Chromium:
    def __init__(self, context: BrowserContext, page: Page, room: int | None) -> None:
        self.js, self._page, self._room = page.evaluate, page, room
        self._errors: list[str] = []
        self._devtools = context.new_cdp_session(page)
        context.on("console", lambda message: self._errors.append(message.text) if message.type == "error" else None)
        context.on("weberror", lambda error: self._errors.append(str(error.error)))

    def open(self, address: str) -> None:
        if self._room is not None:
            origin = "{0.scheme}://{0.netloc}".format(urlsplit(address))
            self._devtools.send("Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": self._room})
        self._page.goto(address)

    def errors(self) -> list[str]:
        found, self._errors[:] = list(self._errors), []
        return found


@contextmanager
def chromium(playwright: Playwright, profile: Path, wish: Wish = "") -> Iterator[Chromium]:
    path = shutil.which("chromium") or program("google-chrome", "chromium")
    how = {"executable_path": path, "args": CHROMIUM_ARGS, "headless": True}
    if wish == "private":
        with playwright.chromium.launch(**how) as browser, browser.new_context() as context:  # what Chromium calls off the record
            yield Chromium(context, context.new_page(), None)
        return
    if wish == "denied":  # as in its settings: no site may keep anything
        settings = {"profile": {"default_content_setting_values": {"cookies": 2}}}
        (profile / "Default").mkdir(parents=True)
        (profile / "Default" / "Preferences").write_text(json.dumps(settings))
    with playwright.chromium.launch_persistent_context(profile, **how) as context:
        yield Chromium(context, context.pages[0], 1 if wish == "full" else None)  # byte; none would mean as much as ever


def program(name: str, package: str) -> str:
    path = shutil.which(name)
    assert path, f"{name} is needed: apt-get install {package}"
    return path


class Firefox:
    """A line of JSON to firefox.mjs, a line of JSON back."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process

    def _say(self, message: dict[str, str | bool]) -> object:
        print(json.dumps(message), file=self._process.stdin, flush=True)
        line = self._process.stdout.readline()
        assert line, "Firefox has ended"
        reply = json.loads(line)
        assert "fault" not in reply, reply["fault"]
        return reply["value"]

    def open(self, address: str) -> None:
        self._say({"open": address})

    def js(self, expression: str) -> object:
        return self._say({"js": expression})

    def errors(self) -> list[str]:
        return self._say({"errors": True})


FIREFOX: dict[Wish, dict[str, int | bool]] = {  # its own settings; room in kB
    "": {},
    "denied": {"network.cookie.cookieBehavior": 2},
    "full": {"dom.quotaManager.temporaryStorage.fixedLimit": 64, "dom.storage.default_quota": 1, "dom.storage.default_site_quota": 1},
    "private": {"browser.privatebrowsing.autostart": True},
}


@contextmanager
def firefox(profile: Path, wish: Wish = "") -> Iterator[Firefox]:
    driver = Path(__file__).with_name("firefox.mjs")
    command = [tool("node"), driver, program("firefox-esr", "firefox-esr"), profile, json.dumps(FIREFOX[wish])]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        yield Firefox(process)
        process.stdin.close()  # Firefox ends with its driver


class WebKit:
    """What an expression gives comes back as JSON: the driver alone would lose a failed promise."""

    def __init__(self, driver: WebKitGTK) -> None:
        self._driver = driver

    def open(self, address: str) -> None:
        self._driver.get(address)

    def js(self, expression: str) -> object:
        reply = json.loads(self._driver.execute_async_script(f"""
            const say = (reply) => arguments[arguments.length - 1](JSON.stringify(reply));
            (async () => ({expression}))().then((value) => say({{ value }}), (error) => say({{ fault: String(error) }}));"""))
        assert "fault" not in reply, reply["fault"]
        return reply.get("value")

    def errors(self) -> list[str]:
        return self.js("self.witnessed?.splice(0) ?? ['nobody witnesses what goes wrong here']")


WEBKIT: dict[Wish, list[str]] = {
    "": [],
    "denied": ["--enable-html5-local-storage=false", "--enable-html5-database=false", "--cookies-policy=never", "--features=-ServiceWorkers,-CacheAPI"],
    "full": [],  # NO_ROOM
    "private": [],  # driven, it is never anything else
}


@contextmanager
def screen() -> Iterator[str]:
    """A display that nobody sees; the first that is free."""
    command = [program("Xvfb", "xvfb"), "-displayfd", "1", "-screen", "0", "1280x1000x24", "-nolisten", "tcp"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        try:
            yield f":{process.stdout.readline().strip()}"
        finally:
            process.terminate()


@contextmanager
def webkit(profile: Path, wish: Wish = "") -> Iterator[WebKit]:
    options = WebKitGTKOptions()
    options.binary_location = str(max(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser")))
    for argument in ["--automation", *WEBKIT[wish]]:
        options.add_argument(argument)
    with screen() as display:
        folders = {f"XDG_{kind}_HOME": str(profile / kind) for kind in ("DATA", "CACHE", "CONFIG")}
        no_sandbox = {"WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1"}  # in a container, and for our own pages only
        env = os.environ | folders | no_sandbox | {"HOME": str(profile), "DISPLAY": display, "NO_AT_BRIDGE": "1"}
        driver = WebKitGTK(options, Service(program("WebKitWebDriver", "webkit2gtk-driver"), env=env))
        driver.set_script_timeout(120)
        try:
            yield WebKit(driver)
        finally:
            driver.quit()


ENGINES: dict[str, Callable[[Path, Wish], AbstractContextManager[Engine]]] = {"firefox": firefox, "webkit": webkit}
