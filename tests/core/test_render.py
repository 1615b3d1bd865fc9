"""What readers get to see: well-formed, safe whatever was typed, and pictures whose words can be read on a narrow phone.

Widths of words are estimated at 0.6 of the type size per letter, on the safe side for a plain sans-serif.
"""

import functools
import json
import re
from html.parser import HTMLParser
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rigs import case, healed, sound_texts

from loftbook.calculators import CALCULATORS
from loftbook.drawing.svg import TEXT, WIDTH, Drawing
from loftbook.fields import DEFAULTS, FIELDS, MEASURED
from loftbook.faces.live import answer
from loftbook.plan import Plan, plan
from loftbook.quantity import SYSTEMS
from loftbook.faces.render import checks, form, html, plan_parts, table

LETTER = 0.6 * TEXT
METRIC, FEET = SYSTEMS
VOID = {"input", "br", "img", "hr", "meta", "link"}
KNOWN = {
    "a", "caption", "circle", "dd", "details", "div", "dl", "dt", "fieldset", "figcaption", "figure", "form", "h2", "h3", "input", "label",
    "legend", "li", "line", "ol", "option", "p", "polygon", "polyline", "rect", "select", "span", "strong", "summary", "svg",
    "table", "tbody", "td", "text", "th", "thead", "title", "tr", "ul", "path", "g", "h4", "em", "section", "textarea",
}  # fmt: skip
NASTY = "<img src=x onerror=\"alert('1')\"> & </script>"


def page(whole: Plan) -> str:
    return html(*plan_parts(whole, CALCULATORS.values()))


