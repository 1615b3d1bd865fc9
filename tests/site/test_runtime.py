"""The browser's Python: how much of it there is to fetch, that it is made the same each time, how it boots, and how it fails."""

import filecmp
import gzip
import re
import struct
import zipfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import brotli
import pytest

import loftbook
import runtime
from conftest import serving, until
from house import CACHE, digest
from sweeps import WHOLE

MEGABYTE = 1e6
HARD = 11 if WHOLE else 9  # how hard brotli presses: 9 takes an eleventh of the time of 11, and leaves 15 % more
WIRE_LIMIT = {"gzip": 7.7 * MEGABYTE, "brotli": (5.6 if WHOLE else 6.3) * MEGABYTE}  # with the page itself it is scripts/speed.py's

# The states that a boot goes through, and what it says of itself, asked of the very module that the page uses.
ASK_ABOUT = """async (base) => {
  const { ask, onState } = await import(new URL("assets/live/messenger.js", base));
  const states = [];
  onState((state) => states.push({ ...state }));
  try { return { reply: await ask({ do: "about" }, { timeout: 60000 }), states }; }
  catch (error) { return { fault: error.message, states }; }
}"""


# What workers are told to start with, and why one refuses.
WATCH_WORKERS = """self.between = []; self.Worker = class extends Worker {
  constructor(...given) {
    super(...given);
    this.addEventListener("message", ({ data }) => data.phase === "refused" && between.push(data.message));
  }
  postMessage(data) {
    if (data.kind === "start") between.push(data.how);
    super.postMessage(data);
  }
}"""


def boot(page, url: str) -> dict:
    page.goto(url + "404.html")  # a page without a calculator, so that ours is the first question
    return page.evaluate(ASK_ABOUT, url)


def folder_of(site: Path) -> Path:
    (folder,) = (site / runtime.HOME).iterdir()
    return folder


def worker_told(site: Path, **changes: str) -> str:
    """The worker of a site, told something else by the build than it was."""
    text = (site / "assets/live/worker.js").read_text()
    for name, value in changes.items():
        text, count = re.subn(rf'"{name}": "[^"]*"', f'"{name}": "{value}"', text)
        assert count == 1
    return text


# --- what there is to fetch


def squeeze(file: Path, how: str) -> int:
    """The size on the wire; brotli takes its time over the image, so a size once found is kept by content."""
    note = CACHE / "wire" / f"{digest(file)}.{how}{HARD if how == 'brotli' else ''}"
    if not note.is_file():
        data = file.read_bytes()
        small = gzip.compress(data, 6) if how == "gzip" else brotli.compress(data, quality=HARD, lgwin=24)
        note.parent.mkdir(parents=True, exist_ok=True)
        note.write_text(str(len(small)))
    return int(note.read_text())


@pytest.mark.parametrize("how", ["gzip", "brotli"])
def test_the_live_path_is_small_on_the_wire(site: Path, how: str, record_property) -> None:
    files = [folder_of(site) / name for name in runtime.LIVE_PATH]
    with ThreadPoolExecutor(2) as pool:
        sizes = dict(zip(runtime.LIVE_PATH, pool.map(lambda file: squeeze(file, how), files), strict=True))
    print(f"{how}: {sum(sizes.values()) / MEGABYTE:.3f} MB", sizes)
    record_property(f"wire_{how}", sum(sizes.values()))
    assert sum(sizes.values()) <= WIRE_LIMIT[how], sizes


@pytest.mark.browser
def test_a_first_visit_fetches_the_live_path_and_nothing_else_of_the_runtime(page, site: Path, site_url: str) -> None:
    asked: list[str] = []
    page.context.on("request", lambda request: asked.append(request.url))
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'serviceWorker', { get: () => undefined })")
    boot(page, site_url)
    of_runtime = [url.rsplit("/", 1)[1] for url in asked if f"/{runtime.HOME.name}/" in url]
    assert sorted(of_runtime) == sorted(runtime.LIVE_PATH)


ASK_THREE_TIMES = """async (base) => {
  const { ask } = await import(new URL("assets/live/messenger.js", base));
  const pattern = { do: "pattern", fields: {} };
  const said = (request) => ask(request, { timeout: 60000 }).then((reply) => reply.ok, (error) => error.message);
  await said({ do: "about" });
  return [...await Promise.all([said(pattern), said({ do: "about" })]), await said(pattern)];
}"""


