"""With the server gone the whole site still opens and answers; releases are whole, and change only when the reader agrees."""

import re
import shutil
import subprocess
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page
from test_pages import LIVE

import build
import loftbook
from conftest import GUIDE, ROOT, serving, until

pytestmark = pytest.mark.browser

STANDING = "document.querySelector('loft-offline')?.dataset.standing"
WORDS = "document.querySelector('loft-offline').textContent.trim()"
NOT_WHOLE = "a file is not there, or not as this release has it, or the line was cut"
ASK = """async (base) => {
  const { ask, onState } = await import(new URL("assets/live/messenger.js", base));
  const reply = await ask({ do: "about" }, { timeout: 60000 });
  let how;
  onState((state) => (how = state.how));
  return { how, version: reply.version };
}"""


def open_and_keep(page: Page, url: str) -> None:
    """One visit, until the page says that all of the site is on the device."""
    page.goto(url)
    until(page, f"{STANDING} === 'ready'")


def title_of(page_file: Path) -> str:
    return re.search(r"<title>(.*?)</title>", page_file.read_text())[1].replace("&amp;", "&").strip()


# --- the server gone


def test_after_one_visit_every_page_opens_and_answers_with_the_server_gone(page, site, pages, killable, complaints) -> None:
    assert len(pages) >= len(GUIDE) > 15
    server = killable(site)
    open_and_keep(page, server.url)
    server.kill()
    for name in pages:
        answer = page.goto(server.url + name)
        assert answer.status == 200
        assert answer.from_service_worker
        assert page.title() == title_of(site / name / "index.html")
        assert page.evaluate(ASK, server.url) == {"how": "snapshot", "version": loftbook.VERSION}
        until(page, LIVE)  # every calculator and hand-out
    assert complaints == []


def test_python_starts_behind_a_first_visits_picture_and_before_a_kept_page_is_read(page, site_url: str) -> None:
    page.add_init_script("""self.begun = []; self.Worker = class extends Worker {
      constructor(...given) { super(...given); begun.push(document.body ? "behind" : "before"); }
    };""")
    open_and_keep(page, f"{site_url}plan/")
    assert page.evaluate("begun") == ["behind"]
    page.reload()
    until(page, LIVE)
    assert page.evaluate("begun") == ["before"]


THROW_AWAY = "caches.keys().then((names) => Promise.all(names.map((name) => caches.delete(name))))"


def throw_away(page: Page, file: str) -> None:
    """One file of what is kept, by its path."""
    assert page.evaluate("""async (file) => { let gone = 0;
        for (const name of await caches.keys()) { const cache = await caches.open(name);
          for (const one of await cache.keys()) if (new URL(one.url).pathname === file) gone += await cache.delete(one) }
        return gone }""", file)


def test_what_is_no_longer_whole_is_not_called_ready(page, site, killable) -> None:
    """Without a line nothing can be mended: who takes it to the field must not trust it."""
    server = killable(site)
    open_and_keep(page, server.url)
    server.kill()
    throw_away(page, "/folding/index.html")
    page.evaluate("fetch('folding/index.html')")  # where that is seen
    until(page, f"{STANDING} === 'failed'")
    assert page.evaluate(WORDS).startswith(f"Could not be kept for offline use: {NOT_WHOLE}")
    page.goto(server.url + "plan/")  # a page that comes soon after is told, too, and not that it is being kept
    until(page, f"{STANDING} === 'failed'")


def test_what_the_browser_threw_away_is_kept_anew_with_the_next_line(page, site, killable) -> None:
    """As WebKit was seen to do: the worker is there and its files are not."""
    server = killable(site)
    open_and_keep(page, server.url)
    page.evaluate(THROW_AWAY)
    assert page.goto(server.url + "plan/").status == 200
    until(page, LIVE)
    until(page, f"{STANDING} === 'ready'")
    server.kill()
    assert page.goto(server.url + "folding/").from_service_worker
    until(page, LIVE)
    page.evaluate(THROW_AWAY)
    page.reload()
    assert page.goto(server.url + "plan/").status == 503
    assert "has thrown it away" in page.inner_text("body")


