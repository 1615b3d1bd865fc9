"""The rocket at one look and the start with six measures: what is said, where each part leads, and that it can be hit and read."""

import json
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from rigs import sound_texts

from loftbook.drawing.rocket import HIGH, Squeeze, squeezed
from loftbook.drawing.svg import WIDTH
from loftbook.faces import glance
from loftbook.faces.live import answer
from loftbook.faces.render import html
from loftbook.plan import plan
from loftbook.quantity import SPEED, SYSTEMS, read
from loftbook.rig.bay_fields import NOTHING
from loftbook.rig.fields import DEFAULTS, FIELDS, STARTS
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.ways import DROGUE, FORWARD, MAIN, WAYS
from loftbook.worked.worked import Worked

THUMB = 48
RIGS = (
    *({"rig.start": start} for start in STARTS),
    *({"flight.way": way} for way in WAYS),
    {"rig.units": SYSTEMS[1], "rocket.main_bay": "aft of the other bay"},
    {"main.cord.layout": "nose part-way along"},
    {"main.cord.length": "700 mm", "drogue.cord.length": "500 mm", "drogue.cord.gap": "200 mm"},
    {"main.canopy.size": "6 m", "rocket.length": "1.4 m"},  # more than the bay holds, a tail of no length
    {"nose.length": "1.4 m"},
)
each_rig = pytest.mark.parametrize("texts", RIGS, ids=lambda texts: " ".join(texts.values())[:40])


def worked(texts: dict[str, str]) -> Worked:
    return Worked(parse(texts))


def picture(texts: dict[str, str]) -> ElementTree.Element:
    return ElementTree.fromstring(re.sub(r' xmlns="[^"]*"', "", glance.rocket_drawing(worked(texts)).svg))


def doors(svg: ElementTree.Element) -> list[tuple[ElementTree.Element, tuple[float, float, float, float]]]:
    """Every link that takes a touch, with the box that takes it: left, top, right, bottom."""
    found = []
    for link in svg.iter("a"):
        if link.get("aria-hidden"):
            continue
        box = link.find("rect[@class='door-room']")
        assert box is not None
        left, top, wide, high = (float(box.get(name, "")) for name in ("x", "y", "width", "height"))
        found.append((link, (left, top, left + wide, top + high)))
    return found


@each_rig
def test_the_sentence_says_the_fast_end(texts: dict[str, str]) -> None:
    one = worked(texts)
    said = re.search(r"(\S+ kg|\S+ g|\S+ lb) rocket comes down at up to (.+)\.$", glance.sentence(one))
    assert said
    worst = max(fall.touchdown_rate.high for fall in one.descent.falls)
    assert worst <= read(said[2], SPEED) * (1 + 1e-12)
    assert read(said[2], SPEED) == pytest.approx(worst, rel=0.006)
    assert said[1] == one.show(one.rig.number("rocket.mass"), glance.MASS)


def test_whose_rocket_it_is() -> None:
    assert glance.sentence(worked({})).startswith("The demo’s ")
    assert glance.sentence(worked({"rig.bay": DROGUE, "rig.units": SYSTEMS[1]})).startswith("The demo’s ")
    assert glance.sentence(worked({"rocket.mass": DEFAULTS["rocket.mass"]})).startswith("This ")
    demo, mine = (html(*glance.home_parts(plan(texts))) for texts in ({}, {"rocket.mass": "5 kg"}))
    assert "Demo rig, not yours" in demo
    assert "Demo rig" not in mine
    assert re.search(r"(\d+) of (\d+) measures: still the starting rig’s", mine)
    assert "measures are yours" in html(*glance.home_parts(plan(dict(DEFAULTS))))


