"""What somebody made to break the page, in a real browser: markup in every text that comes from outside, bombs, names and numbers that
are none. Of each: nothing of it runs, no element of it appears, the page never hangs, an answer or a refusal comes, and what the reader
had is still there. Hundreds go through one page, by the page's own ways: a chosen file, the address, a control, the browser's storage.
"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from test_pages import payload

from conftest import until
from loftbook.log.entries import Entry, line, to_csv
from loftbook.log.kinds import LONGEST_NOTE
from loftbook.rig.fields import DEFAULTS, FIELDS

pytestmark = pytest.mark.browser

HANG = 1000  # ms that the page may be busy at one stretch

RUN = "window.broken=1"
MARKUP = (
    f"<script data-hostile>{RUN}</script>",
    f"<img data-hostile src=x-hostile onerror={RUN}>",
    f"<svg data-hostile onload={RUN}><animate onbegin={RUN} attributeName=x dur=1s>",
    f"<x-hostile onclick={RUN}>x</x-hostile>",
    f'"><b data-hostile onmouseover="{RUN}">',
    f"'><b data-hostile onfocus='{RUN}' autofocus tabindex=0>",
    f"`><b data-hostile onfocus=`{RUN}`>",
    f"</textarea></select></option><img data-hostile src=x-hostile onerror={RUN}>",
    f"</title></style></script><img data-hostile src=x-hostile onerror={RUN}>",
    f'--><img data-hostile src=x-hostile onerror="{RUN}"><!--',
    f"]]><img data-hostile src=x-hostile onerror={RUN}><![CDATA[",
    f"<iframe data-hostile srcdoc='<script>parent.{RUN[7:]}</script>'></iframe>",
    f"<a data-hostile href='javascript:{RUN}'>x</a>",
    "<base data-hostile href='//x-hostile/'>",
    "<meta data-hostile http-equiv=refresh content='0;url=/x-hostile'>",
    "<style data-hostile>*{display:none}</style>",
    f"<math><mtext><mglyph><style><img data-hostile src=x-hostile onerror={RUN}>",
    f"<form data-hostile action=x-hostile><button formaction='javascript:{RUN}'>",
    f"&lt;img data-hostile src=x-hostile onerror={RUN}&gt;",
    f"&#60;img data-hostile src=x-hostile onerror={RUN}&#62;",
    f"\\x3cimg data-hostile src=x-hostile onerror={RUN}\\x3e",
    f"${{{RUN}}}{{{{constructor.constructor('{RUN}')()}}}}",
    f"javascript:{RUN}//",
    f"\u202e<img data-hostile src=x-hostile onerror={RUN}>\u2066",
    f"<\x00script data-hostile>{RUN}</script\x00>",
    f"\u2028\u2029<img data-hostile src=x-hostile onerror={RUN}>",
    f"\ud800<img data-hostile src=x-hostile onerror={RUN}>\udfff",
    f"＜img data-hostile src=x-hostile onerror={RUN}＞",
    f"=HYPERLINK(\"javascript:{RUN}\")",
)  # fmt: skip
NUMBERS = ("1e999", "-1e999", "NaN", "Infinity", "0x10", "1_000", "9" * 400, "1" + "0" * 70 + " m", "-0", "0", "1e-320 m", "٣ m", "½½ m", "1/0 m", "m", "1 m m", "--1 m", "1,0,0 m", "\x00", " ")
NAMES = ("__proto__", "constructor", "prototype", "toString", "hasOwnProperty", "valueOf", "__defineGetter__", "length", "then", "")

# What each page listens with, and the ways in. Texts come as JSON, for some have halves of signs in them.
DRIVER = """
window.violations = []; window.errors = []; window.longest = 0;
addEventListener("securitypolicyviolation", (event) => violations.push(`${event.violatedDirective} ${event.blockedURI} ${event.sample}`));
addEventListener("error", (event) => errors.push(String(event.message)));
addEventListener("unhandledrejection", (event) => errors.push(`promise: ${event.reason?.stack ?? event.reason}`));
new PerformanceObserver((list) => list.getEntries().forEach(({ duration }) => (longest = Math.max(longest, duration)))).observe({ type: "longtask" });
window.hostile = {
  own: Object.getOwnPropertyNames(Object.prototype).length,
  rest: (ms = 0) => new Promise((resolve) => setTimeout(resolve, ms)),
  async until(fits, what, most = 15_000) {
    for (const end = performance.now() + most; performance.now() < end; await this.rest(2)) { const found = fits(); if (found) return found; }
    throw new Error(`not so: ${what}`);
  },
  wrong() {
    const there = document.querySelector('[data-hostile], x-hostile, [src*="x-hostile"], [action*="x-hostile"], [href*="x-hostile"], [href^="javascript:"], [srcdoc]');
    const found = [
      window.broken === undefined ? "" : "a script ran", there ? `an element appeared: ${there.outerHTML.slice(0, 200)}` : "",
      violations.length ? `the policy was broken: ${violations.join("; ")}` : "", errors.length ? `an error: ${errors.join("; ")}` : "",
      Object.getOwnPropertyNames(Object.prototype).length === this.own && !("polluted" in {}) ? "" : "the prototype of all objects was changed",
      document.body.innerText.includes("[object ") ? "a thing is shown that is no text" : "",
      longest > HANG ? `the page hung for ${longest} ms` : "",
    ].filter(Boolean).join(" | ");
    violations.length = errors.length = 0; longest = 0; delete window.broken; there?.remove();
    return found;
  },
  give(input, name, text) {
    const files = new DataTransfer();
    files.items.add(new File([text], name));
    input.files = files.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  },
  rig: () => localStorage.getItem("loftbook.rig"),
  piled: () => [localStorage.getItem("loftbook.rig"), localStorage.getItem("loftbook.rig.before"), localStorage.getItem("loftbook.rig.earlier")].join(" "),
  /** One after the other by the same way; what each was answered with. */
  async all(json, way) {
    const found = [];
    for (const one of JSON.parse(json)) {
      const told = await way(one).catch((error) => `!!! ${error.message}`);
      await this.rest();
      found.push([String(told ?? "").slice(0, 1500), this.wrong(), this.piled().slice(0, 5000)]);
    }
    return found;
  },
};
""".replace("HANG", str(HANG))

FILE = """async ({ name, text, times }) => {
    const bar = document.querySelector("loft-rigbar"), note = bar.querySelector(".loft-note");
    note.replaceChildren();
    hostile.give(bar.querySelector("input[type=file]"), name ?? "rig.toml", times ? text.repeat(times) : text);
    return hostile.until(() => note.textContent, "the rig bar answers");
}"""
LINK = """async ({ link }) => {
    const note = document.querySelector("loft-rigbar .loft-note");
    note.replaceChildren(Object.assign(document.createElement("i"), { id: "old" }));
    location.hash = `#~${link}`;
    return hostile.until(() => !note.querySelector("#old") && !note.textContent.startsWith("Reading") && !location.hash.includes("~") && (note.textContent || "the same"), "the link is answered");
}"""
BOOK = """async ({ name, text, times }) => {
    const book = document.querySelector("loft-logbook"), note = book.querySelector(".loft-note");
    note.replaceChildren();
    hostile.give(book.querySelector("input[accept*=jsonl]"), name ?? "book.jsonl", times ? text.repeat(times) : text);
    const told = await hostile.until(() => note.textContent, "the logbook answers");
    for (const row of book.querySelectorAll(".loft-logrow:not([open])")) {
        row.open = true;
        await hostile.until(() => row.querySelector(".loft-logbody")?.childElementCount, "the entry is told");
    }
    return told;
}"""
FLIGHT = """async ({ name, text, said, times }) => {
    const place = document.querySelector("loft-measured"), answer = place.querySelector(".loft-answer"), note = place.querySelector(".loft-note");
    const next = async (act) => {
        const before = answer.dataset.answer;
        note.replaceChildren();
        act();
        return hostile.until(() => (answer.dataset.answer !== before ? answer.textContent : note.textContent), "the flight is told");
    };
    let told = await next(() => hostile.give(place.querySelector("input[type=file]"), name ?? "flight.csv", times ? text.repeat(times) : text));
    for (const [path, value] of Object.entries(said ?? {})) {
        const control = answer.querySelector(`[data-said="${path}"]`);
        if (!control) continue;
        told = await next(() => { control.value = value; control.dispatchEvent(new Event("input", { bubbles: true })); control.dispatchEvent(new Event("change", { bubbles: true })); });
    }
    while (answer.querySelector('[data-act="remove"]')) await next(() => answer.querySelector('[data-act="remove"]').click());
    return told;
}"""
TYPED = """async ({ path, text }) => {
    const form = document.querySelector(".loft-form"), control = form.querySelector(`[name="${path}"]`), answer = document.querySelector(".loft-answer");
    if (control.options) control.add(new Option(text, text));
    const put = async (value) => {
        const before = answer.dataset.answer;
        control.value = value;
        control.dispatchEvent(new Event("input", { bubbles: true }));
        return hostile.until(() => document.querySelector("[aria-invalid], .loft-elsewhere li") ? document.querySelector(".loft-fault:not([hidden])")?.textContent ?? "refused" : answer.dataset.answer !== before && answer.textContent, "it is answered");
    };
    const was = control.value;
    const told = await put(text);
    await put(was);
    return told;
}"""
STORED = """async ({ key, text }) => {
    const before = localStorage.getItem(key);
    localStorage.setItem(key, text);
    dispatchEvent(new StorageEvent("storage", { key }));
    await hostile.rest(4);
    const told = document.querySelector("loft-rigbar").textContent;
    if (before === null) localStorage.removeItem(key); else localStorage.setItem(key, before);
    dispatchEvent(new StorageEvent("storage", { key }));
    return told;
}"""
HANDED = """async ({ key, text }) => {
    sessionStorage.setItem(key, text);
    const kind = document.querySelector('.loft-kinds [data-kind="flight"]');
    kind.click();
    await hostile.rest(4);
    const told = document.querySelector('form[data-kind="flight"]').innerText;
    kind.click();
    sessionStorage.removeItem(key);
    return told;
}"""
KEPT = """async ({ head, line }) => {
    const database = await new Promise((resolve, reject) => Object.assign(indexedDB.open("loftbook"), { onsuccess: ({ target }) => resolve(target.result), onerror: reject }));
    const work = database.transaction(["entries", "lines"], "readwrite");
    const whole = { name: "n0", day: "2026-01-01", made: "2026-01-01T00:00:00.000Z", kind: "flight", rig: "x", of: "", replaces: "", bears: "", told: "x", ...head };
    work.objectStore("entries").put(whole);
    if (line !== undefined) work.objectStore("lines").put(line, whole.name);
    await new Promise((resolve) => (work.oncomplete = resolve));
    const list = document.querySelector(".loft-loglist"), channel = new BroadcastChannel("loftbook.book");
    list.replaceChildren();
    channel.postMessage("");
    await hostile.until(() => list.childElementCount, "the list is there again");
    const row = list.querySelector(".loft-logrow");
    if (row) { row.open = true; await hostile.until(() => row.querySelector(".loft-logbody").childElementCount, "the entry is told, or why it cannot be"); }
    const told = list.textContent + document.querySelector(".loft-knownof").textContent;
    const away = database.transaction(["entries", "lines"], "readwrite");
    away.objectStore("entries").delete(whole.name);
    away.objectStore("lines").delete(whole.name);
    await new Promise((resolve) => (away.oncomplete = resolve));
    database.close();
    channel.close();
    return told;
}"""


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """One page for all payloads of a test, in a browser without a past."""
    context = chromium.new_context(service_workers="block", viewport={"width": 1280, "height": 900})
    context.add_init_script(DRIVER)
    yield context.new_page()
    context.close()


MINE = {"rig.name": "Mine own", "main.bay.tube": "97 mm"}


def put_mine(page: Page, address: str) -> None:
    """The reader's own rig, typed, on a page that is live."""
    page.goto(address)
    page.evaluate(
        "(rig) => { localStorage.clear(); localStorage.setItem('loftbook.rig', rig); localStorage.setItem('loftbook.rig.about', JSON.stringify({ from: 'typed', touched: true })); }",
        json.dumps(MINE),
    )
    page.reload()
    until(page, "document.querySelector('loft-rigbar strong')?.textContent === 'Mine own'")