@pytest.mark.browser
@pytest.mark.parametrize("fault", ["", "gone", "damaged"])
def test_what_few_ask_for_is_fetched_with_the_first_question_about_it(page, site_url: str, fault: str) -> None:
    """Once; other questions don't wait for it, and after a failure, which is told, the next question tries anew."""
    asked: list[str] = []
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'serviceWorker', { get: () => undefined })")

    def late(route) -> None:
        asked.append(route.request.url)
        if fault and len(asked) == 1:
            route.fulfill(status=404 if fault == "gone" else 200, body="PK not a zip")
        else:
            route.continue_()

    page.context.route(f"**/{runtime.LATE}", late)
    page.goto(site_url + "404.html")
    first, other, second = page.evaluate(ASK_THREE_TIMES, site_url)
    assert (other, second, len(asked)) == (True, True, 2 if fault else 1)
    assert first is (not fault)


def test_only_what_a_rare_question_needs_is_put_aside(site: Path) -> None:
    with zipfile.ZipFile(folder_of(site) / runtime.LATE) as late:
        names = late.namelist()
    assert "loftbook/faces/cutting.pyc" in names
    assert not [name for name in names if name.startswith(("loftbook/rig/", "loftbook/tables/", "pint/"))]


# --- the memory image


def test_image_wheels_and_lock_are_made_the_same_each_time(site: Path, tmp_path: Path) -> None:
    assert f'"made": "{runtime.ingredients()}"' in worker_told(site), "the site is older than its sources: build it first"
    wheels, again = tmp_path / "wheels", tmp_path / "again"
    wheels.mkdir()
    again.mkdir()
    runtime.gather_wheels(wheels)
    runtime.write_wheels(wheels, again)
    runtime.write_image(wheels, again, runtime.ingredients())
    made = sorted(file.name for file in again.iterdir() if file.name != runtime.IMAGE_FACTS)
    assert runtime.IMAGE in made
    assert len(made) > 5
    for name in made:
        assert filecmp.cmp(again / name, folder_of(site) / name, shallow=False), name


@pytest.mark.browser
def test_boots_from_the_image(page, site_url: str, complaints: list[str]) -> None:
    told = boot(page, site_url)
    assert told["states"][-1] == {"phase": "live", "progress": 1, "how": "snapshot", "message": ""}
    assert told["reply"]["version"] == loftbook.VERSION
    assert complaints == []


@pytest.mark.browser
def test_each_start_is_a_fresh_one(page, site_url: str) -> None:
    """What one visit did to Python's memory is not seen by the next."""
    first, second = boot(page, site_url), boot(page, site_url)
    assert first["reply"] == second["reply"]
    assert second["states"][-1]["how"] == "snapshot"


@pytest.mark.browser
def test_the_image_leaves_out_only_memory_that_is_empty(page, site: Path, copy_of_site) -> None:
    """What is not wiped before the image goes into the program's memory, lying behind all that the program has taken, holds nothing."""
    worker = (site / "assets/live/worker.js").read_text()
    filling = "unpack(image, head.byteLength,"
    assert worker.count(filling) == 1
    looked = "const used = instance.exports.sbrk(0); if (used < 8e6 || new Uint8Array(memory.buffer).subarray(used).some(Boolean)) throw new Error(`not empty behind ${used}`);"
    with serving(copy_of_site({"assets/live/worker.js": worker.replace(filling, looked + filling)})) as url:
        assert boot(page, url)["states"][-1]["how"] == "snapshot"


# --- refusals: each must end in the ordinary boot, and say why


