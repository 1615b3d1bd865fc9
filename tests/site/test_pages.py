"""The pages as a reader meets them: complete without scripts, then live; rigs typed, kept, handed on; and on paper."""

import base64
import json
import re
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from conftest import CALCULATORS, GUIDE, HANDOUTS, NO_DATABASE, ROOT, break_down, until
from loftbook.faces.glance import start_form
from loftbook.faces.live import answer
from loftbook.faces.render import html
from loftbook.rig.fields import DEFAULTS, FIELDS, STARTS, TWO_BAYS_98
from loftbook.rig.ways import WAYS

PAGES = list(GUIDE)
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
LIVE = "[...document.querySelectorAll(':is(loft-calculator, loft-handout) .loft-answer')].every(a => Number(a.dataset.answer) > 0)"
OPEN_ALL = """{ document.querySelectorAll('details').forEach((part) => (part.open = true));
    // the same group of every bay opens as one
    document.querySelectorAll('.loft-groupname').forEach((name) => name.ariaExpanded === 'false' && name.click()); }"""
# Opens the group of a field, as a reader who wants to change it does.
OPEN = """path => { const field = document.querySelector(`[data-field="${path}"]`), name = field?.closest('.loft-folded')?.querySelector('.loft-groupname');
    field?.closest('details')?.setAttribute('open', ''); name?.click(); }"""

pytestmark = pytest.mark.browser


def told(do: str, fields: dict[str, str] | None = None, **more: str) -> str:
    """What the core itself answers, as HTML; of a rig that is somebody's, card and walk say that there is no logbook."""
    own = {*(fields or {})} - {"rig.start", "rig.bay"}
    if do in ("walk", "card") and own:
        more |= {"book": None, "today": "2026-05-09"}  # type: ignore[dict-item]
    acts = ("calculate", "more") if do == "calculate" else (do,)  # what leads, and the rest
    return "".join(json.loads(answer(json.dumps({"do": act, "fields": fields or {}, **more})))["html"] for act in acts)


@cache
def drawn(name: str) -> int:
    """How many pictures a calculator draws of the first starting rig."""
    if name == "start":  # with a small picture at every row
        return told("start").count("<svg ") + html(start_form()).count("<svg ")
    return told("calculate", calculator=name).count("<svg ")


@pytest.fixture
def open_page(site_url: str, chromium: Browser) -> Iterator[Callable[..., Page]]:
    """Opens a page in a browser without a past: `open_page("plan/", viewport=PHONE)`; waits until its figures are live."""
    contexts: list[BrowserContext] = []

    def open_it(path: str, *, live: bool = True, before: Callable[[Page], None] | None = None, **options: object) -> Page:
        # a service worker would answer what these tests put in the way of the page
        made = chromium.new_context(**{"viewport": DESK, "service_workers": "block", **options})
        contexts.append(made)
        page = made.new_page()
        if before:
            before(page)
        page.goto(site_url + path)
        if live:
            until(page, LIVE)
        return page

    yield open_it
    for context in contexts:
        context.close()


@pytest.fixture(scope="module")
def heard() -> list[str]:
    """What the page that `phone` holds asked of others, and what it complained of: breaches of the policy are among it."""
    return []


def listen(page: Page, site_url: str, heard: list[str]) -> None:
    page.on("request", lambda request: None if request.url.startswith((site_url, "data:", "blob:")) else heard.append(request.url))
    page.on("console", lambda message: heard.append(message.text) if message.type in ("error", "warning") and "blocked by Playwright" not in message.text else None)
    page.on("pageerror", lambda error: heard.append(str(error)))