def through(page: Page, way: str, cases: list[dict[str, Any]], *, mine: bool = True) -> list[str]:
    """All cases by one way; what each was answered with. Whatever was wrong with any of them is told together."""
    found = page.evaluate(f"(json) => hostile.all(json, {way})", json.dumps(cases))
    wrong = [
        f"{json.dumps(case)[:300]}: {bad or told}"
        for case, (told, bad, piled) in zip(cases, found, strict=True)
        if bad or told.startswith("!!!") or (mine and "97 mm" not in piled)
    ]
    assert not wrong, f"{len(wrong)} of {len(cases)}:\n" + "\n".join(wrong[:30])
    assert len(found) == len(cases)
    return [told for told, _, _ in found]


def toml(text: str) -> str:
    """A text as TOML has it; halves of signs cannot be spelled there."""
    return json.dumps(text.encode("utf-16", "surrogatepass").decode("utf-16", "replace"), ensure_ascii=False).replace("\x00", "\\u0000").replace("\x7f", "\\u007f")


BOMBS: tuple[dict[str, Any], ...] = (
    {"text": "\n".join(f"k{i} = 1" for i in range(2000))},
    {"text": json.dumps({f"k{i}": "x" for i in range(2000)})},
    {"text": ".".join(["a"] * 3000) + " = 1"},
    {"text": f"[{'.'.join(['a'] * 3000)}]\nb = 1"},
    {"text": "\n".join(f"[[{'.'.join(['a'] * 40)}]]" for _ in range(350))},
    {"text": "a = " + "[" * 15_000},
    {"text": "a = " + "[" * 7_000 + "]" * 7_000},
    {"text": "a = " + "{b=" * 5_000 + "1" + "}" * 5_000},
    {"text": '{"a":' * 6_000},
    {"text": '{"a":' * 5_000 + "1" + "}" * 5_000},
    {"text": '{"main": {"bay": {"tube": ' + '{"a":' * 3000 + "1" + "}" * 3003},
    {"text": "x", "times": 10_000_000},
    {"text": '{"rig.name": "' + "x" * 30_000 + '"}'},
    {"text": "#\n", "times": 16_000},
    {"text": "\ufeff", "times": 10_000},
    {"text": "\x00", "times": 30_000},
    {"text": '"', "times": 30_000},
    {"text": "'''", "times": 10_000},
    {"text": '"""\\', "times": 8_000},
    {"text": "a='x'\n", "times": 5_000},
    {"text": "[a]\n", "times": 8_000},
    {"text": "rig.name = 0x" + "f" * 20_000},
    {"text": '{"main.bay.tube": ' + "9" * 20_000 + "}"},
    {"text": '{"main.bay.tube": ' + "9" * 4_000 + "}"},
    {"text": '{"rig.name": "\\ud800"}'},
    {"text": '{"\\udfff": 1}'},
    {"text": "[]"},
    {"text": "null"},
    {"text": '{"rig": []}'},
    {"text": '{"rig": {"name": null}, "main": null}'},
    {"text": "\u202e{\u202c"},
    {"text": "rig.name = 1979-05-27T07:32:00Z"},
    {"text": "rig.name = 99:99:99"},
    {"text": "MZ\x90\x00\x03", "name": "rig.exe"},
    {"text": ""},
)  # fmt: skip