@pytest.mark.parametrize("waits", [False, True], ids=["found then", "waits already"])
@pytest.mark.parametrize("gone", ["all", "/index.html"])
def test_what_the_browser_threw_away_is_never_mixed_with_a_newer_release(page, copy_of_site, gone: str, waits: bool) -> None:
    """Files of the one that is gone are asked for by their digests; the newer one then takes its place, since nobody can be reading the old."""
    folder = copy_of_site(name="served")
    with serving(folder) as url:
        open_and_keep(page, url)
        put_in_place(folder, newer_release(copy_of_site, "newer"))
        if waits:
            look_for_newer(page)
            until(page, f"{STANDING} === 'offered'")
        page.evaluate(THROW_AWAY) if gone == "all" else throw_away(page, gone)
        assert page.goto(url).status == 503  # the start page is another one now
        for _ in range(60):
            page.wait_for_timeout(500)
            if page.goto(url).status == 200:
                break
        assert page.title() == "The newer release"
        until(page, f"{STANDING} === 'ready'")


def test_without_a_line_a_newer_release_that_waits_does_not_take_the_place_of_one_that_is_read(page, copy_of_site, killable) -> None:
    """What is gone may be one page of many; whoever stands in the field keeps what is there until they say otherwise."""
    folder = copy_of_site(name="served")
    server = killable(folder)
    open_and_keep(page, server.url)
    put_in_place(folder, newer_release(copy_of_site, "newer"))
    look_for_newer(page)
    until(page, f"{STANDING} === 'offered'")
    title = page.title()
    server.kill()
    throw_away(page, "/folding/index.html")
    assert page.goto(server.url + "folding/").status == 503
    page.wait_for_timeout(2000)
    page.get_by_role("link", name="the field card").click()  # what is still there opens
    until(page, "Boolean(document.querySelector('loft-handout[name=card]'))")
    page.go_back()
    page.get_by_role("link", name="the start page").click()
    until(page, f"document.title === {title!r}")


def test_a_link_with_words_after_it_and_one_without_a_slash_open_too(page, site, killable) -> None:
    server = killable(site)
    open_and_keep(page, server.url)
    server.kill()
    assert page.goto(server.url + "plan/?from=a-card#drogue-fold-halve-3").status == 200
    page.goto(server.url + "folding")
    assert urlsplit(page.url).path == "/folding/"


def test_a_page_that_is_not_there_says_so_with_the_server_gone(page, site, killable) -> None:
    server = killable(site)
    open_and_keep(page, server.url)
    server.kill()
    answer = page.goto(server.url + "no/such/page/")
    assert answer.status == 404
    assert page.title() == title_of(site / "404.html")


def test_every_file_of_the_release_is_on_the_device(page, site, killable) -> None:
    server = killable(site)
    open_and_keep(page, server.url)
    server.kill()
    files = sorted(build.files_of(site) - build.NOT_KEPT)
    assert len(files) > 50
    sizes = page.evaluate(
        """async ([base, files]) => Object.fromEntries(await Promise.all(files.map(async (file) => {
             const response = await fetch(new URL(file, base));
             return [file, response.ok ? (await response.arrayBuffer()).byteLength : response.status];
           })))""",
        [server.url, files],
    )
    assert sizes == {file: (site / file).stat().st_size for file in files}


def test_the_ordinary_boot_works_with_the_server_gone(page, site, copy_of_site, killable) -> None:
    worker = re.sub(r'"made": "\w+"', '"made": "of another build"', (site / "assets/live/worker.js").read_text())
    copy = copy_of_site({"assets/live/worker.js": worker, "offline-worker.js": None})
    build.write_release(copy)
    server = killable(copy)
    open_and_keep(page, server.url)
    server.kill()
    page.goto(server.url)
    assert page.evaluate(ASK, server.url) == {"how": "ordinary", "version": loftbook.VERSION}


