"""Someone who only looks at the pictures packs each bay in the right order: every step has its own, and the bay fills."""

import re
from itertools import product
from xml.etree import ElementTree

import pytest
from rigs import LANDINGS

from loftbook.answer import Step
from loftbook.calculators import CALCULATORS
from loftbook.calculators.packing import live
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Drawing
from loftbook.quantity import LENGTH, SYSTEMS, at_most
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import parse
from loftbook.rig.ways import WAYS
from loftbook.worked import mispacked
from loftbook.worked.bay import FIRST_CORD, REST_CORD
from loftbook.worked.worked import Worked

SVG = "{http://www.w3.org/2000/svg}"
CHOICES = ("pack.protector", "pack.layout", "charge.kind", "charge.backup", "cord.layout")


def stamped(way: str, **values: str) -> dict[str, str]:
    """The same choice for every bay of a way."""
    return {"flight.way": way} | {f"{key}.{path.replace('__', '.')}": text for key in ("main", "drogue") for path, text in values.items()}


def bays(texts: dict[str, str]) -> dict[str, tuple[Step, ...]]:
    worked, packing = Worked(parse(texts), LANDINGS), CALCULATORS["packing"]
    return {key: packing.answer(worked, key).steps for key in packing.keys(worked.rig.way)}


def steps(texts: dict[str, str]) -> list[Step]:
    return [step for of_bay in bays(texts).values() for step in of_bay]


def pictures(of_bay: tuple[Step, ...]) -> list[Drawing]:
    return [step.drawing for step in of_bay if step.drawing]


PACKED = [
    *(stamped(way, **{path.replace(".", "__"): choice}) for way in WAYS for path in CHOICES for choice in FIELDS[f"main.{path}"].choices),
    *(
        stamped(way, pack__protector=protector, pack__layout=layout, pack__line_turns=turns, joint__pins=pins)
        for way, protector, layout, (turns, pins) in product(
            WAYS, FIELDS["main.pack.protector"].choices, FIELDS["main.pack.layout"].choices, (("0", "0"), ("2", "4"))
        )
    ),
]  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_every_packing_step_has_a_drawing_of_its_own(way: str) -> None:
    for texts in (texts for texts in PACKED if texts["flight.way"] == way):
        for key, of_bay in bays(texts).items():
            drawn = pictures(of_bay)
            assert [step.anchor for step in of_bay if not step.drawing] == [], texts
            assert all(drawing.description for drawing in drawn)
            if len({step.anchor.split("-")[0] for step in of_bay}) == 1:  # what is tied for two canopies is tied alike
                assert len({drawing.svg for drawing in drawn}) == len(drawn), (key, texts)


def boxes(drawing: Drawing) -> list[tuple[float, float, float, float, str]]:
    """Left, top, right, bottom of all words, estimated."""
    made = []
    for text in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text"):
        x, y, wide = float(text.attrib["x"]), float(text.attrib["y"]), LETTER * len(text.text or "")
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.attrib.get("text-anchor", "start")]
        made.append((left, y - 0.8 * TEXT, left + wide, y + 0.25 * TEXT, text.text or ""))
    return made


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("way", WAYS)
def test_their_words_stay_in_the_picture_and_off_each_other(way: str, units: str) -> None:
    seen: set[str] = set()
    for texts in (texts for texts in PACKED if texts["flight.way"] == way):
        for step in steps(texts | {"rig.units": units}):
            assert step.drawing
            if step.drawing.svg in seen:
                continue
            seen.add(step.drawing.svg)
            high = float(ElementTree.fromstring(step.drawing.svg).attrib["viewBox"].split()[3])
            said = boxes(step.drawing)
            for i, (left, top, right, bottom, words) in enumerate(said):
                assert left >= -0.5, (step.anchor, words)
                assert top >= -0.5, (step.anchor, words)
                assert right <= WIDTH + 0.5, (step.anchor, words)
                assert bottom <= high + 0.5, (step.anchor, words)
                for other in said[i + 1 :]:
                    apart = right <= other[0] or other[2] <= left or bottom <= other[1] + 3 or other[3] <= top + 3
                    assert apart, (step.anchor, words, other[4])
    assert len(seen) > 20


