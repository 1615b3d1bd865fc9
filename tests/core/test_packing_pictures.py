"""Someone who only looks at the pictures packs each bay in the right order: every step has its own, and the bay fills."""

from itertools import product
from xml.etree import ElementTree

import pytest
from rigs import LANDINGS

from loftbook.answer import Step
from loftbook.calculators import CALCULATORS
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Drawing
from loftbook.quantity import SYSTEMS
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import parse
from loftbook.rig.ways import WAYS
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
    ("blanket", "below the canopy", "charge below it"), ("blanket", "above the canopy", "charge above it"),
    ("wadding", "above the canopy", "charge above it"), ("sleeve", "below the canopy", "closed end down"),
    ("sleeve", "above the canopy", "closed end up"), ("bag", "above the canopy", "closed end up"),
])  # fmt: skip
def test_the_protector_is_shown_towards_its_charge(protector: str, layout: str, said: str) -> None:
    texts = {"main.pack.protector": protector, "main.pack.layout": layout}
    (drawing,) = [step.drawing for step in steps(texts) if step.anchor == "main-pack-protector"]
    assert drawing
    assert said in [box[4] for box in boxes(drawing)]