class Strict(HTMLParser):
    """Every element is closed, in order; collects tags, attributes and words."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len({name for name, _ in attrs}) == len(attrs), f"an attribute twice in {tag}"
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    handle_decl = handle_pi = unknown_decl = handle_comment


def checked(text: str) -> Strict:
    """The page, after everything that must hold for any of them."""
    read = Strict(text)
    ids = [attributes["id"] for _, attributes in read.tags if "id" in attributes]
    assert len(ids) == len(set(ids)), "an id twice"
    for tag, attributes in read.tags:
        assert tag in KNOWN, tag
        for name, value in attributes.items():
            assert name != "style"
            assert not name.startswith("on")
            assert value is not None
            if name == "href":
                assert value.startswith("#")
                assert value[1:] in ids
            assert "javascript:" not in value
    ElementTree.fromstring(f"<div>{text}</div>") if not VOID & {tag for tag, _ in read.tags} else None
    return read


_RIGS = [
    *({"canopy.family": family} for family in FIELDS["canopy.family"].choices),
    *({"canopy.family": "flat polygon", "canopy.sides": str(n)} for n in (4, 5, 6, 7, 9, 12, 16, 24, 31, 32)),
    *({"canopy.family": "flat circular", "canopy.sides": str(n)} for n in (5, 12, 32)),
    *({"canopy.family": "cross", "canopy.sides": str(n)} for n in (12, 16, 32)),
    *({"canopy.family": "annular", "canopy.sides": str(n), "canopy.hole_ratio": "0.8"} for n in (6, 20)),
    *({"cord.layout": layout} for layout in FIELDS["cord.layout"].choices),
    *({"flight.recovery": kind} for kind in FIELDS["flight.recovery"].choices),
    *({"pack.layout": layout, "pack.protector": "bag"} for layout in FIELDS["pack.layout"].choices),
    {"pack.beside": "38 mm"}, {"pack.shortening": "in half, and again", "canopy.size": "2 m"}, {"pack.beside": "5 mm"},
    {"flight.layers": "10 m 3 m/s 270; 300 m 12 m/s 90"}, {"flight.wind_from": "south-east", "site.north": "0"},
    {"site.east": "0", "site.west": "0", "flight.wind": "0"}, {"rocket.mass": "10 g", "nose.mass": "1 g"},
    {"site.east": "0", "site.west": "0", "site.north": "0", "site.south": "0", "flight.wind": "0"},
    {"compare.tubes": "15 mm; 400 mm; x", "compare.sizes": "0.1 m; 15 m"},
    {"rocket.tube": "38 mm"}, {"rocket.tube": "24 mm"}, {"rocket.tube": "400 mm"}, {"rocket.bay": "150 mm"},
    {"rocket.bay": "5 m", "rocket.length": "15 m"}, {"canopy.size": "100 mm"}, {"canopy.size": "15 m"},
    {"cord.length": "100 m"}, {"cord.length": "0.5 m"}, {"cord.layout": "nose part-way along", "cord.gap": "9 m"},
    {"lines.length": "30 m"}, {"lines.length": "50 mm"}, {"flight.wind": "30 m/s", "flight.release": "15000 m"},
    {"flight.wind": "0"}, {"flight.release": "5 m"}, {"pack.cord_turns": "3", "pack.line_turns": "20"},
    {"rocket.mass": "100 kg", "nose.mass": "60 kg"}, {"rocket.mass": "20 g", "nose.mass": "2 g", "canopy.size": "15 cm"},
    {"site.elevation": "5000 m", "site.warmer": "40 °C"}, {"site.pressure": "950 hPa"}, {"canopy.mass": "150 g"},
    {"rocket.shoulder": "0", "pack.protector_depth": "0", "pack.below": "0"}, {"pack.below": "100 %"},
]  # fmt: skip
RIGS = {", ".join(f"{path} {text}" for path, text in changes.items()): changes for changes in _RIGS}
every_rig = pytest.mark.parametrize(("rig", "units"), [(rig, units) for rig in RIGS for units in SYSTEMS])


# --- pages --------------------------------------------------------------------------------------------


@every_rig
def test_a_plan_is_a_well_formed_page(rig: str, units: str) -> None:
    whole = plan(RIGS[rig] | {"rig.units": units})
    read = checked(page(whole))
    said = "".join(read.words)
    for check in whole.checks:
        assert check.reason in said
    verdicts = [attributes["data-verdict"] for _, attributes in read.tags if "data-verdict" in attributes]
    assert verdicts == [check.verdict for check in whole.checks]
    assert [a["data-sound"] for _, a in read.tags if "data-sound" in a] == ["yes" if whole.sound else "no"]
    shown = {attributes.get("data-output") for _, attributes in read.tags}
    for told in whole.answers.values():
        assert told.summary in said
        assert {name for name, value in told.outputs.items() if value is not None} <= shown
        for words in (*told.cautions, *told.notes, *(stage.text for stage in told.stages)):
            assert words in said


@pytest.mark.parametrize("name", [*CALCULATORS, "plan"])
@pytest.mark.parametrize("units", SYSTEMS)
def test_every_answer_is_a_well_formed_page(name: str, units: str) -> None:
    reply = json.loads(answer(json.dumps({"do": "calculate", "calculator": name, "fields": {"rig.units": units}})))
    assert reply["ok"]
    read = checked(reply["html"])
    assert reply["summary"]
    assert any(tag == "details" for tag, _ in read.tags)  # the working is there
    assert (name == "plan") or reply["summary"] in "".join(read.words)


def test_what_was_typed_stays_text() -> None:
    whole = plan({"rig.name": "<img onerror>"})
    text = page(whole)
    assert "<img" not in text
    assert "&lt;img onerror&gt;" in text
    assert checked(text).words[0] == "<img onerror>"


@pytest.mark.parametrize("name", [NASTY, "&lt;b&gt;", "'\"`", "]]>", "<!--", "{{x}}", "&#60;script&#62;", "<svg/onload=x>"])
def test_nothing_typed_becomes_markup(name: str) -> None:
    read = checked(page(plan({"rig.name": name})))
    plain = checked(page(plan({"rig.name": "plain"})))
    assert read.words[0] == name
    assert read.tags == plain.tags


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if not field.choices])
def test_markup_in_a_field_that_does_not_matter_is_not_shown_as_markup(path: str) -> None:
    """Texts of fields that are not checked are kept as typed, whatever they are."""
    texts = {"canopy.family": MEASURED, path: NASTY}
    if path in healed(texts):
        assert "<img" not in page(plan(texts))


@settings(derandomize=True, max_examples=30, deadline=None, suppress_health_check=list(HealthCheck),
          phases=(Phase.explicit, Phase.generate))  # fmt: skip
@given(texts=sound_texts(), name=st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=60))
def test_any_sound_rig_is_a_well_formed_page(texts: dict[str, str], name: str) -> None:
    read = checked(page(plan(texts | {"rig.name": name})))
    assert read.words[0] == name


def test_the_test_sees_what_is_wrong() -> None:
    for wrong in ("<p>", "</p>", "<p><b></p></b>", '<p style="x"></p>', "<script></script>", '<p id="a"></p><p id="a"></p>',
                  '<a href="#nowhere"></a>', '<p onclick="x"></p>', "<!-- x -->", "<img>"):  # fmt: skip
        with pytest.raises((AssertionError, ElementTree.ParseError)):
            checked(wrong)


@pytest.mark.parametrize("calculator", CALCULATORS.values(), ids=lambda calculator: calculator.name)
def test_a_form_has_every_input_once_with_its_default(calculator) -> None:
    read = checked(html(form(calculator.name, calculator.inputs)))
    controls = {a["name"]: (tag, a) for tag, a in read.tags if tag in ("input", "select", "textarea")}
    assert set(controls) == set(calculator.inputs)
    ids = {a["id"] for _, a in read.tags if "id" in a}
    labelled = [a["for"] for tag, a in read.tags if tag == "label"]
    assert sorted(labelled) == sorted(f"{calculator.name}-{path}" for path in calculator.inputs)
    for path, (tag, attributes) in controls.items():
        assert set((attributes["aria-describedby"] or "").split()) <= ids
        if tag == "input":
            assert attributes["value"] == DEFAULTS[path]
        elif tag == "textarea":
            assert DEFAULTS[path] in "".join(read.words)
        else:
            chosen = [a["value"] for t, a in read.tags if t == "option" and "selected" in a and a["value"] == DEFAULTS[path]]
            assert chosen
    said = "".join(read.words)
    for path in calculator.inputs:
        assert FIELDS[path].label in said
        assert FIELDS[path].help in said


def test_a_table_escapes_and_keeps_its_cells() -> None:
    read = checked(html(table(("a", "<b>"), [("1", NASTY), ("2", "&")], "caption")))
    assert [tag for tag, _ in read.tags].count("td") == 4
    assert NASTY in read.words


def test_checks_of_nothing_are_an_empty_list() -> None:
    assert checked(html(checks(()))).tags == [("ul", {"class": "loft-checks"})]


# --- pictures ------------------------------------------------------------------------------------------


@functools.cache
def drawings(rig: str, units: str) -> tuple[tuple[str, Drawing], ...]:
    """Every picture of every calculator, with its place."""
    one, found = case(RIGS[rig] | {"rig.units": units}), []
    for name, calculator in CALCULATORS.items():
        told = calculator.compute(one)
        found += [(name, drawing) for drawing in told.drawings]
        found += [(stage.anchor, stage.drawing) for stage in told.stages if stage.drawing]
        found += [(pair.anchor, drawing) for pair in told.pairs for drawing in (pair.wrong, pair.right)]
    return tuple(found)


def local(element: Element) -> str:
    return element.tag.rpartition("}")[2]


def extent(text: Element) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of some words, estimated."""
    x, y, wide = float(text.attrib["x"]), float(text.attrib["y"]), LETTER * len(text.text or "")
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.attrib["text-anchor"]]
    return left, y - 0.8 * TEXT, left + wide, y + 0.25 * TEXT