def rig_cases() -> list[dict[str, Any]]:
    start = f"[rig]\nstart = {toml(DEFAULTS['rig.start'])}\n"
    cases: list[dict[str, Any]] = []
    for one in MARKUP:
        cases += [{"text": json.dumps({path: one})} for path in ("rig.name", "main.canopy.name", "main.bay.tube", "rig.units", "flight.layers", "flight.way")]
        cases += [{"text": f"{start}name = {toml(one)}\n"}, {"text": f"{start}[flight]\nlayers = {toml(one)}\n"}]
        cases += [{"text": json.dumps({one: "1"})}, {"text": f"{start}{toml(one)} = 1\n"}, {"text": "nothing", "name": f"{one.replace('/', '')}.toml"}, {"text": one}]
    for number in NUMBERS:
        cases += [{"text": json.dumps({"main.bay.tube": number})}, {"text": f'{{"main.bay.tube": {number}}}'}, {"text": f"{start}[main.bay]\ntube = {number}\n"}]
    for name in NAMES:
        cases += [{"text": json.dumps({name: {"polluted": "yes"}})}, {"text": json.dumps({"main": {name: {"polluted": "1"}}})}, {"text": json.dumps({"rig.start": name})}, {"text": json.dumps({"rig.bay": name})}]
    return cases


