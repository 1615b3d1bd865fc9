"""axe-core finds nothing to object to: on every page, bright and dark, narrow and wide, live and static, and in use."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from test_pages import DESK, LIVE, OPEN, PAGES, PHONE, STILL, open_all, open_bar

from conftest import until
from sweeps import WHOLE

ROOT = Path(__file__).resolve().parents[2]
VIEWS = {"phone": PHONE, "desk": DESK}

# What is far from the screen keeps the styles it had when it was last near: it is laid out as for somebody who comes there.
ALL_LAID_OUT = """(() => {
  const style = new CSSStyleSheet();
  style.replaceSync("* { content-visibility: visible !important }");
  document.adoptedStyleSheets = [style];
  document.body.getBoundingClientRect();
})()"""

pytestmark = pytest.mark.browser


@pytest.fixture(scope="session")
def axe() -> str:
    return (ROOT / "node_modules" / "axe-core" / "axe.min.js").read_text()


@pytest.fixture
def judge(axe: str) -> Callable[..., None]:
    """Fails with every violation of all rules, or of some, and the first place of each."""

    def judge_it(page: Page, *rules: str) -> None:
        page.evaluate(ALL_LAID_OUT)
        until(page, STILL)  # a colour on its way to another has the contrast of neither
        page.evaluate(axe)
        only = f"runOnly: {list(rules)}, " if rules else ""
        found = page.evaluate(f"axe.run(document, {{ {only}resultTypes: ['violations'] }})")
        assert len(found["passes"]) > (0 if rules else 20)  # it did look
        assert [(v["id"], len(v["nodes"]), v["nodes"][0]["html"][:200]) for v in found["violations"]] == []

    return judge_it


@pytest.fixture
def in_both(judge: Callable[..., None]) -> Callable[[Page], None]:
    """By all rules in bright colours; in dark ones, where nothing else is different, by those about colours."""

    def judge_both(page: Page) -> None:
        judge(page)
        page.emulate_media(color_scheme="dark")
        until(page, "document.body.dataset.mdColorScheme === 'slate'")
        judge(page, "color-contrast", "link-in-text-block")

    return judge_both


def opened(browser: Browser, url: str, view: str, scheme: str) -> Page:
    page = browser.new_context(viewport=VIEWS[view], color_scheme=scheme, service_workers="block").new_page()
    page.goto(url)
    until(page, LIVE)
    return page


@pytest.mark.parametrize(("path", "view"), [(path, view) for place, path in enumerate(PAGES) for view in (VIEWS if WHOLE else [list(VIEWS)[place % 2]])])
def test_page(chromium: Browser, site_url: str, in_both: Callable[[Page], None], path: str, view: str) -> None:
    page = opened(chromium, site_url + path, view, "light")
    open_all(page)
    in_both(page)
    page.context.close()


def mistype(page: Page) -> None:
    page.evaluate(OPEN, "main.bay.tube")
    page.fill('[name="main.bay.tube"]', "1,250 m")
    until(page, "document.querySelector('[aria-invalid]')")


def search(page: Page) -> None:
    page.keyboard.press("f")
    page.keyboard.type("bundle")
    until(page, "document.querySelectorAll('.md-search-result__item').length")


def open_menu(page: Page) -> None:
    page.get_by_role("button", name="Menu").click()
    page.wait_for_timeout(500)


def open_bad_link(page: Page) -> None:
    page.evaluate("location.hash = '#~damaged'")
    until(page, "document.querySelector('.loft-note li, .loft-note p')?.textContent.includes('damaged')")


def show_the_other_bay(page: Page) -> None:
    page.locator(".loft-answer .loft-bays button[data-bay=drogue]").click()
    until(page, "document.querySelector('.loft-answer .loft-bays button[data-bay=drogue]').ariaPressed === 'true'")


def say_whose(page: Page) -> None:
    """One mark open as it is, one claimed, one measured."""
    open_all(page)
    paths = ("main.bay.tube", "main.bay.depth", "main.canopy.size")
    for path, name in zip(paths, ("", "It is mine too", "Measured"), strict=True):
        field = page.locator(f'[data-field="{path}"]')
        field.locator(".loft-mark").click()
        if name:
            field.get_by_role("button", name=name, exact=True).click()


def start_from_one_bay(page: Page) -> None:
    open_bar(page)
    page.locator(".loft-starts button[data-start='one bay, 75 mm']").click()
    until(page, "document.querySelector('.loft-note')?.textContent.includes('starting rig')")


USES = [
    (mistype, "phone"), (mistype, "desk"), (search, "phone"), (search, "desk"), (open_menu, "phone"), (open_bad_link, "phone"),
    (show_the_other_bay, "phone"), (say_whose, "phone"), (say_whose, "desk"), (start_from_one_bay, "phone"),
]  # fmt: skip


@pytest.mark.parametrize(("use", "view"), USES, ids=[f"{use.__name__}-{view}" for use, view in USES])
def test_in_use(chromium: Browser, site_url: str, in_both: Callable[[Page], None], use: Callable[[Page], None], view: str) -> None:
    page = opened(chromium, site_url + "folding/", view, "light")
    use(page)
    in_both(page)
    page.context.close()


def test_without_a_mouse(chromium: Browser, site_url: str) -> None:
    """Menu, groups, fields, steps and buttons are all reached with the tab key and worked with the keyboard."""
    page = opened(chromium, site_url + "folding/", "phone", "light")
    until(page, STILL)
    page.evaluate("window.reached = []; addEventListener('focusin', ({ target }) => reached.push(target))")
    for _ in range(80):  # the menu alone is half of it; after a hundred it begins anew
        page.keyboard.press("Tab")
    for kind in (".loft-toggle__drawer", "input[name='main.canopy.size']", ".loft-mark", ".loft-steplink"):
        assert page.evaluate("kind => reached.some((one) => one.matches(kind))", kind), kind
    back = page.evaluate("reached.filter((one, place) => reached.indexOf(one) < place).map((one) => one.name || one.className)")
    assert back == []  # the focus goes on: nothing holds it or takes it back
    page.locator(".loft-change > summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert "loft-groupname" in page.evaluate("document.activeElement.className")
    page.locator(".loft-answer .loft-bays button[data-bay=drogue]").focus()
    page.keyboard.press("Space")
    until(page, "document.querySelector('.loft-answer .loft-bays button[data-bay=drogue]').ariaPressed === 'true'")
    page.get_by_role("button", name="Menu").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.getElementById('__drawer').checked")
    page.keyboard.press("Escape")
    assert not page.evaluate("document.getElementById('__drawer').checked")
    page.context.close()


def test_at_twice_the_size_of_a_small_screen_nothing_runs_out_of_it(chromium: Browser, site_url: str) -> None:
    """320 CSS pixels wide: a phone of 640 at 200 %; only tables and pictures that say so scroll sideways, by themselves."""
    context = chromium.new_context(viewport={"width": 320, "height": 640}, service_workers="block")
    page, wide = context.new_page(), {}
    for path in PAGES:
        page.goto(site_url + path)
        until(page, LIVE)
        open_all(page)
        page.evaluate(ALL_LAID_OUT)
        if (width := page.evaluate("document.scrollingElement.scrollWidth")) > 320:
            wide[path] = width
    context.close()
    assert wide == {}


def test_in_a_system_s_own_colours_what_matters_is_still_told_apart(chromium: Browser, site_url: str) -> None:
    """Where colours are forced on a page, a failed check, a wrong field and what has the focus are seen by words, marks and lines."""
    context = chromium.new_context(viewport=PHONE, forced_colors="active", service_workers="block")
    page = context.new_page()
    page.goto(site_url + "plan/")
    until(page, LIVE)
    verdicts = page.evaluate("[...document.querySelectorAll('.loft-answer [data-verdict], .loft-more [data-verdict]')].filter((one) => one.checkVisibility()).map((one) => one.innerText.trim())")
    assert len(verdicts) > 1
    assert all(verdicts)
    page.goto(site_url + "folding/")
    until(page, LIVE)
    chosen = page.evaluate("['true', 'false'].map((is) => getComputedStyle(document.querySelector(`.loft-answer .loft-bays button[aria-pressed=${is}]`)).backgroundColor)")
    assert chosen[0] != chosen[1]
    mistype(page)
    told = page.evaluate("""() => {
      const wrong = document.querySelector("[aria-invalid=true]"), fault = document.querySelector("[data-field='main.bay.tube'] .loft-fault");
      wrong.focus();
      const { outlineStyle, outlineWidth } = getComputedStyle(wrong);
      return [matchMedia("(forced-colors: active)").matches, fault.checkVisibility() && fault.innerText.length > 20, outlineStyle !== "none" && parseFloat(outlineWidth) >= 1];
    }""")
    assert told == [True, True, True]
    context.close()


def test_a_changed_result_is_said_aloud(chromium: Browser, site_url: str) -> None:
    """On every page with a calculator the summary of what was typed stands in a live region, once the reader stops typing."""
    page = opened(chromium, site_url + "folding/", "phone", "light")
    before = page.inner_text("loft-calculator [role=status]")
    page.evaluate(OPEN, "main.canopy.size")
    page.fill('[name="main.canopy.size"]', "2.4 m")
    until(page, f"document.querySelector('loft-calculator [role=status]').innerText !== {before!r} && document.querySelector('.loft-answer').ariaBusy === 'false'")
    until(page, "document.querySelector('loft-calculator [role=status]').textContent.startsWith(document.querySelector('.loft-answer .loft-summary').textContent.trim().slice(0, 20))")
    page.context.close()