def overflowing(rig: str, units: str) -> list[str]:
    """Words that leave their picture, with where they would end."""
    found = []
    for place, drawing in drawings(rig, units):
        svg = ElementTree.fromstring(drawing.svg)
        _, _, wide, high = map(float, svg.attrib["viewBox"].split())
        for text in (e for e in svg.iter() if local(e) == "text"):
            left, top, right, bottom = extent(text)
            if left < -0.5 or top < -0.5 or right > wide + 0.5 or bottom > high + 0.5:
                found.append(f"{place}: “{text.text}” {left:.0f}…{right:.0f} of {wide:.0f}, {top:.0f}…{bottom:.0f} of {high:.0f}")
    return found


@every_rig
def test_every_picture_is_whole(rig: str, units: str) -> None:
    count = 0
    for place, drawing in drawings(rig, units):
        count += 1
        svg = ElementTree.fromstring(drawing.svg)
        numbers = [float(n) for n in svg.attrib["viewBox"].split()]
        assert numbers[:3] == [0, 0, WIDTH]
        assert 40 < numbers[3] < 640, "higher than a phone's screen"
        assert svg.attrib["role"] == "img"
        assert local(svg[0]) == "title"
        assert svg[0].text == f"{drawing.name}. {drawing.description}"
        assert drawing.name
        assert drawing.description
        for element in svg.iter():
            assert "style" not in element.attrib
            if local(element) == "text":
                assert float(element.attrib["font-size"]) >= 14
                assert (element.text or "").strip(), place
            for name, value in element.attrib.items():
                assert not re.search(r"nan|inf|e[+-]?\d", value) or name == "class", (place, name, value)
                if name in ("width", "height", "r"):
                    assert float(value) >= 0
    assert count >= 4