@pytest.fixture(scope="module")
def phone(chromium: Browser, site_url: str, heard: list[str], request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page on a phone with all that is folded opened, once for every test that only looks at it: `indirect`, of all pages."""
    page = chromium.new_context(viewport=PHONE, service_workers="block").new_page()
    heard.clear()
    listen(page, site_url, heard)
    page.goto(site_url + request.param)
    until(page, LIVE)
    open_all(page)
    yield page
    page.context.close()


@pytest.fixture(scope="module")
def desk(chromium: Browser, site_url: str, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page on a desk as it is opened, once for every test that only looks at it: `indirect`, of all calculators' pages."""
    page = chromium.new_context(viewport=DESK, service_workers="block").new_page()
    page.goto(site_url + request.param)
    until(page, LIVE)
    yield page
    page.context.close()


def payload(fields: object) -> str:
    """A link's payload, made without our own code."""
    packer = zlib.compressobj(wbits=-15)
    packed = packer.compress(json.dumps(fields).encode()) + packer.flush()
    return base64.urlsafe_b64encode(packed).decode().rstrip("=")


def unpacked(link: str) -> dict[str, str]:
    """The rig in a link, read without our own code."""
    packed = link.partition("~")[2]
    return json.loads(zlib.decompress(base64.urlsafe_b64decode(packed + "=" * (-len(packed) % 4)), wbits=-15))


def answers(page: Page) -> int:
    return int(page.locator(".loft-answer").first.get_attribute("data-answer") or 0)


STILL = """document.querySelector('[aria-busy="true"]') === null && document.getAnimations().every((one) =>
    one.playState !== "running" || one.effect.getComputedTiming().endTime === Infinity)"""
FILLED = "[...document.querySelectorAll('.loft-part[open] > div')].every((part) => part.ariaBusy === 'false')"


def open_all(page: Page) -> None:
    """Opens all that is folded, and waits for what a plan asks for only then."""
    page.evaluate(OPEN_ALL)
    until(page, FILLED)


def type_in(page: Page, path: str, text: str) -> None:
    """Types into a field and waits for what comes of it."""
    number = answers(page)
    page.evaluate(OPEN, path)
    page.fill(f'[name="{path}"]', text)
    until(page, f"""Number(document.querySelector('.loft-answer').dataset.answer) > {number}
        || document.querySelector('[aria-invalid], .loft-elsewhere') !== null""")  # fmt: skip


def open_bar(page: Page) -> None:
    """Opens the bar with the rig, as who saves it or hands it on does."""
    page.locator(".loft-rigfold").evaluate("fold => (fold.open = true)")


def step_ids(page: Page) -> list[str]:
    return page.evaluate("[...document.querySelectorAll('.loft-step')].map(step => step.id)")


def stored(page: Page, key: str = "loftbook.rig") -> dict[str, str] | None:
    return json.loads(page.evaluate(f"localStorage.getItem('{key}')") or "null")


# --- what is there before any script runs ------------------------------------------------------------


@pytest.mark.parametrize("path", PAGES)
def test_page_is_whole_by_itself(site: Path, path: str) -> None:
    html = (site / path / "index.html").read_text()
    assert len(re.findall(r"<h1[ >]", html)) == 1
    assert re.search(r'<meta name="description" content="[^"]{40,}"', html)
    assert not re.search(r"\s(style|on[a-z]+)=[\"']", re.sub(r"<script.*?</script>", "", html, flags=re.DOTALL))
    assert re.findall(r'(?:src|href)="(https?:[^"]+)"', html) == []


def test_every_page_is_in_the_menu_and_built(pages: list[str]) -> None:
    assert sorted(PAGES) == sorted(pages)
    assert len(PAGES) == len(list((ROOT / "docs").glob("*.md")))
    assert len(CALCULATORS) >= 12
    assert set(HANDOUTS) == {"step", "card", "walk", "pattern"}


@pytest.mark.parametrize("path", PAGES)
def test_page_tells_its_scripts_starting_rigs_and_ways_down(site: Path, path: str) -> None:
    html = (site / path / "index.html").read_text()
    block = json.loads(re.search(r'<script type="application/json" id="loft-starts">(.*?)</script>', html, re.DOTALL)[1])
    assert set(block) == {"starts", "ways"}
    assert {name: DEFAULTS | texts for name, texts in block["starts"].items()} == STARTS
    assert list(block["starts"]) == list(STARTS)  # the first is what pages are built for
    assert next(iter(block["starts"].values())) == DEFAULTS  # whole
    for name, way in WAYS.items():
        part = ["?", "", *way.keys] if len(way.keys) > 1 else [""]  # of several it must be said which, or that it is all of them
        keys = {"canopy": list(way.canopies), "bay": list(way.bays), "cord": list(way.keys), "part": part}
        assert block["ways"][name] == keys


@pytest.mark.parametrize(("name", "path"), CALCULATORS.items(), ids=list(CALCULATORS))
def test_without_scripts_there_is_a_worked_example(open_page: Callable[..., Page], name: str, path: str) -> None:
    page = open_page(path, live=False, java_script_enabled=False, viewport=PHONE)
    calculator = page.locator(f'loft-calculator[name="{name}"]')
    expect(calculator.locator(".loft-change > summary" if name == "plan" else "form :is(input, select, textarea)").first).to_be_visible()
    expect(calculator.locator(".loft-summary").first).to_be_visible()
    assert calculator.locator("svg").count() == drawn(name)
    expect(page.locator("loft-rigbar")).to_contain_text("worked example")
    assert page.locator("p loft-calculator, p loft-rigbar").count() == 0


@pytest.mark.parametrize("phone", PAGES, indirect=True)
def test_fits_a_phone(phone: Page) -> None:
    fits(phone)


@pytest.mark.parametrize("path", PAGES)
def test_fits_a_phone_without_scripts(open_page: Callable[..., Page], path: str) -> None:
    fits(open_page(path, live=False, java_script_enabled=False, viewport=PHONE))


def fits(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    over = page.evaluate("""[...document.querySelectorAll('main *')].filter(e => !e.closest('.loft-scroll') &&
        e.checkVisibility() && e.getBoundingClientRect().right > 361).map(e => e.outerHTML.slice(0, 120))""")
    assert over == []


@pytest.mark.parametrize("phone", PAGES, indirect=True)
def test_no_page_asks_another_host_for_anything_or_complains(phone: Page, heard: list[str]) -> None:
    phone.keyboard.press("End")
    phone.wait_for_timeout(100)
    assert heard == []


def test_what_a_page_asks_of_others_would_be_heard(open_page: Callable[..., Page], site_url: str) -> None:
    asked: list[str] = []
    page = open_page("safety/", live=False, before=lambda page: listen(page, site_url, asked))
    page.evaluate("fetch('https://elsewhere.invalid/').catch(() => {})")
    page.wait_for_timeout(100)
    assert any("elsewhere.invalid" in one for one in asked)


@pytest.mark.parametrize("phone", PAGES, indirect=True)
def test_a_cold_thumb_can_hit_it(phone: Page) -> None:
    touch_marks = "document.querySelectorAll('.loft-mark').forEach(mark => mark.click())"  # touched again they close
    phone.evaluate(touch_marks)
    small = phone.evaluate("""[...document.querySelectorAll(
        'main :is(button, input, select, summary, .loft-button, .loft-steplink), .md-header button')]
        .map(e => [e.outerHTML.slice(0, 90), (e.type === 'checkbox' ? e.closest('label') ?? e : e).getBoundingClientRect()])
        .filter(([html, box]) => box.width > 0 && !html.includes('type="reset"') && (box.height < 43.9 || box.width < 43.9)).map(([html, box]) => [html, box.width, box.height])""")  # fmt: skip
    phone.evaluate(touch_marks)
    assert small == []


@pytest.mark.parametrize("phone", PAGES, indirect=True)
def test_words_in_drawings_can_be_read_on_a_phone(phone: Page, site_url: str) -> None:
    names = [name for name, path in CALCULATORS.items() if site_url + path == phone.url]
    sizes = phone.evaluate("""[...document.querySelectorAll('.loft-drawing svg text')].map(text =>
        parseFloat(getComputedStyle(text).fontSize) * text.ownerSVGElement.getScreenCTM().a)""")
    assert not names or bool(sizes) == any(map(drawn, names))  # other pages may have pictures without words
    assert min(sizes, default=12) >= 12
    unpainted = phone.evaluate("""[...document.querySelectorAll('.loft-drawing svg [class]')].filter(shape =>
        !['text', 'g', 'svg'].includes(shape.localName) && getComputedStyle(shape).stroke === 'none' &&
        getComputedStyle(shape).fill === 'rgb(0, 0, 0)').map(shape => shape.getAttribute('class'))""")
    assert unpainted == []


def test_plan_is_in_two_columns_on_a_wide_page(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/", viewport={"width": 1100, "height": 800})
    form, answer = page.locator(".loft-change").bounding_box(), page.locator(".loft-whole").bounding_box()
    assert form["x"] >= answer["x"] + answer["width"]
    assert abs(answer["y"] - form["y"]) < 80


def test_a_plan_is_four_screens_and_three_sheets_long(open_page: Callable[..., Page], tmp_path: Path) -> None:
    """Closed, as it is opened: the failures among them. What is opened is longer, on paper too."""
    from pypdf import PdfReader

    page = open_page("plan/", viewport={"width": 360, "height": 740})
    box = page.locator(".loft-whole").bounding_box()
    assert page.locator(".loft-fails-table tbody tr").count() > 12
    assert (box["y"] + box["height"]) / 740 <= 4
    page.pdf(path=tmp_path / "plan.pdf", format="A4")
    short = PdfReader(tmp_path / "plan.pdf")
    assert len(short.pages) <= 3
    assert "Never parted" in " ".join(sheet.extract_text() for sheet in short.pages)
    assert page.locator("[data-part] svg").count() == 0
    page.locator("details[data-part='main.folding'] > summary").click()
    until(page, f"{FILLED} && document.querySelector('[data-part] svg') !== null")
    page.pdf(path=tmp_path / "plan.pdf", format="A4")
    assert len(PdfReader(tmp_path / "plan.pdf").pages) > len(short.pages)


def test_what_still_is_the_starting_rigs_is_counted(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    still = int(page.locator(".loft-whose").get_attribute("data-still"))
    type_in(page, "main.bay.tube", DEFAULTS["main.bay.tube"])
    assert int(page.locator(".loft-whose").get_attribute("data-still")) == still - 1
    expect(page.locator(".loft-whose")).to_contain_text(f"{still - 1} of the {still} measures")


# --- live ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("desk", CALCULATORS.values(), indirect=True)
def test_live_answer_to_the_demo_rig_is_the_static_one(open_page: Callable[..., Page], desk: Page, site_url: str) -> None:
    # what the page's own scripts add to pictures is not part of the answer
    words = """[...document.querySelectorAll('.loft-answer, .loft-more')].map((part) => { const answer = part.cloneNode(true);
        answer.querySelectorAll('.loft-foldbar, .loft-told').forEach(added => added.remove()); return answer.textContent; })"""
    static = open_page(desk.url.removeprefix(site_url), live=False, java_script_enabled=False).evaluate(words)
    assert desk.evaluate(words) == static
    assert desk.locator(".loft-stale").count() == 0


def test_what_is_typed_is_answered_kept_and_the_same_on_every_page(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("folding/")
    before = page.locator(".loft-summary").inner_text()
    type_in(page, "main.canopy.size", "1.1 m")
    assert page.locator(".loft-summary").inner_text() != before
    after = page.locator(".loft-summary").inner_text()
    page.reload()
    until(page, LIVE)
    assert page.input_value('[name="main.canopy.size"]') == "1.1 m"
    assert page.locator(".loft-summary").inner_text() == after
    page.goto(site_url + "plan/")
    until(page, LIVE)
    assert page.input_value('[name="main.canopy.size"]') == "1.1 m"
    expect(page.locator("loft-rigbar")).to_contain_text("kept in this browser")


def test_two_tabs_have_one_rig(open_page: Callable[..., Page], site_url: str) -> None:
    first = open_page("folding/")
    second = first.context.new_page()
    second.goto(site_url + "packing/")
    until(second, LIVE)
    number = answers(second)
    type_in(first, "main.bay.tube", "75 mm")
    until(second, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
    assert second.input_value('[name="main.bay.tube"]') == "75 mm"


def test_a_fault_stands_at_its_field_and_offers_readings(open_page: Callable[..., Page]) -> None:
    page = open_page("folding/")
    good = page.locator(".loft-answer").inner_text()
    type_in(page, "main.canopy.size", "1,250 m")
    field = page.locator('[data-field="main.canopy.size"]')
    expect(field.locator("input")).to_have_attribute("aria-invalid", "true")
    expect(field.locator(".loft-fault")).to_be_visible()
    assert field.locator(".loft-fault").get_attribute("id") in field.locator("input").get_attribute("aria-describedby")
    expect(page.locator(".loft-answer")).to_have_class(re.compile("loft-stale"))
    expect(page.locator(".loft-state")).to_contain_text("do not match what is typed")
    assert page.locator(".loft-answer").inner_text() == good

    page.reload()  # a fault is kept, too
    until(page, "document.querySelector('[aria-invalid]')")
    assert page.input_value('[name="main.canopy.size"]') == "1,250 m"

    field.get_by_role("button", name="Use 1.25 m").click()
    until(page, LIVE)
    assert page.input_value('[name="main.canopy.size"]') == "1.25 m"
    expect(field.locator(".loft-fault")).to_be_hidden()
    assert page.locator("[aria-invalid], .loft-stale").count() == 0
    assert page.evaluate("document.activeElement.name") == "main.canopy.size"


def test_a_fault_typed_on_another_page_is_named_and_linked(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("plan/", viewport=PHONE)
    type_in(page, "flight.wind", "a breeze")
    page.goto(site_url + "folding/")
    until(page, "document.querySelector('.loft-elsewhere')")
    page.locator(".loft-elsewhere a").click()
    until(page, "document.activeElement?.name === 'flight.wind'")
    expect(page.locator('[name="flight.wind"]')).to_be_visible()
    assert page.input_value('[name="flight.wind"]') == "a breeze"


def test_fields_that_say_nothing_about_this_rig_are_hidden_and_keep_their_text(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    open_all(page)
    slope = page.locator('[data-field="main.canopy.slope"]')
    expect(slope).to_be_hidden()
    page.select_option('[name="main.canopy.family"]', "conical")
    expect(slope).to_be_visible()
    page.fill('[name="main.canopy.slope"]', "31 deg")
    page.select_option('[name="main.canopy.family"]', "flat polygon")
    expect(slope).to_be_hidden()
    page.select_option('[name="main.canopy.family"]', "conical")
    assert page.input_value('[name="main.canopy.slope"]') == "31 deg"


def test_a_new_answer_leaves_the_reader_where_they_were(open_page: Callable[..., Page]) -> None:
    page = open_page("folding/", viewport=PHONE)
    page.locator(".loft-working summary").click()
    page.locator(".loft-working summary").focus()
    page.evaluate("document.querySelectorAll('.loft-step')[3].scrollIntoView()")
    top = page.evaluate("document.querySelectorAll('.loft-step')[3].getBoundingClientRect().top")
    number = answers(page)
    page.evaluate("""{ const box = document.querySelector('[name="main.bay.depth"]'); box.value = '510 mm';
        box.dispatchEvent(new Event('input', { bubbles: true })); }""")
    until(page, f"Number(document.querySelector('.loft-answer').dataset.answer) > {number}")
    assert page.locator(".loft-working").evaluate("part => part.open")
    assert page.evaluate("document.activeElement.localName") == "summary"
    assert abs(page.evaluate("document.querySelectorAll('.loft-step')[3].getBoundingClientRect().top") - top) < 2


SLOW_MESSENGER = """
export const asked = (globalThis.asked = []);
export const firstAnswer = new Promise(() => {});
export const onState = (call) => call({ phase: "live", progress: 1, how: "snapshot", message: "" });
export const ask = (request) => new Promise((resolve, reject) => asked.push({ request, resolve, reject }));
"""


def with_messenger(text: str) -> Callable[[Page], None]:
    def replace(route: Route) -> None:
        route.fulfill(body=text, content_type="text/javascript")

    return lambda page: page.route("**/assets/live/messenger.js", replace)


def test_the_latest_question_wins(open_page: Callable[..., Page]) -> None:
    page = open_page("cord/", live=False, before=with_messenger(SLOW_MESSENGER))
    until(page, "asked.length === 1")
    for text in ("1 m", "2 m", "3 m"):
        page.fill('[name="main.cord.length"]', text)
    assert page.evaluate("asked.length") == 1  # one at a time
    page.evaluate("asked[0].resolve({ ok: true, html: '<p>late</p>', summary: 'late' })")
    until(page, "asked.length === 2")
    assert page.evaluate("asked[1].request.fields['main.cord.length']") == "3 m"
    assert answers(page) == 0
    page.evaluate("asked[1].resolve({ ok: true, html: '<p>newest</p>', summary: 'newest' })")
    until(page, "asked.length === 3")
    assert page.evaluate("asked[2].request.do") == "more"
    assert page.evaluate("asked[2].request.fields['main.cord.length']") == "3 m"
    assert page.locator(".loft-answer").inner_text() == "newest"
    assert answers(page) == 0  # the rest is still to come
    page.evaluate("asked[2].resolve({ ok: true, html: '<p>its rest</p>' })")
    until(page, LIVE)
    assert page.locator(".loft-answer").inner_text() == "newest"
    assert page.locator(".loft-more").inner_text() == "its rest"
    assert answers(page) == 1


# Of what leads and of the rest: its words, and whether it is marked as not being of the rig as typed.
BOTH = """[...document.querySelectorAll('loft-calculator .loft-answer, loft-calculator .loft-more')]
    .map((part) => [part.innerText.trim(), part.ariaBusy === 'true' || part.classList.contains('loft-stale')])"""


def reply_to(page: Page, number: int, reply: str) -> None:
    """Answers a question that a slow messenger holds, and waits until the page has taken it in."""
    until(page, f"asked.length > {number}")
    page.evaluate(f"asked[{number}].{reply}")
    page.wait_for_timeout(50)


def first_of_both(page: Page) -> None:
    reply_to(page, 0, "resolve({ ok: true, html: '<p>lead 1</p>', summary: '1' })")
    reply_to(page, 1, "resolve({ ok: true, html: '<p>rest 1</p>' })")
    assert page.evaluate(BOTH) == [["lead 1", False], ["rest 1", False]]


@pytest.mark.parametrize("path", ["cord/", "plan/"])
def test_figures_of_the_rig_before_never_look_like_those_of_the_rig_as_typed(open_page: Callable[..., Page], path: str) -> None:
    page = open_page(path, live=False, before=with_messenger(SLOW_MESSENGER))
    first_of_both(page)
    page.evaluate(OPEN, "main.cord.length")
    page.fill('[name="main.cord.length"]', "2 m")
    assert page.evaluate(BOTH) == [["lead 1", True], ["rest 1", True]]
    reply_to(page, 2, "resolve({ ok: true, html: '<p>lead 2</p>', summary: '2' })")
    assert page.evaluate(BOTH) == [["lead 2", False], ["rest 1", True]]
    until(page, "Number(getComputedStyle(document.querySelector('.loft-more')).opacity) < 1")  # after a blink, in which most are answered
    page.fill('[name="main.cord.length"]', "3 m")  # typed on while the rest is on its way: that rest is nobody's any more
    assert page.evaluate(BOTH) == [["lead 2", True], ["rest 1", True]]
    reply_to(page, 3, "resolve({ ok: true, html: '<p>rest 2</p>' })")
    assert page.evaluate(BOTH) == [["lead 2", True], ["rest 1", True]]
    reply_to(page, 4, "resolve({ ok: true, html: '<p>lead 3</p>', summary: '3' })")
    assert page.evaluate("asked[4].request.fields['main.cord.length']") == "3 m"
    reply_to(page, 5, "resolve({ ok: true, html: '<p>rest 3</p>' })")
    assert page.evaluate("[asked[5].request.do, asked[5].request.fields['main.cord.length']]") == ["more", "3 m"]
    assert page.evaluate(BOTH) == [["lead 3", False], ["rest 3", False]]
    assert answers(page) == 2
    page.fill('[name="main.cord.length"]', "three metres")
    reply_to(page, 6, "resolve({ ok: false, faults: [{ field: 'main.cord.length', label: 'Length', message: 'not a length' }] })")
    assert page.evaluate(BOTH) == [["lead 3", True], ["rest 3", True]]
    assert page.evaluate("asked.length") == 7  # of what is refused no rest is asked
    expect(page.locator(".loft-state")).to_contain_text("do not match what is typed")


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        ("resolve({ ok: false, broken: 'RuntimeError: no' })", "RuntimeError: no"),
        ("reject(new Error('The worker is gone.'))", ""),
    ],
)
def test_where_the_rest_breaks_nothing_old_looks_current_and_the_next_answer_heals_it(
    open_page: Callable[..., Page], broken: str, words: str
) -> None:
    page = open_page("cord/", live=False, before=with_messenger(SLOW_MESSENGER))
    first_of_both(page)
    page.fill('[name="main.cord.length"]', "2 m")
    reply_to(page, 2, "resolve({ ok: true, html: '<p>lead 2</p>', summary: '2' })")
    reply_to(page, 3, broken)
    (lead, _), rest = page.evaluate(BOTH)
    assert lead == "lead 2"
    assert rest == ["rest 1", True]
    assert answers(page) == 1
    expect(page.locator("loft-calculator")).to_contain_text(words)
    page.fill('[name="main.cord.length"]', "3 m")
    reply_to(page, 4, "resolve({ ok: true, html: '<p>lead 3</p>', summary: '3' })")
    reply_to(page, 5, "resolve({ ok: true, html: '<p>rest 1</p>' })")
    assert page.evaluate(BOTH) == [["lead 3", False], ["rest 1", False]]
    assert answers(page) == 2
    assert page.locator(".loft-elsewhere").count() == 0


# Answers what leads, and is lost over the rest.
DEADLY_WORKER = """
self.onmessage = ({ data }) => {
  if (data.kind === "start") return self.postMessage({ kind: "state", phase: "live", progress: 1, how: "snapshot", message: "" });
  if (JSON.parse(data.text).do === "more") throw new Error("lost");
  return self.postMessage({ kind: "answer", number: data.number, text: '{"ok": true, "html": "<p>lead</p>", "summary": "s"}' });
};
"""


def test_a_rest_that_the_worker_dies_of_is_not_tried_for_ever(open_page: Callable[..., Page]) -> None:
    def deadly(page: Page) -> None:
        page.route("**/assets/live/worker.js", lambda route: route.fulfill(body=DEADLY_WORKER, content_type="text/javascript"))

    page = open_page("cord/", live=False, before=deadly)
    until(page, "document.querySelector('.loft-state')?.dataset.phase === 'failed'")
    expect(page.locator(".loft-state")).to_contain_text("stopped")
    assert [marked for _, marked in page.evaluate(BOTH)] == [True, True]


def test_words_from_the_reader_never_become_html(open_page: Callable[..., Page]) -> None:
    hostile = "<img src=x onerror=window.broken=1>"
    reply = {"ok": False, "faults": [{"field": "main.cord.length", "label": hostile, "message": hostile, "readings": [hostile]},
                                     {"field": "no.where", "label": hostile, "message": hostile}]}  # fmt: skip
    page = open_page("cord/", live=False, before=with_messenger(SLOW_MESSENGER))
    until(page, "asked.length === 1")
    page.evaluate(f"asked[0].resolve({json.dumps(reply)})")
    until(page, "document.querySelector('[aria-invalid]')")
    assert page.locator(".loft-fault img, .loft-elsewhere img, .loft-state img").count() == 0
    expect(page.locator('[data-field="main.cord.length"] .loft-fault')).to_contain_text(hostile)


def test_a_rig_name_with_markup_stays_words(open_page: Callable[..., Page]) -> None:
    page = open_page("plan/")
    type_in(page, "rig.name", "<b>x</b><script>window.broken = 1</script>")
    assert page.locator("#plan-of-rig b, loft-rigbar b").count() == 0
    assert page.evaluate("window.broken === undefined")


# --- when something does not work ----------------------------------------------------------------------------


def test_without_the_runtime_the_static_answer_stays_and_typing_is_kept(open_page: Callable[..., Page]) -> None:
    def cut(page: Page) -> None:
        page.route("**/assets/live/worker.js", break_down)

    page = open_page("plan/", live=False, before=cut)
    until(page, "document.querySelector('.loft-state')?.dataset.phase === 'failed'")
    expect(page.locator(".loft-state")).to_contain_text("stopped")
    expect(page.locator(".loft-state")).to_contain_text("demo rig")
    expect(page.locator(".loft-summary").first).to_be_visible()
    assert page.locator(".loft-stale").count() == 0  # they are right for the demo rig
    page.evaluate(OPEN, "rocket.mass")
    page.fill('[name="rocket.mass"]', "3 kg")
    expect(page.locator(".loft-answer")).to_have_class(re.compile("loft-stale"))
    expect(page.locator(".loft-state")).to_contain_text("do not match")
    page.reload()
    until(page, "document.querySelector('.loft-state')?.dataset.phase === 'failed'")
    assert page.input_value('[name="rocket.mass"]') == "3 kg"


@pytest.mark.parametrize("path", ["host/", "folding/"])
def test_the_menu_of_a_wide_screen_ends_above_the_foot_of_the_page(open_page: Callable[..., Page], path: str) -> None:
    page = open_page(path, live=False)
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    until(page, "document.querySelector('.md-footer').getBoundingClientRect().bottom <= innerHeight + 1")
    foot, menu = (page.locator(where).bounding_box() for where in (".md-footer", ".md-sidebar--primary .md-sidebar__scrollwrap"))
    assert menu["height"] > 300
    assert menu["y"] + menu["height"] <= foot["y"]


def test_while_it_starts_the_page_says_so(open_page: Callable[..., Page]) -> None:
    starting = SLOW_MESSENGER.replace('phase: "live", progress: 1', 'phase: "starting", progress: 0.4')
    page = open_page("cord/", live=False, before=with_messenger(starting))
    expect(page.locator(".loft-state progress")).to_be_visible()
    assert page.locator(".loft-state progress").evaluate("meter => meter.value") == 0.4
    expect(page.locator(".loft-state")).to_contain_text("for the demo rig")


@pytest.mark.parametrize("how", ["none at all", "full"])
def test_without_storage_calculators_go_on_and_the_reader_is_told(open_page: Callable[..., Page], how: str) -> None:
    refusals = {
        "none at all": "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } })",
        "full": "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); };" + NO_DATABASE,
    }
    page = open_page("folding/", before=lambda page: page.add_init_script(refusals[how]))
    type_in(page, "main.bay.tube", "75 mm")
    assert page.locator(".loft-stale").count() == 0
    expect(page.locator(".loft-trouble")).to_be_visible()
    expect(page.locator(".loft-trouble")).to_contain_text("file")


def test_storage_that_is_not_ours_is_told_and_survived(open_page: Callable[..., Page]) -> None:
    page = open_page("folding/", before=lambda page: page.add_init_script("localStorage.setItem('loftbook.rig', '{\"a\": [')"))
    expect(page.locator(".loft-trouble")).to_contain_text("could not be read")


# --- links -------------------------------------------------------------------------------------------------------


def test_a_copied_link_carries_the_rig(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("folding/", permissions=["clipboard-read", "clipboard-write"])
    type_in(page, "main.canopy.size", "1.1 m")
    page.evaluate(OPEN, "rig.units")
    page.select_option('[name="rig.units"]', "feet and inches")
    open_bar(page)
    page.get_by_role("button", name="Copy a link with this rig").click()
    expect(page.locator(".loft-note")).to_contain_text("copied")
    link = page.evaluate("navigator.clipboard.readText()")
    assert link.startswith(f"{site_url}folding/#~")
    assert unpacked(link) == {"rig.start": TWO_BAYS_98, "main.canopy.size": "1.1 m", "rig.units": "feet and inches"}

    other = open_page(link.removeprefix(site_url))
    assert other.input_value('[name="main.canopy.size"]') == "1.1 m"
    assert other.locator(".loft-summary").inner_text() == page.locator(".loft-summary").inner_text()
    assert "~" not in other.url  # so that loading it again does not undo what is typed after
    expect(other.locator("loft-rigbar")).to_contain_text("from a link")


@pytest.mark.parametrize("path", ["folding/", "packing/"])
def test_a_link_leads_to_its_step(open_page: Callable[..., Page], path: str) -> None:
    step = step_ids(open_page(path, live=False))[4]
    page = open_page(f"{path}#{step}~{payload({'main.canopy.size': '1.5 m', 'rig.name': 'mine'})}", viewport=PHONE)
    until(page, f"Math.abs(document.getElementById('{step}').getBoundingClientRect().top) < 120", 10)
    assert page.url.endswith(f"#{step}")
    assert page.evaluate("document.activeElement.id") == step


@pytest.mark.parametrize("path", ["folding/", "packing/"])
def test_each_step_has_a_link_with_the_rig(open_page: Callable[..., Page], path: str) -> None:
    page = open_page(path, permissions=["clipboard-read", "clipboard-write"])
    type_in(page, "main.bay.tube", "75 mm")
    step = step_ids(page)[2]
    link = page.locator(f"#{step} .loft-steplink")
    until(page, f"document.querySelector('#{step} .loft-steplink').href.includes('/step/#{step}~')")
    assert unpacked(link.get_attribute("href")) == {"rig.start": TWO_BAYS_98, "main.bay.tube": "75 mm"}
    link.click()
    expect(page.locator(".loft-note")).to_contain_text("copied")
    assert page.evaluate("navigator.clipboard.readText()") == link.get_attribute("href")
    page.get_by_role("link", name="Look at it").click()
    until(page, "document.querySelector('loft-handout .loft-answer')?.dataset.answer > 0")
    assert page.locator("loft-handout h2").get_attribute("id") == step


def test_a_link_does_not_destroy_the_readers_own_rig(open_page: Callable[..., Page], site_url: str) -> None:
    page = open_page("folding/")
    type_in(page, "main.bay.tube", "75 mm")
    mine = stored(page)
    for tube in ("54 mm", "66 mm"):  # a second link is not mistaken for the reader's own rig
        page.goto("about:blank")
        page.goto(f"{site_url}folding/#~{payload({'main.bay.tube': tube})}")
        until(page, LIVE)
        assert page.input_value('[name="main.bay.tube"]') == tube
        assert stored(page, "loftbook.rig.before") == mine
    page.reload()
    until(page, LIVE)
    page.get_by_role("button", name="Go back to my own rig").click()
    assert page.input_value('[name="main.bay.tube"]') == "75 mm"
    assert stored(page) == mine
    assert stored(page, "loftbook.rig.before") is None


def test_a_link_pasted_over_an_open_page_is_read(open_page: Callable[..., Page]) -> None:
    page = open_page("folding/")
    page.evaluate(f"location.hash = '#~{payload({'main.bay.tube': '54 mm'})}'")
    until(page, "document.querySelector('[name=\"main.bay.tube\"]').value === '54 mm'")


HOSTILE = {
    "too long": "A" * (16 * 1024 + 1),
    "unpacks to too much": payload({"rig.name": "x" * 5_000_000}),
    "not base64": "a b%20!",
    "not packed": base64.urlsafe_b64encode(b'{"rig.name": "x"}').decode().rstrip("="),
    "cut short": payload({"rig.name": "long enough to be cut", "main.bay.tube": "54 mm"})[:-12],
    "not a rig": payload([1, 2, 3]),
    "unknown field": payload({"rocket.colour": "red"}),
    "not text": payload({"main.bay.tube": {"a": 1}}),
    "out of its limits": payload({"main.bay.tube": "54 km"}),
    "markup": payload({"main.bay.tube": "<img src=x onerror=window.broken=1>"}),
    "prototype": payload({"__proto__": {"main.bay.tube": "54 mm"}}),
    "empty": "",
}


@pytest.mark.parametrize("case", HOSTILE)
def test_a_bad_link_is_told_and_changes_nothing(open_page: Callable[..., Page], site_url: str, case: str) -> None:
    page = open_page("folding/")
    type_in(page, "main.bay.tube", "75 mm")
    mine = stored(page)
    page.goto("about:blank")
    page.goto(f"{site_url}folding/#~{HOSTILE[case]}")
    expect(page.locator(".loft-note")).to_contain_text("Your own rig is as it was", timeout=30_000)
    until(page, LIVE)
    assert page.input_value('[name="main.bay.tube"]') == "75 mm"
    assert stored(page) == mine
    assert stored(page, "loftbook.rig.before") is None
    assert page.locator(".loft-note img").count() == 0
    assert page.evaluate("window.broken === undefined")


# --- files ---------------------------------------------------------------------------------------------------


def test_a_rig_goes_to_a_file_and_comes_back(open_page: Callable[..., Page], tmp_path: Path) -> None:
    page = open_page("plan/")
    type_in(page, "rig.name", "Ärger & Co/../2")
    type_in(page, "main.bay.tube", "75 mm")
    open_bar(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save rig to a file").click()
    assert re.fullmatch(r"[a-z0-9_-]+\.toml", download.value.suggested_filename)
    file = tmp_path / "rig.toml"
    download.value.save_as(file)

    page.get_by_role("button", name=TWO_BAYS_98).click()
    assert page.input_value('[name="main.bay.tube"]') == "98 mm"
    page.get_by_role("button", name="Undo: go back to the rig I had").click()
    assert page.input_value('[name="main.bay.tube"]') == "75 mm"

    other = open_page("plan/")
    open_bar(other)
    with other.expect_file_chooser() as chooser:
        other.get_by_role("button", name="Open a rig file").click()
    chooser.value.set_files(file)
    expect(other.locator(".loft-note")).to_contain_text("is open")
    assert other.input_value('[name="main.bay.tube"]') == "75 mm"
    assert other.input_value('[name="rig.name"]') == "Ärger & Co/../2"
    expect(other.locator("loft-rigbar")).to_contain_text("from a file")


@pytest.mark.parametrize(
    ("name", "content"),
    [("big.toml", "#" * (256 * 1024 + 1)), ("prose.toml", "Dear rocket,"), ("wrong.json", '{"main.bay.tube": "54 km"}'),
     ("binary.toml", "\0\1\2"), ("<img src=x>.toml", "nothing = ]")],
)  # fmt: skip
def test_a_bad_file_is_told_and_changes_nothing(open_page: Callable[..., Page], name: str, content: str) -> None:
    page = open_page("folding/")
    type_in(page, "main.bay.tube", "75 mm")
    page.set_input_files("loft-rigbar input[type=file]", {"name": name, "mimeType": "text/plain", "buffer": content.encode()})
    expect(page.locator(".loft-note")).to_contain_text("Nothing was changed")
    assert page.locator(".loft-note li").count() >= 1
    assert page.locator(".loft-note img").count() == 0
    assert page.input_value('[name="main.bay.tube"]') == "75 mm"


# --- on paper --------------------------------------------------------------------------------------------------

MM = 96 / 25.4


SHEETS = {"A4": 210, "Letter": 215.9}


@pytest.fixture
def paper(phone: Page) -> Iterator[Page]:
    """The same page as it is printed."""
    phone.emulate_media(media="print")
    yield phone
    phone.emulate_media(media="screen")
    phone.set_viewport_size(PHONE)


@pytest.mark.parametrize("phone", PAGES, indirect=True)
def test_on_paper_nothing_is_wider_than_the_sheet(paper: Page, site_url: str) -> None:
    page, path = paper, paper.url.removeprefix(site_url)
    for sheet, width in SHEETS.items():
        inside = int((width - 2 * 13) * MM)
        page.set_viewport_size({"width": inside, "height": 1000})
        assert page.evaluate("document.documentElement.scrollWidth") <= inside, sheet
        for gone in (".md-header", ".loft-form", "loft-rigbar", ".md-footer"):
            assert not page.locator(gone).first.is_visible() if page.locator(gone).count() else True
        for name in [name for name, place in CALCULATORS.items() if place == path]:
            expect(page.locator(".loft-answer .loft-summary").first).to_be_visible()
            if drawn(name):
                expect(page.locator(".loft-drawing svg").first).to_be_visible()
            for caution in page.locator("blockquote, .loft-cautions").all():
                expect(caution).to_be_visible()


def test_on_paper_stands_what_was_typed(open_page: Callable[..., Page], tmp_path: Path) -> None:
    from pypdf import PdfReader

    page = open_page("packing/", color_scheme="dark")
    type_in(page, "main.bay.tube", "75 mm")
    page.emulate_media(media="print")
    page.pdf(path=tmp_path / "card.pdf", format="A4", prefer_css_page_size=True)
    text = " ".join(sheet.extract_text() for sheet in PdfReader(tmp_path / "card.pdf").pages)
    assert "75 mm" in text
    assert FIELDS["main.bay.tube"].label in text
    assert "Search" not in text


@pytest.mark.parametrize("desk", CALCULATORS.values(), indirect=True)
def test_what_leads_never_lies_over_the_rest(desk: Page) -> None:
    """It stays in view beside the fields on a wide screen; scrolled on into the rest it is gone."""
    over = desk.evaluate("""async () => {
      const found = [];
      for (const rest of document.querySelectorAll(".loft-more")) {
        const lead = rest.closest("loft-calculator").querySelector(".loft-answer");
        for (const deep of [200, 900, 2500]) {
          scrollTo({ top: rest.getBoundingClientRect().top + scrollY + deep, behavior: "instant" });
          await new Promise(requestAnimationFrame);
          if (lead.getBoundingClientRect().bottom > rest.getBoundingClientRect().top + 1) found.push(deep);
        }
      }
      return found;
    }""")
    assert over == []


def test_on_the_sheets_that_a_canopy_is_sewn_from_stands_what_it_is_sewn_by(open_page: Callable[..., Page], tmp_path: Path) -> None:
    """With paper only: cautions and tools in full, no link to them; not whether it was bought, nor an allowance that no step uses."""
    from unicodedata import normalize

    from pypdf import PdfReader

    page = open_page("making/")
    expect(page.locator(".loft-onpaper")).not_to_be_visible()
    page.pdf(path=tmp_path / "making.pdf", format="A4", prefer_css_page_size=True)
    sheets = PdfReader(tmp_path / "making.pdf").pages
    text = re.sub(r"\s+", " ", normalize("NFKC", " ".join(sheet.extract_text() for sheet in sheets)))  # without ligatures
    assert len(sheets) <= 20
    for told in ("On these sheets “the rig” is", "Before you sew, pull or drop", "nobody behind it: what parts flies", "To have at hand", "luggage scale, to"):
        assert told in text
    for label in ("main.make.sewn", "main.canopy.seam"):
        assert FIELDS[label].label not in text
    assert FIELDS["main.make.seam_width"].label in text
    page.emulate_media(media="print")
    expect(page.locator(".loft-caution > a").first).not_to_be_visible()


WATCH_SHIFTS = """window.shifts = []; new PerformanceObserver((list) => {
  for (const { value, hadRecentInput, sources } of list.getEntries())
    if (!hadRecentInput) shifts.push([value, sources.map(({ node }) => node?.className ?? node?.nodeName).join()]);
}).observe({ type: "layout-shift", buffered: true })"""


@pytest.mark.parametrize("path", ["", "plan/", "folding/", "start/", "step/", "card/", "pattern/", "measured/", "logbook/"])
def test_nothing_moves_when_the_script_wakes_what_stands_in_the_page(chromium: Browser, site_url: str, path: str) -> None:
    """What it wakes has its place from the start: on a slow line a reader would lose theirs. Below 0.1 it counts as good (Web Vitals)."""
    page = chromium.new_context(viewport=PHONE, service_workers="block").new_page()
    page.add_init_script(WATCH_SHIFTS)
    held: list[Route] = []
    page.route("**/assets/live/start.js", lambda route: held.append(route))
    page.goto(site_url + path, wait_until="commit")
    until(page, "performance.getEntriesByType('paint').length")
    page.wait_for_timeout(300)
    for route in held:
        route.continue_()
    until(page, "document.querySelector('loft-rigbar, loft-home') && !document.querySelector('.loft-notlive, [inert]')")
    page.wait_for_timeout(300)
    shifts = page.evaluate("shifts")
    assert held
    assert sum(value for value, _ in shifts) < 0.02, shifts
    page.context.close()