def test_works_below_a_path(page, site, killable) -> None:
    server = killable(site, under="/some/guide/")
    open_and_keep(page, server.url + "plan/")
    server.kill()
    assert page.goto(server.url + "folding/").status == 200
    assert page.evaluate(ASK, server.url)["how"] == "snapshot"


# --- nobody else is asked


def test_the_site_is_kept_without_asking_another_host_for_anything(page, site_url, complaints) -> None:
    """What pages ask of others is in test_pages.py."""
    asked: list[str] = []
    page.context.on("request", lambda request: asked.append(request.url))
    open_and_keep(page, site_url)
    page.goto(site_url + "plan/")
    page.evaluate(ASK, site_url)
    origin = urlsplit(site_url).netloc
    strangers = [url for url in asked if urlsplit(url).scheme not in ("data", "blob") and urlsplit(url).netloc != origin]
    assert len(asked) > 60  # every file of the release
    assert strangers == []
    assert complaints == []


# --- what the page says


def test_says_version_and_since_when(page, site_url) -> None:
    page.goto(site_url)
    until(page, f"{STANDING} === 'ready'")
    words = page.evaluate(WORDS)
    assert words.startswith(f"Ready to use offline: version {loftbook.VERSION}, kept since ")
    page.reload()
    until(page, f"{STANDING} === 'ready'")
    assert page.evaluate(WORDS) == words  # the moment of keeping, not of looking


def test_a_page_that_is_opened_while_the_site_is_being_kept_hears_when_it_is(page, context, site_url) -> None:
    page.goto(site_url + "plan/")
    until(page, f"{STANDING} === 'preparing'")
    other = context.new_page()
    other.goto(site_url + "folding/")
    until(other, f"{STANDING} === 'ready'")


def test_where_a_browser_has_no_service_worker_it_says_so_and_the_calculators_work(page, site_url) -> None:
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'serviceWorker', { get: () => undefined })")
    page.goto(site_url)
    assert until(page, STANDING) == "impossible"
    assert page.evaluate(ASK, site_url)["how"] == "snapshot"


@pytest.mark.parametrize("there", ["<!doctype html><title>another release</title>", None])
def test_says_why_an_installation_failed_and_keeps_nothing_by_halves(page, copy_of_site, there: str | None) -> None:
    """A file that is not of this release, or not there: as when a host is in the middle of an upload."""
    with serving(copy_of_site({"folding/index.html": there})) as url:
        page.goto(url)
        until(page, f"{STANDING} === 'failed'")
        assert page.evaluate(WORDS).endswith(f"Could not be kept for offline use: {NOT_WHOLE}.")
        assert page.evaluate("navigator.serviceWorker.getRegistration().then((r) => Boolean(r?.active))") is False
        assert page.evaluate(ASK, url)["how"] == "snapshot"


def test_says_that_there_is_no_room(page, site_url: str) -> None:
    room = {"origin": site_url.rstrip("/"), "quotaSize": 3_000_000}
    page.context.new_cdp_session(page).send("Storage.overrideQuotaForOrigin", room)
    page.goto(site_url)
    until(page, f"{STANDING} === 'failed'")
    assert page.evaluate(WORDS).endswith("Could not be kept for offline use: there is no room for it.")


# --- a newer release


def newer_release(copy_of_site, name: str, **changes: str) -> Path:
    """The site with another start page, and the service worker that belongs to it."""
    home = (ROOT / "site" / "index.html").read_text()
    text = re.sub(r"<title>.*?</title>", "<title>The newer release</title>", home)
    copy = copy_of_site({"index.html": text, "offline-worker.js": None} | changes, name=name)
    build.write_release(copy)
    return copy


def put_in_place(folder: Path, release: Path) -> None:
    """What a host does: the files of the new release replace the old ones."""
    shutil.rmtree(folder)
    release.rename(folder)