@every_rig
def test_all_words_are_inside_their_picture(rig: str, units: str) -> None:
    assert overflowing(rig, units) == []


@every_rig
def test_all_shapes_are_inside_their_picture(rig: str, units: str) -> None:
    outside = []
    for place, drawing in drawings(rig, units):
        svg = ElementTree.fromstring(drawing.svg)
        _, _, wide, high = map(float, svg.attrib["viewBox"].split())
        for element in svg.iter():
            for x, y in spots(element):
                if not (-1 <= x <= wide + 1 and -1 <= y <= high + 1):
                    outside.append(f"{place}: {local(element)} {element.attrib.get('class')} at {x:.0f}, {y:.0f} of {wide:.0f} x {high:.0f}")
    assert outside == []


def spots(element: Element) -> list[tuple[float, float]]:
    """Points a shape reaches."""
    get = lambda name: float(element.attrib[name])  # noqa: E731
    match local(element):
        case "line":
            return [(get("x1"), get("y1")), (get("x2"), get("y2"))]
        case "rect":
            return [(get("x"), get("y")), (get("x") + get("width"), get("y") + get("height"))]
        case "circle":
            return [(get("cx") - get("r"), get("cy") - get("r")), (get("cx") + get("r"), get("cy") + get("r"))]
        case "polygon" | "polyline":
            return [tuple(map(float, pair.split(","))) for pair in element.attrib["points"].split()]  # type: ignore[misc]
    return []


@every_rig
def test_no_words_lie_on_others(rig: str, units: str) -> None:
    """Two labels that share more than a third of the smaller one's area cannot be read."""
    clashes = []
    for place, drawing in drawings(rig, units):
        texts = [e for e in ElementTree.fromstring(drawing.svg).iter() if local(e) == "text"]
        boxes = [(text.text, extent(text)) for text in texts]
        for i, (one, a) in enumerate(boxes):
            for other, b in boxes[i + 1 :]:
                shared = max(0, min(a[2], b[2]) - max(a[0], b[0])) * max(0, min(a[3], b[3]) - max(a[1], b[1]))
                smaller = min((c[2] - c[0]) * (c[3] - c[1]) for c in (a, b))
                if shared > smaller / 3:
                    clashes.append(f"{place}: “{one}” and “{other}”")
    assert clashes == []


def test_a_picture_follows_the_rig() -> None:
    """What is drawn depends on what it shows, and on nothing else."""

    def svgs(**changes: str) -> list[str]:
        one = case({path.replace("_", ".", 1): text for path, text in changes.items()})
        return [drawing.svg for drawing in CALCULATORS["packing"].compute(one).drawings]

    assert svgs() == svgs(rocket_mass="2.3 kg")
    assert svgs() != svgs(rocket_tube="98 mm")
    assert svgs() != svgs(pack_protector_depth="80 mm")