def damaged(site: Path) -> dict:
    image = bytearray((folder_of(site) / runtime.IMAGE).read_bytes())
    image[len(image) // 2] ^= 1
    return {"image": bytes(image)}


def cut_short(site: Path) -> dict:
    return {"image": (folder_of(site) / runtime.IMAGE).read_bytes()[:-4096]}


def empty(site: Path) -> dict:
    return {"image": b""}


def absent(site: Path) -> dict:
    return {"image": None}


def checksum(image: bytes) -> str:
    """As image.js: what makes a foreign image pass for a whole one."""
    words = struct.unpack(f"<{len(image) // 4}I", image[: len(image) // 4 * 4])
    total = len(words)
    for word in words:
        total = (total * 31 + word) & 0xFFFFFFFF
    return f"{total:08x}"


def changed(site: Path, at: int, to: Callable[[bytearray], bytes]) -> dict:
    """Whole, but other bytes stand somewhere."""
    image = bytearray((folder_of(site) / runtime.IMAGE).read_bytes())
    new = to(image[at:])
    image[at : at + len(new)] = new
    return {"image": bytes(image), "facts": {"imageSum": checksum(bytes(image))}}


def of_another_pyodide(site: Path) -> dict:
    """Its head names another build of Pyodide."""
    return changed(site, 16, lambda head: bytes(reversed(head[:32])))


def of_another_shape(site: Path) -> dict:
    """Its first stretch begins behind the memory's end."""
    head_size = int(re.search(r'"headSize": (\d+)', (site / "assets/live/worker.js").read_text())[1])
    return changed(site, head_size + 4, lambda _: (2**31).to_bytes(4, "little"))


def of_a_damaged_program(site: Path) -> dict:
    """A letter in a text that the program holds is another: Python starts, but the image must not be laid over that."""
    program = (folder_of(site) / runtime.PROGRAM).read_bytes()
    assert program.count(b"Py_Initialize must be called first") == 1
    return {"program": program.replace(b"Py_Initialize must be called first", b"Py_Initialize must be called First")}


def too_long(site: Path) -> dict:
    return {"image": (folder_of(site) / runtime.IMAGE).read_bytes() + b"more"}


def no_image_at_all(site: Path) -> dict:
    image = bytes((folder_of(site) / runtime.IMAGE).stat().st_size)
    return {"image": image, "facts": {"imageSum": checksum(image)}}


def of_another_core(site: Path) -> dict:
    return {"facts": {"made": "0123456789abcdef"}}


REFUSALS = {
    damaged: "damaged",
    cut_short: "damaged",
    empty: "damaged",
    too_long: "too long",
    absent: "not there (404)",
    of_another_pyodide: "build id mismatch",
    of_another_shape: "out of bounds",
    of_a_damaged_program: "the program is damaged",
    no_image_at_all: "magic number",
    of_another_core: "of another build",
}


def with_image(site: Path, what: dict) -> dict[str, str | bytes | None]:
    """What is to change in a copy of the site so that its image is that."""
    changes = {"assets/live/worker.js": worker_told(site, **what.get("facts", {}))}
    for part, file in (("image", runtime.IMAGE), ("program", runtime.PROGRAM)):
        if part in what:
            changes[(folder_of(site) / file).relative_to(site).as_posix()] = what[part]
    return changes


@pytest.mark.browser
@pytest.mark.parametrize("case", REFUSALS, ids=lambda case: case.__name__)
def test_an_image_that_does_not_fit_is_refused(case, page, site, copy_of_site) -> None:
    with serving(copy_of_site(with_image(site, case(site)))) as url:
        page.add_init_script(WATCH_WORKERS)
        page.goto(url + "404.html")
        page.evaluate("async (base) => { (await import(new URL('assets/live/messenger.js', base))).ask({ do: 'about' }).catch(() => {}) }", url)
        until(page, "between.length > 2")
    first, why, second = page.evaluate("between")
    assert (first, second) == ("snapshot", "ordinary")
    assert REFUSALS[case] in why


@pytest.mark.browser
@pytest.mark.parametrize("case", REFUSALS if WHOLE else [damaged, of_a_damaged_program, of_another_core], ids=lambda case: case.__name__)
def test_where_the_image_is_refused_python_boots_the_ordinary_way(case, page, site, copy_of_site) -> None:
    with serving(copy_of_site(with_image(site, case(site)))) as url:
        told = boot(page, url)
    assert told.get("reply", {}).get("version") == loftbook.VERSION, told
    last = told["states"][-1]
    assert (last["phase"], last["how"]) == ("live", "ordinary")
    assert REFUSALS[case] in last["message"]


@pytest.mark.browser
def test_where_neither_boot_works_the_page_is_told(page, site, copy_of_site) -> None:
    inside = folder_of(site).relative_to(site)
    with serving(copy_of_site({f"{inside}/{runtime.IMAGE}": None, f"{inside}/{runtime.LOCK}": None})) as url:
        told = boot(page, url)
    assert told["fault"]
    assert told["states"][-1]["phase"] == "failed"
    assert told["states"][-1]["message"] == told["fault"]


@pytest.mark.browser
def test_boots_where_the_host_sends_no_headers_of_ours(page, copy_of_site) -> None:
    with serving(copy_of_site({"_headers": None})) as url:
        assert boot(page, url)["states"][-1]["how"] == "snapshot"


@pytest.mark.browser
def test_boots_below_a_path(page, site) -> None:
    with serving(site, under="/some/guide/") as url:
        assert boot(page, url)["states"][-1]["how"] == "snapshot"


# --- the messenger, against workers that misbehave (no Python in these: each is a few lines of script)

LIVE = 'postMessage({ kind: "state", phase: "live", progress: 1, how: "snapshot", message: "" });'


def misbehave(page, copy_of_site, worker: str, question: str) -> object:
    with serving(copy_of_site({"assets/live/worker.js": worker})) as url:
        page.goto(url + "404.html")
        return page.evaluate(
            f"""async (base) => {{
              const {{ ask, onState }} = await import(new URL("assets/live/messenger.js", base));
              const phases = [];
              onState(({{ phase }}) => phases.at(-1) === phase || phases.push(phase));
              const said = (promise) => promise.then((reply) => reply, (error) => "fault: " + error.message);
              {question}
            }}""",
            url,
        )


@pytest.mark.browser
def test_a_worker_that_does_not_load_is_tried_again_and_at_last_said(page, copy_of_site) -> None:
    page.add_init_script("{ const real = setTimeout; self.setTimeout = (act, wait, ...more) => real(act, wait / 50, ...more); }")
    result = misbehave(page, copy_of_site, "this is no script", """
        const first = await said(ask({}));
        await new Promise((resolve) => onState(({ phase }) => phase === "failed" && resolve()));
        return [first, await said(ask({})), phases];""")
    assert result[0].startswith("fault: The calculators did not arrive whole: ")
    assert result[1] == result[0]
    assert result[2] == ["idle", "starting", "failed"]


@pytest.mark.browser
def test_a_worker_that_dies_rejects_all_that_waits_and_the_next_one_answers(page, copy_of_site) -> None:
    worker = f"""
        let lives = 0;
        onmessage = ({{ data }}) => {{
          if (data.kind === "start") {{ {LIVE} return; }}
          if (data.text.includes("die")) setTimeout(() => {{ throw new Error("dead"); }});
          else if (!data.text.includes("wait")) postMessage({{ kind: "answer", number: data.number, text: data.text }});
        }};"""
    result = misbehave(page, copy_of_site, worker, """
        const all = await Promise.all([said(ask({ wait: 1 })), said(ask({ die: 1 })), said(ask({ wait: 2 }))]);
        return [all, await said(ask({ again: 1 })), phases];""")
    assert [fault.startswith("fault: The calculators stopped") for fault in result[0]] == [True] * 3
    assert result[1] == {"again": 1}
    assert result[2] == ["idle", "starting", "live", "starting", "live"]


@pytest.mark.browser
def test_an_answer_has_a_time_limit(page, copy_of_site) -> None:
    worker = f'onmessage = ({{ data }}) => {{ if (data.kind === "start") {LIVE} }};'
    result = misbehave(page, copy_of_site, worker, "return said(ask({}, { timeout: 200 }));")
    assert result == "fault: It took too long to answer."


@pytest.mark.browser
def test_answers_are_matched_by_number_and_strange_ones_dropped(page, copy_of_site) -> None:
    worker = f"""
        const held = [];
        onmessage = ({{ data }}) => {{
          if (data.kind === "start") {{ {LIVE} return; }}
          held.unshift(data);
          if (held.length < 3) return;
          postMessage({{ kind: "answer", number: 999, text: "{{}}" }});
          for (const {{ number, text }} of held) postMessage({{ kind: "answer", number, text }});
        }};"""
    result = misbehave(page, copy_of_site, worker, "return Promise.all([1, 2, 3].map((n) => said(ask({ n }))));")
    assert result == [{"n": 1}, {"n": 2}, {"n": 3}]


@pytest.mark.browser
def test_the_worker_starts_with_the_first_question_only(page, site_url: str) -> None:
    page.goto(site_url + "404.html")
    phases = page.evaluate("""async (base) => {
      const { onState } = await import(new URL("assets/live/messenger.js", base));
      return new Promise((resolve) => onState(({ phase }) => setTimeout(() => resolve(phase), 500)));
    }""", site_url)
    assert phases == "idle"
