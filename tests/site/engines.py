"""Firefox and WebKit for tests, behind two words: `open(address)` and `js(expression)`, where the expression may be a promise.

Debian's own programs: puppeteer-core drives Firefox (firefox.mjs), selenium drives WebKit's small browser, which needs a screen and so
gets one that nobody sees. Each has a profile of its own, without any past. Chromium is Playwright's, in conftest.py.
"""

import json
import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Protocol

from selenium.webdriver import WebKitGTK, WebKitGTKOptions
from selenium.webdriver.webkitgtk.service import Service

from house import tool


class Engine(Protocol):
    def open(self, address: str) -> None: ...
    def js(self, expression: str) -> object: ...


def program(name: str, package: str) -> str:
    path = shutil.which(name)
    assert path, f"{name} is needed: apt-get install {package}"
    return path


class Firefox:
    """A line of JSON to firefox.mjs, a line of JSON back."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process

    def _say(self, message: dict[str, str]) -> object:
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


@contextmanager
def firefox(profile: Path) -> Iterator[Firefox]:
    command = [tool("node"), Path(__file__).with_name("firefox.mjs"), program("firefox-esr", "firefox-esr"), profile]
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
def webkit(profile: Path) -> Iterator[WebKit]:
    options = WebKitGTKOptions()
    options.binary_location = str(max(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser")))
    options.add_argument("--automation")
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


ENGINES: dict[str, Callable[[Path], AbstractContextManager[Engine]]] = {"firefox": firefox, "webkit": webkit}