@pytest.mark.parametrize("key", ["drogue", "main"])
def test_by_the_pictures_alone_the_bay_fills_in_the_order_of_its_steps(key: str) -> None:
    """What is bright in one picture lies pale under the next thing in all that follow, nothing else does."""
    worked = Worked(parse({}), LANDINGS)
    laid: list[str] = []
    for step in CALCULATORS["packing"].answer(worked, key).steps:
        assert step.drawing
        root = ElementTree.fromstring(step.drawing.svg)
        under = [box.attrib["class"] for group in root if group.attrib.get("class") == "pale" for box in group]
        if not any(group.attrib.get("class") == "closeup" for group in root):
            assert "-pack-" not in step.anchor
            continue
        assert under == laid
        bright = [box.attrib["class"] for box in root if box.tag == f"{SVG}rect" and box.attrib["class"] != "spare"]
        assert len(bright) == 1
        laid.append(bright[0])
    assert laid == [lying.item.kind for lying in worked.bays[key].stack.layers]


def classes(texts: dict[str, str], anchor: str) -> set[str]:
    """Classes of all shapes in one step's picture."""
    (drawing,) = [step.drawing for step in steps(texts) if step.anchor == anchor]
    assert drawing
    return {word for shape in ElementTree.fromstring(drawing.svg).iter() for word in shape.attrib.get("class", "").split()}


def test_the_pictures_show_what_the_rig_says() -> None:
    assert "slit" in classes({}, "main-pack-protector"), "the blanket is threaded on the cord"
    assert "slit" not in classes({"main.pack.protector": "sleeve"}, "main-pack-protector")
    assert "protector" in classes({"main.pack.protector": "bag"}, "main-pack-bundle")
    assert "nut" in classes({}, "main-connect-lines")
    assert "lead" in classes({}, "main-charge")
    assert "lead" not in classes({"main.charge.kind": "the motor's own charge"}, "main-charge")
    assert {"hold", "carry"} <= classes({}, "main-pack-cord-first")


@pytest.mark.parametrize(("protector", "layout", "said"), [
    ("blanket", "below the canopy", "over the charge"), ("blanket", "above the canopy", "under the charge"),
    ("wadding", "above the canopy", "under the charge"), ("sleeve", "below the canopy", "closed end down"),
    ("sleeve", "above the canopy", "closed end up"), ("bag", "above the canopy", "closed end up"),
])  # fmt: skip
def test_the_protector_is_shown_towards_its_charge(protector: str, layout: str, said: str) -> None:
    texts = {"main.pack.protector": protector, "main.pack.layout": layout}
    (drawing,) = [step.drawing for step in steps(texts) if step.anchor == "main-pack-protector"]
    assert drawing
    assert said in [box[4] for box in boxes(drawing)]


# --- what is tied stays seen ----------------------------------------------------------------------------------------------


def named(drawing: Drawing | None, class_: str) -> list[ElementTree.Element]:
    assert drawing
    return [shape for shape in ElementTree.fromstring(drawing.svg).iter() if class_ in shape.attrib.get("class", "").split()]


def said(step: Step) -> list[str]:
    assert step.drawing
    return [box[4] for box in boxes(step.drawing)]


@pytest.mark.parametrize("way", WAYS)
def test_ring_and_cord_are_seen_in_every_picture_once_the_cord_is_tied(way: str) -> None:
    for texts in (texts for texts in PACKED if texts["flight.way"] == way):
        for key, of_bay in bays(texts).items():
            after = [step.anchor for step in of_bay].index(f"{key}-connect-airframe")
            for step in of_bay[after:]:
                if step.anchor.endswith(("-connect-lines", "-try", "-pins")):
                    continue
                assert named(step.drawing, "cord"), (step.anchor, texts)
                assert [ring for ring in named(step.drawing, "link") if ring.tag == f"{SVG}circle"], (step.anchor, texts)