@each_rig
def test_every_part_has_a_door(texts: dict[str, str]) -> None:
    one = worked(texts)
    links = [(link.get("href", ""), link.get("aria-label", ""), " ".join(link.itertext()).split()) for link, _ in doors(picture(texts))]
    for _, label, seen in links:
        assert seen
        assert not label or " ".join(seen).lower() in label.lower()  # who speaks what is seen reaches it
    links = [(href, label) for href, label, _ in links]
    pages = [href.split("/")[0] for href, _ in links]
    open_ones = [key for key in one.rig.way.canopies if not (one.rig.way.held and key not in one.rig.way.held)]
    assert pages.count("canopy") == len(open_ones)  # one that is packed as a guest has let the other go, and hangs at its apex
    assert pages.count("folding") == len(one.canopies)
    assert pages.count("separation") == sum(joint.charge.there for joint in one.joints.values())
    assert pages.count("measure") == 1
    assert pages.count("cord") >= len(one.bays)
    assert pages.count("packing") >= len(one.bays)


def test_without_a_charge_there_is_no_door_to_one() -> None:
    links = [link.get("href") for link, _ in doors(picture({"main.charge.kind": NOTHING, "drogue.charge.kind": NOTHING}))]
    assert links
    assert "separation/" not in links


@each_rig
def test_a_thumb_can_hit_one_part_and_no_other(texts: dict[str, str]) -> None:
    labels = [box for _, box in doors(picture(texts)) if box[2] >= WIDTH - 1]
    assert len(labels) >= 5
    for left, top, right, bottom in [box for _, box in doors(picture(texts))]:
        assert bottom - top >= THUMB - 0.01
        assert right - left >= THUMB - 2
        assert top >= -0.01
        assert bottom <= HIGH + 20
    for upper, lower in pairwise(sorted(labels, key=lambda box: box[1])):
        assert lower[1] >= upper[3] - 0.01


@each_rig
def test_words_stay_in_the_picture_and_off_each_other(texts: dict[str, str]) -> None:
    boxes = []
    for text in picture(texts).iter("text"):
        wide = 7.4 * len(text.text or "")
        x, y = float(text.get("x", "")), float(text.get("y", ""))
        left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.get("text-anchor", "start")]
        boxes.append((left, y - 11, left + wide, y + 3, text.text))
        assert left >= -1, text.text
        assert left + wide <= WIDTH + 4, text.text
        assert y <= HIGH
    for i, one in enumerate(boxes):
        for other in boxes[:i]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (one[4], other[4])


@each_rig
def test_the_picture_is_as_large_for_every_rig(texts: dict[str, str]) -> None:
    assert picture(texts).get("viewBox") == f"0 0 {WIDTH:g} {HIGH:g}"


@settings(derandomize=True, max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), phases=(Phase.explicit, Phase.generate))  # fmt: skip
@given(texts=sound_texts())
def test_any_sound_rig_can_be_drawn(texts: dict[str, str]) -> None:
    said = html(*glance.home_parts(plan(texts)))
    assert not re.search(r"\b(nan|inf|None)\b", said)
    assert all(-WIDTH < float(x) < 2 * WIDTH for x in re.findall(r' x[12]?="([^"]+)"', said))
    assert all(-1 < float(y) < 2 * HIGH for y in re.findall(r' y[12]?="([^"]+)"', said))


# --- one scale, what is empty broken out ---------------------------------------------------------------------

spans = st.lists(st.tuples(st.floats(-5, 20), st.floats(0.01, 3)).map(lambda pair: (pair[0], pair[0] + pair[1])), min_size=1, max_size=6)


@given(kept=spans, room=st.floats(200, 500), largest=st.floats(1, 500))
def test_what_is_kept_has_one_scale_and_fits(kept: list[tuple[float, float]], room: float, largest: float) -> None:
    assume(room > 60 * len(kept))
    fit: Squeeze = squeezed(kept, room, 50.0, largest)
    assert 0 < fit.scale <= largest
    for a, b in kept:
        assert fit.at(b) - fit.at(a) == pytest.approx((b - a) * fit.scale, rel=1e-6)
    first, last = min(a for a, _ in kept), max(b for _, b in kept)
    assert fit.at(first) == pytest.approx(0)
    assert fit.at(last) <= room * (1 + 1e-9)
    for a, b in fit.breaks:
        assert (b - a) * fit.scale > 50  # shorter ones are not worth a break
        assert fit.at(b) - fit.at(a) == pytest.approx(50)
        assert not any(a < y < b or a < x < b for x, y in kept)