def test_rig_files(page: Page, site_url: str) -> None:
    put_mine(page, f"{site_url}measured/")
    cases = rig_cases()
    told = through(page, FILE, cases)
    assert all("main.bay.tube" in case["text"] or "tube" in case["text"] for case, one in zip(cases, told, strict=True) if "Tube inner diameter" in one)
    tubes = [one for case, one in zip(cases, told, strict=True) if case["text"].startswith('{"main.bay.tube": "')]
    assert len(tubes) == len(MARKUP) + len(NUMBERS)
    assert all("Tube inner diameter" in one for one in tubes), [case for case, one in zip(cases, told, strict=True) if "Nothing was changed.Close" in one]
    layers = [one for case, one in zip(cases, told, strict=True) if case["text"].startswith('{"flight.layers"')]
    assert all(FIELDS["flight.layers"].full in one for one in layers)


def test_bombs(page: Page, site_url: str) -> None:
    """Of a file that is no rig at all: nothing changes, and why it is refused is told."""
    put_mine(page, f"{site_url}measured/")
    told = through(page, FILE, list(BOMBS))
    fine = {'{"rig.name": "\\ud800"}'}  # read as a browser writes it
    for case, one in zip(BOMBS, told, strict=True):
        assert ("is not a rig that Loftbook can use. Nothing was changed." in one) != (case["text"] in fine), (case["text"][:60], one)
    assert "larger than 32 kB" in told[11]
    assert "more than 50 parts" in told[2]
    assert page.evaluate("hostile.piled()").count("Mine own") == 1