@pytest.mark.parametrize("key", ["drogue", "main"])
def test_in_the_bay_the_cord_begins_at_its_ring_and_goes_up_beside_the_bundle(key: str) -> None:
    worked, placed = Worked(parse({}), LANDINGS), False
    for step in CALCULATORS["packing"].answer(worked, key).steps:
        if "-pack-" not in step.anchor:
            continue
        assert step.drawing
        root = ElementTree.fromstring(step.drawing.svg)
        (fast,) = [group for group in root if group.attrib.get("class") == "fast"]
        wall = next(shape for shape in root if shape.attrib.get("class") == "tube-wall")
        (left, _mouth), (_, foot), (right, _), _ = [tuple(map(float, spot.split(","))) for spot in wall.attrib["points"].split()]
        ring = next(shape for shape in fast if shape.tag == f"{SVG}circle" and float(shape.attrib["cy"]) > foot - 9)
        (cord,) = [shape.attrib["d"] for shape in fast if shape.attrib["class"] == "cord"]
        x, y = map(float, re.findall(r"[\d.]+", cord)[:2])
        assert left < x == float(ring.attrib["cx"]) < right
        assert abs(y - float(ring.attrib["cy"])) <= 4
        inside = [*root, *(box for group in root if group.attrib.get("class") == "pale" for box in group)]
        for bundle in [box for box in inside if box.attrib.get("class") == "bundle"]:
            edge, top = float(bundle.attrib["x"]) + float(bundle.attrib["width"]), float(bundle.attrib["y"])
            beside = [(float(at), float(end)) for at, end in re.findall(r"M([\d.]+) [\d.]+V([\d.]+)", cord) if float(at) > edge]
            assert beside, step.anchor
            assert all(at < right and end <= top + 0.02 for at, end in beside)
        placed = placed or step.anchor.endswith("-pack-lines")
        assert ("link" in said(step)) == placed, step.anchor  # once it is there, it is named in every picture
        assert {"ring", {"drogue": "tail", "main": "middle section"}[key]} <= set(said(step))


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("way", WAYS)
def test_the_length_of_each_part_of_a_cord_stands_in_its_picture(way: str, units: str) -> None:
    worked = Worked(parse({"flight.way": way, "rig.units": units}), LANDINGS)
    seen = 0
    for key, bay in worked.bays.items():
        there = {step.anchor: step for step in CALCULATORS["packing"].answer(worked, key).steps}
        for item in (lying.item for lying in bay.stack.layers):
            if item.name in (FIRST_CORD, REST_CORD):
                first = item.name == FIRST_CORD
                step = there[f"{item.owner}-pack-cord-{'first' if first else 'rest'}"]
                assert {f"cord {worked.show(bay.cord_in(item), LENGTH)}", f"{'below' if first else 'above'} the bundle"} <= set(said(step))
                assert worked.show(bay.cord_in(item), LENGTH) in step.text
                seen += 1
    assert seen


@pytest.mark.parametrize("layout", FIELDS["main.pack.layout"].choices)
@pytest.mark.parametrize("protector", FIELDS["main.pack.protector"].choices)
@pytest.mark.parametrize("way", WAYS)
def test_what_has_a_slit_is_on_the_cord_before_both_its_ends_are_tied(way: str, protector: str, layout: str) -> None:
    for key, of_bay in bays(stamped(way, pack__protector=protector, pack__layout=layout)).items():
        told = [i for i, step in enumerate(of_bay) if "thread the blanket" in step.text]
        slit = [i for i, step in enumerate(of_bay) if named(step.drawing, "slit")]
        laid = [step.anchor for step in of_bay].index(f"{key}-pack-protector")
        if protector != "blanket":
            assert (told, slit) == ([], []), (way, protector)
            continue
        assert told
        assert all(of_bay[i].anchor.endswith(("-connect-lines", "-connect-nose")) for i in told)
        assert max(told) < laid
        assert set(told) <= set(slit), "and its picture shows it"
        assert {laid, *(i for i in range(laid + 1, len(of_bay)) if "-pack-" in of_bay[i].anchor)} <= set(slit), "and so does every later one"