def look_for_newer(page: Page) -> None:
    """Waits for the browser's own look, but not for ever: over a line that says nothing it does not end."""
    looks = "navigator.serviceWorker.getRegistration().then((r) => r.update().then(() => true, () => true))"
    page.evaluate(f"Promise.race([{looks}, new Promise((resolve) => setTimeout(resolve, 5000))])")


def test_a_newer_release_waits_until_the_reader_agrees(page, site, copy_of_site) -> None:
    folder = copy_of_site(name="served")
    with serving(folder) as url:
        open_and_keep(page, url)
        old_title = page.title()
        put_in_place(folder, newer_release(copy_of_site, "newer"))
        look_for_newer(page)
        until(page, f"{STANDING} === 'offered'")
        page.reload()
        assert page.title() == old_title  # not before a yes
        until(page, f"{STANDING} === 'offered'")
        page.locator("loft-offline button").first.click()
        until(page, "document.title === 'The newer release'")
        until(page, f"{STANDING} === 'ready'")
        assert page.evaluate(ASK, url)["how"] == "snapshot"


def test_another_open_tab_is_told_and_not_taken_from_its_reader(page, context, copy_of_site) -> None:
    folder = copy_of_site(name="served")
    with serving(folder) as url:
        open_and_keep(page, url)
        other = context.new_page()
        open_and_keep(other, url)
        other.evaluate("window.unsaved = 'typed by the reader'")
        put_in_place(folder, newer_release(copy_of_site, "newer"))
        look_for_newer(page)
        until(page, f"{STANDING} === 'offered'")
        page.locator("loft-offline button").first.click()
        until(page, "document.title === 'The newer release'")
        until(other, f"{STANDING} === 'replaced'")
        assert other.evaluate("window.unsaved") == "typed by the reader"


def test_a_newer_release_that_fails_leaves_the_old_one_whole(page, site, copy_of_site, killable) -> None:
    folder = copy_of_site(name="served")
    server = killable(folder)
    open_and_keep(page, server.url)
    old_title = page.title()
    release = newer_release(copy_of_site, "newer", **{"plan/index.html": "<!doctype html><title>A newer plan</title>"})
    (release / "plan" / "index.html").unlink()
    put_in_place(folder, release)
    look_for_newer(page)
    until(page, f"{STANDING} === 'failed'")
    assert f"Version {loftbook.VERSION} is ready to use offline" in page.evaluate(WORDS)
    server.kill()
    for name in ("", "plan/", "folding/"):
        assert page.goto(server.url + name).status == 200
    page.goto(server.url)
    assert page.title() == old_title


def test_pages_come_from_the_device_while_the_server_is_there(page, context, site, killable) -> None:
    """An installed release is never mixed with what the server has by now."""
    server = killable(site)
    open_and_keep(page, server.url)
    from_network: list[str] = []
    page.on("response", lambda response: from_network.append(response.url) if not response.from_service_worker else None)
    page.goto(server.url + "plan/")
    page.evaluate(ASK, server.url)
    assert [url for url in from_network if not url.endswith("offline-worker.js")] == []


# --- the build's own guards


def test_the_list_of_the_release_is_compared_with_the_files(copy_of_site) -> None:
    copy = copy_of_site({"offline-worker.js": None, ".well-known/thing.txt": None})
    hidden = copy / ".hidden"
    hidden.write_text("a file that the list leaves out")
    with pytest.raises(SystemExit, match=r"not whole.*hidden"):
        build.write_release(copy)


def test_a_file_too_large_to_keep_fails_the_build(copy_of_site) -> None:
    copy = copy_of_site({"offline-worker.js": None})
    with (copy / "large.bin").open("wb") as large:
        large.truncate(65 * 1024 * 1024)
    done = subprocess.run([build.tool("node"), "scripts/release.mjs", copy, "0"], cwd=ROOT, capture_output=True, text=True,
                          check=False)
    assert done.returncode != 0
    assert "large.bin" in done.stderr