def link_cases() -> list[dict[str, Any]]:
    cases = [{"link": payload({path: one})} for one in MARKUP for path in ("rig.name", "main.bay.tube", "flight.layers")]
    cases += [{"link": payload({one: "1"})} for one in (*MARKUP, *NAMES)]
    cases += [{"link": payload({"main.bay.tube": one})} for one in NUMBERS]
    cases += [{"link": payload(thing)} for thing in (None, 1, "x", [], [[]], {"a": {"b": {"c": 1}}}, {"rig.name": 5}, {"rig.name": "x" * 5_000_000}, {f"k{i}": "x" for i in range(2000)})]
    return cases + [{"link": one} for one in ("A" * 17_000, "%00", "%3Cscript%3E", "__proto__", "AAAA", "a" * 4_000, "~", "~~~~", "-_-_", "<img data-hostile>", "%E2%80%AE", payload(MINE)[:-9])]


def test_links(page: Page, site_url: str) -> None:
    put_mine(page, f"{site_url}measured/")
    told = through(page, LINK, link_cases())
    assert sum("Your own rig is as it was" in one for one in told) > 80


def entry(place: int, note: str = "", rig: str = "Stint", **more: Any) -> Entry:
    said = {"flight.went": "as planned"} | ({"flight.note": note} if note else {})
    return Entry(f"2026-01-01T00:00:00.{place:03}Z", "flight", "2026-01-01", rig, said=said, **more)


def book_cases(first: str) -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = [{"text": first}]
    for place, one in enumerate(MARKUP):
        good = one.isprintable()
        sealed = entry(place, one if good else "", fields={"rig.name": one if good else "x", "main.canopy.name": one if good else "x"})
        cases += [{"text": line(sealed)}, {"text": line(entry(place, rig=one[:60] if good else "x"))}]
        cases += [{"text": to_csv([sealed]).replace(sealed.name, ""), "name": "book.csv"}, {"text": to_csv([entry(place, "CELL")]).replace("CELL", f'"{one.replace(chr(34), chr(34) * 2)}"'), "name": "book.csv"}]
        cases += [{"text": to_csv([sealed]).replace("flight.apogee", f'"{one.replace(chr(34), chr(34) * 2)}"', 1), "name": "book.csv"}]
        cases += [{"text": one}, {"text": f'{{"name": {json.dumps(one)}}}'}, {"text": "{}", "name": f"{one}.jsonl"}]
    cases += [
        {"text": "[" * 100_000}, {"text": '{"a":' * 100_000}, {"text": "{\n", "times": 50_000}, {"text": "x", "times": 10_000_000}, {"text": '"', "times": 500_000},
        {"text": ",", "times": 500_000}, {"text": "\x00", "times": 100_000}, {"text": first.replace("mine", "n" * (LONGEST_NOTE + 1))}, {"text": first.replace('"said"', '"__proto__"')},
        {"text": json.dumps(json.loads(first) | {"planned": {"x": [10**300] * 7}})}, {"text": first.replace("as planned", "\\ud800")}, {"text": first.replace('"flight"', "1e999")},
    ]  # fmt: skip
    return cases