# --- nothing is tried once a charge is in --------------------------------------------------------------------------------------

TRIALS = re.compile(r"turn the tube over|falls? out|light shake|shake the|lift the rocket|try it|is tried now", re.IGNORECASE)


@pytest.mark.parametrize("layout", FIELDS["main.pack.layout"].choices)
@pytest.mark.parametrize("way", WAYS)
def test_every_bay_is_tried_before_the_first_charge_and_none_after(way: str, layout: str) -> None:
    for main, drogue, backup in product(FIELDS["main.charge.kind"].choices, FIELDS["main.charge.kind"].choices, FIELDS["main.charge.backup"].choices):
        texts = {"flight.way": way, "main.pack.layout": layout, "main.charge.kind": main, "drogue.charge.kind": drogue, "main.charge.backup": backup}
        worked, order = Worked(parse(texts), LANDINGS), steps(texts)
        loaded = [i for i, step in enumerate(order) for bay in worked.bays if step.anchor == f"{bay}-charge" and live(worked.joints[bay].charge)]
        tried = [i for i, step in enumerate(order) if step.anchor.endswith("-try")]
        if not loaded:
            assert tried == []
            continue
        assert len(tried) == 1
        assert tried[0] < loaded[0]
        assert order[tried[0]].anchor.startswith(worked.rig.way.bays[0])
        if len(worked.bays) > 1:
            assert all(f"{worked.title(bay).removesuffix(' bay')} bay" in order[tried[0]].text.lower() for bay in worked.bays)
        assert {"charge", "crossed", "bundle", "carry"} <= {word for one in ElementTree.fromstring(order[tried[0]].drawing.svg).iter() for word in one.attrib.get("class", "").split()}  # type: ignore[union-attr]
        for step in order[loaded[0] :]:
            assert not TRIALS.search(step.text + step.seen), (step.anchor, texts)
            if step.anchor.endswith(("-pack-bundle", "-pack-close")):
                assert "tried before the first charge went in: nothing is turned over or shaken now" in step.text, (step.anchor, texts)


# --- mistakes ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tube", ["60 mm", "98 mm"])
@pytest.mark.parametrize("depth", ["200 mm", "300 mm", "600 mm", "900 mm"])
def test_what_is_called_right_has_room(depth: str, tube: str) -> None:
    """Nothing stands out of the bay, neither above nor at its side, nothing in it is marked as too much; where it differs it is said."""
    worked = Worked(parse({"main.bay.depth": depth, "main.bay.tube": tube}), LANDINGS)
    bay, found = worked.bays["main"], CALCULATORS["mistakes"].answer(worked, "main")
    right = mispacked.right(bay.deepened())
    assert right.spare > 0
    assert all(lying.item.width <= bay.tube for lying in right.layers)
    assert found.summary.startswith(f"{len(found.pairs)} ways")
    for pair in found.pairs:
        assert not [shape for shape in named(pair.right, "short") if shape.tag != f"{SVG}text"], pair.anchor
        assert "mouth of the tube" not in pair.right.svg, pair.anchor
        if pair.anchor.endswith(("lines-under", "too-shallow", "protector-side")):
            assert (f"{worked.show(right.spare, at_most(LENGTH))}" in pair.right.svg) == (right.spare > 0)
            assert ("The right one is drawn" in pair.reason) == (right != bay.stack)


def test_one_of_these_bays_is_deep_enough_and_one_is_not() -> None:
    deep, short = (Worked(parse({"main.bay.depth": depth}), LANDINGS).bays["main"] for depth in ("600 mm", "200 mm"))
    assert deep.deepened() is deep
    assert short.stack.spare < 0 < short.deepened().stack.spare
    assert short.deepened().depth == short.deep_enough()