# --- the six ---------------------------------------------------------------------------------------------------


def test_six_are_asked_and_those_of_another_bay_below() -> None:
    assert [field.path for field in glance.asked(MAIN)] == [
        "rocket.mass", "main.bay.tube", "main.bay.depth", "main.canopy.size", "main.canopy.sides", "main.cord.length",
    ]  # fmt: skip
    assert [field.path for field in glance.asked(DROGUE)] == [
        "drogue.bay.tube", "drogue.bay.depth", "drogue.canopy.size", "drogue.canopy.sides", "drogue.cord.length",
    ]  # fmt: skip
    assert {field.bay for field in glance.asked(FORWARD)} == {FORWARD}
    form = html(glance.start_form())
    names = re.findall(r'<input[^>]* name="([^"]+)"', form)
    assert len(names) == len(set(names))
    assert form.count("<svg ") == len(names) == form.count('class="loft-fault"') == form.count('class="loft-origin"')
    shown = [part for part in form.split("<fieldset")[1:] if 'hidden="hidden">' not in part.split(">")[0] + ">"]
    there = [path for path in names if is_relevant(FIELDS[path], DEFAULTS)]
    assert [path for part in shown for path in re.findall(r' name="([^"]+)"', part)] == there


def told(texts: dict[str, str]) -> dict[str, object]:
    return json.loads(answer(json.dumps({"do": "start", "fields": texts})))


def test_the_verdict_names_the_first_thing_that_stops_it() -> None:
    sound = told({})
    assert sound["summary"] == "Demo rig, not yours. No check stops it. 2 to look at again."
    assert 'data-sound="yes"' in str(sound["html"])
    texts = {"main.canopy.size": "3.6 m"}
    whole = plan(texts)
    stops = [check for check in whole.checks if check.verdict == "fail"]
    bad = told(texts)
    assert str(bad["summary"]).startswith(f"{len(stops)} checks stop it: do not fly it like this. First: “{stops[0].title}”, {stops[0].bay}, does not hold.")
    assert 'data-sound="no"' in str(bad["html"])
    assert stops[0].reason.split(".")[0] in str(bad["html"]).replace("&quot;", '"')


def test_the_verdict_says_how_much_of_it_is_the_readers() -> None:
    for texts, yours in (({}, 0), ({"rocket.mass": "5 kg"}, 1), ({"rocket.mass": "5 kg", "drogue.cord.length": "8 m", "rig.name": "x"}, 2)):
        said = str(told(texts)["html"])
        assert f"{yours} of the 11 measures above are yours" in said
        still, asked = map(int, re.search(r"(\d+) of the (\d+) measures that this rests on", said).groups())  # type: ignore[union-attr]
        assert asked - still == yours
    assert "of the 6 measures above" in str(told({"rig.start": "one bay, 75 mm"})["html"])


def test_a_fault_is_told_at_its_field() -> None:
    reply = told({"main.bay.tube": "ninety"})
    assert not reply["ok"]
    assert [fault["field"] for fault in reply["faults"]] == ["main.bay.tube"]  # type: ignore[attr-defined]


def test_every_starting_rig_has_a_button_the_slimmest_first() -> None:
    said = html(glance.start_rigs())
    names = re.findall(r'data-start="([^"]+)"', said)
    tubes = [parse({"rig.start": name}).number("main.bay.tube") for name in names]
    assert set(names) == set(STARTS)
    assert tubes == sorted(tubes)
    assert said.count('aria-pressed="true"') == 1


def test_the_picture_leads_to_the_same_pages_one_folder_down() -> None:
    said = html(*glance.start_parts(plan({})))
    assert all(href.startswith("../") for href in re.findall(r'href="([^"]+)"', said))