def test_books(page: Page, site_url: str) -> None:
    """Lines and tables: notes, names of rigs, cells, columns, names of files; what was written down before stays."""
    put_mine(page, f"{site_url}logbook/")
    first = line(entry(999, "mine"))
    told = through(page, BOOK, book_cases(first))
    assert "1 new entry" in told[0]
    assert sum("Nothing in the book has changed" in one for one in told) > 100
    assert sum("1 new entry" in one for one in told) > 30  # markup was taken, as words
    kept = page.evaluate("document.querySelector('.loft-loglist').textContent")
    assert "<img data-hostile" in kept  # told, not run
    assert first in page.evaluate(
        "new Promise((resolve) => (indexedDB.open('loftbook').onsuccess = ({ target }) => (target.result.transaction('lines').objectStore('lines').getAll().onsuccess = (event) => resolve(event.target.result))))"
    )


def kept_cases() -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = []
    for one in MARKUP:
        cases += [{"head": {"told": one, "rig": one, "day": one, "kind": one}, "line": one}, {"head": {"bears": "yes"}, "line": json.dumps({"name": "n0", "said": one})}, {"head": {"name": one}}]
    cases += [{"head": {}, "line": thing} for thing in (None, 5, [], {}, "null", "[]", "{}", '{"said": null}', "[" * 5000, "1e999")]
    picture = Entry("2026-01-01T00:00:01.000Z", "picture", "2026-01-01", "x", said={"picture.of": "n0", "picture.data": "javascript:window.broken=1"})
    cases += [{"head": {"told": "another's"}, "line": line(entry(1, "x"))}]
    cases += [{"head": {"kind": "picture", "of": "n0", "bears": "yes", "told": {"a": 1}}, "line": line(picture)}]
    return cases


def test_what_the_database_holds(page: Page, site_url: str) -> None:
    put_mine(page, f"{site_url}logbook/")
    until(page, "document.querySelector('.loft-loglist')?.dataset.count === '0'")
    through(page, KEPT, kept_cases())


ROWS = "time (s),altitude (m)\n" + "\n".join(f"{i / 2},{max(0.0, 300 - 3 * i)}" for i in range(130))


def flight_cases() -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = []
    for one in MARKUP:
        cases += [{"text": ROWS, "name": one}, {"text": ROWS, "said": {"when": one, "temperature": one}}, {"text": ROWS.replace("150.0", one)}]
    for one in MARKUP[::4]:
        cases += [{"text": one}]
        cases += [{"text": ROWS.replace("altitude (m)", f'"{one}"'), "said": {"height_unit": "m"}}]
    cases += [{"text": f"time s,height m\n0,1\n{one},2\n"} for one in NUMBERS]
    cases += [{"text": one, "times": times} for one, times in (("1,", 200_000), ("\x00", 200_000), ("1,2\n", 100_000), ("\n", 200_000), ('"', 100_000), ("1 2;3\t4,5\n", 20_000), ("x", 33_000_000))]
    return cases


def test_altimeters_files(page: Page, site_url: str) -> None:
    put_mine(page, f"{site_url}measured/")
    told = through(page, FLIGHT, flight_cases())
    assert sum("a number is missing or cannot be read" in one for one in told) > len(MARKUP) // 2  # in others it parts columns, or begins a remark


def test_what_is_typed(page: Page, site_url: str) -> None:
    """Every kind of control of a page with answers and pictures."""
    put_mine(page, f"{site_url}canopy/")
    until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")
    texts = ("main.canopy.size", "main.canopy.family")
    told = through(page, TYPED, [{"path": path, "text": one} for one in (*MARKUP[::2], *NUMBERS[:7]) for path in texts])
    assert sum("Allowed" in one or "Give a length" in one or "for example" in one for one in told) > len(told) * 0.8
    page.goto(f"{site_url}plan/")
    until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")
    through(page, TYPED, [{"path": path, "text": one} for one in MARKUP[:4] for path in ("rig.name", "flight.layers", "main.canopy.name")])


SHAPES = ("", "null", "[]", "{}", "5", '"x"', "true", "[null]", '[{"rig.name": 5}]', '{"rig.name": null}', '{"__proto__": {"polluted": 1}}', "[" * 5000, "{", "\x00", '{"rig.name": "\\ud800"}', '{"ticks": 5, "whys": [], "marks": "x", "rig": {}}', '{"kind": "flight", "values": {"flight.note": {}}, "replaces": []}', '{"from": "x", "touched": true}', '{"rig.start": "__proto__"}', '{"flight.way": "constructor", "rig.bay": "__proto__"}')  # fmt: skip
KEYS = ("loftbook.rig", "loftbook.rig.before", "loftbook.rig.earlier", "loftbook.rig.about", "loftbook.walk", "loftbook.log.draft", "loftbook.turns", "loftbook.offline")


def hostile_texts(key: str, one: str) -> list[str]:
    rig = {"rig.name": one, "main.canopy.name": one, "flight.layers": one, one: one}
    made: dict[str, list[Any]] = {
        "loftbook.rig": [rig], "loftbook.rig.before": [rig], "loftbook.rig.earlier": [[rig, rig]], "loftbook.rig.about": [{"from": one, "touched": True}],
        "loftbook.walk": [{"rig": one, "ticks": {one: one}, "whys": {"who": one, "pilot": one}, "marks": {"who": one}}],
        "loftbook.log.draft": [{"kind": "flight", "values": {"flight.note": one, "day": one, one: one}, "replaces": one}, {"kind": one}],
    }  # fmt: skip
    return [json.dumps(thing) for thing in made.get(key, [one])]


def stored_cases(where: str) -> list[dict[str, Any]]:
    texts = MARKUP[:: 1 if where == "field/" else 6]
    return [{"key": key, "text": text} for key in KEYS for text in (*SHAPES, *(made for one in texts for made in hostile_texts(key, one)))]


@pytest.mark.parametrize("where", ["field/", "logbook/", "card/"])
def test_what_storage_holds(page: Page, site_url: str, where: str) -> None:
    """As another tab, or an earlier visit, may have left it; then once more with all of it there when the page opens."""
    put_mine(page, f"{site_url}{where}")
    through(page, STORED, stored_cases(where))
    for one in (MARKUP[1], MARKUP[26]):
        page.evaluate("(all) => { localStorage.clear(); for (const [key, text] of JSON.parse(all)) localStorage.setItem(key, text); }", json.dumps([[key, hostile_texts(key, one)[0]] for key in KEYS]))
        page.reload()
        until(page, "document.querySelector('loft-rigbar strong') !== null")
        page.wait_for_timeout(300)
        assert page.evaluate("hostile.wrong()") == ""


def handed_cases() -> list[dict[str, Any]]:
    key = "loftbook.log.brought"
    things = [{"told": one, "found": {one: one}} for one in MARKUP] + [{"told": {"a": 1}, "found": {}}, {"told": "x"}, {"told": "x", "found": 5}]
    return [{"key": key, "text": text} for text in (*SHAPES, *map(json.dumps, things))]


def test_what_one_page_hands_to_the_next(page: Page, site_url: str) -> None:
    """What stands in the tab's own storage; then all of it there when the page opens."""
    put_mine(page, f"{site_url}logbook/")
    told = through(page, HANDED, handed_cases())
    assert sum("Leave it out" in one for one in told) == len(MARKUP)
    for text in (*SHAPES, json.dumps([MARKUP[1]])):
        page.evaluate("(text) => ['loftbook.open', 'loftbook.again', 'loftbook.log.brought'].forEach((key) => sessionStorage.setItem(key, text))", text)
        page.reload()
        until(page, "document.querySelector('loft-rigbar strong') !== null")
        assert page.evaluate("hostile.wrong()") == "", text


def test_there_are_five_hundred_of_them_and_more() -> None:
    """However these tests are shared out among processes."""
    groups = (rig_cases(), BOMBS, link_cases(), book_cases(line(entry(999, "mine"))), kept_cases(), flight_cases(), handed_cases(), *map(stored_cases, ("field/", "logbook/", "card/")))
    assert all(len(group) > 30 for group in groups)
    assert sum(map(len, groups)) > 1200, [*map(len, groups)]
