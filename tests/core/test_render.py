"""What readers get to see: well-formed, safe whatever was typed, and pictures whose words can be read on a narrow phone.

Widths of words are estimated at 0.6 of the type size per letter, on the safe side for a plain sans-serif.
"""

import dataclasses
import functools
import json
import re
from html.parser import HTMLParser
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rigs import healed, sound_texts

from loftbook.answer import Check
from loftbook.calculators import CALCULATORS
from loftbook.drawing.svg import TEXT, WIDTH, Drawing
from loftbook.faces.live import answer
from loftbook.faces.render import answer_parts, checks, form, html, open_first, plan_lead, plan_more, plan_part, table
from loftbook.plan import Plan, plan
from loftbook.quantity import SYSTEMS
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.fields import DEFAULTS, FIELDS, GROUPS, ONE_BAY_75, STARTS
from loftbook.rig.parsing import parse
from loftbook.rig.ways import KEYS, WAYS
from loftbook.worked.worked import Worked
from sweeps import share

LETTER = 0.6 * TEXT
METRIC, FEET = SYSTEMS
SAFETY = "../safety/"  # the one page that an answer links to
VOID = {"input", "br", "img", "hr", "meta", "link"}
KNOWN = {
    "a", "button", "caption", "circle", "dd", "details", "div", "dl", "dt", "fieldset", "figcaption", "figure", "form", "h2", "h3", "input", "label",
    "legend", "li", "line", "ol", "option", "p", "polygon", "polyline", "rect", "select", "span", "strong", "summary", "svg",
    "table", "tbody", "td", "text", "th", "thead", "title", "tr", "ul", "path", "g", "h4", "em", "section", "textarea",
}  # fmt: skip
PAGES = {f"../{name}/" for name in CALCULATORS}
LANDINGS = 200
NASTY = "<img src=x onerror=\"alert('1')\"> & </script>"


def page(whole: Plan) -> str:
    """All that a plan shows, its parts open."""
    return html(*plan_lead(whole), *plan_more(whole), *(each for name in whole.answers for each in plan_part(whole, name)))


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
            if name == "href" and value != SAFETY and value not in PAGES:
                assert value.startswith("#")
                assert value[1:] in ids
            assert "javascript:" not in value
    ElementTree.fromstring(f"<div>{text}</div>") if not VOID & {tag for tag, _ in read.tags} else None
    return read


_SINGLE = [
    *({"main.canopy.family": family} for family in FIELDS["main.canopy.family"].choices),
    *({"main.canopy.family": "flat polygon", "main.canopy.sides": str(n)} for n in (4, 5, 6, 7, 9, 12, 16, 24, 31, 32)),
    *({"main.canopy.family": "flat circular", "main.canopy.sides": str(n)} for n in (5, 12, 32)),
    *({"main.canopy.family": "cross", "main.canopy.sides": str(n)} for n in (12, 16, 32)),
    *({"main.canopy.family": "annular", "main.canopy.sides": str(n), "main.canopy.hole_ratio": "0.8"} for n in (6, 20)),
    *({"main.cord.layout": layout} for layout in FIELDS["main.cord.layout"].choices),
    *({"main.charge.kind": kind} for kind in FIELDS["main.charge.kind"].choices),
    *({"main.pack.layout": layout, "main.pack.protector": "bag"} for layout in FIELDS["main.pack.layout"].choices),
    {"main.pack.beside": "38 mm"}, {"main.pack.shortening": "in half, and again", "main.canopy.size": "2 m"},
    {"main.pack.beside": "5 mm"}, {"main.canopy.across": "corner to corner"},
    {"flight.layers": "10 m 3 m/s 270; 300 m 12 m/s 90"}, {"flight.wind_from": "south-east", "site.north": "0"},
    {"site.east": "0", "site.west": "0", "flight.wind": "0"}, {"rocket.mass": "10 g", "nose.mass": "1 g"},
    {"site.east": "0", "site.west": "0", "site.north": "0", "site.south": "0", "flight.wind": "0"},
    {"compare.tubes": "15 mm; 400 mm", "compare.sizes": "0.1 m; 15 m"},
    {"main.bay.tube": "38 mm"}, {"main.bay.tube": "24 mm"}, {"main.bay.tube": "400 mm"}, {"main.bay.depth": "150 mm"},
    {"main.bay.depth": "5 m", "rocket.length": "15 m"}, {"main.canopy.size": "100 mm"}, {"main.canopy.size": "15 m"},
    {"main.cord.length": "100 m"}, {"main.cord.length": "0.5 m"}, {"main.cord.layout": "nose part-way along", "main.cord.gap": "9 m"},
    {"main.lines.length": "30 m"}, {"main.lines.length": "50 mm"}, {"flight.wind": "30 m/s", "flight.apogee": "15000 m"},
    {"flight.wind": "0"}, {"flight.apogee": "5 m"}, {"main.pack.cord_turns": "3", "main.pack.line_turns": "20"},
    {"rocket.mass": "100 kg", "nose.mass": "60 kg"},
    {"rocket.mass": "20 g", "nose.mass": "2 g", "main.canopy.size": "15 cm"},
    {"site.elevation": "5000 m", "site.warmer": "40 °C"}, {"site.pressure": "950 hPa"}, {"main.canopy.mass": "150 g"},
    {"main.bay.shoulder": "0", "main.pack.protector_depth": "0", "main.pack.below": "0"}, {"main.pack.below": "100 %"},
]  # fmt: skip
_WAYS = [
    *({"flight.way": way} for way in WAYS),
    *({"flight.way": way, "main.canopy.size": "4 m", "drogue.canopy.size": "1.2 m"} for way in WAYS),
    *({"flight.way": way, "main.cord.length": "40 m", "drogue.cord.length": "0.5 m"} for way in WAYS),
    *({"flight.way": way, "drogue.canopy.family": "annular", "forward.canopy.family": "cross"} for way in WAYS),
    *({"rocket.main_bay": place} for place in FIELDS["rocket.main_bay"].choices),
    *({"flight.fall": kind, "flight.way": "no drogue: parts fall until the main opens"} for kind in FIELDS["flight.fall"].choices),
    {"flight.wind": "20 m/s", "flight.apogee": "5000 m"}, {"drogue.joint.pins": "0", "main.joint.pins": "1"},
]  # fmt: skip
_RIGS = [*({"rig.start": ONE_BAY_75} | changes for changes in _SINGLE), *_WAYS]
RIGS = {", ".join(f"{path} {text}" for path, text in changes.items()): changes for changes in _RIGS}
every_rig = pytest.mark.parametrize(("rig", "units"), [(rig, units) for rig in RIGS for units in SYSTEMS])
some_rigs = pytest.mark.parametrize(("rig", "units"), share([(rig, units) for rig in RIGS for units in SYSTEMS], 4))


# --- pages --------------------------------------------------------------------------------------------


@some_rigs
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
        for words in (*told.cautions, *told.notes, *(step.text for step in told.steps)):
            assert words in said
    parts = [attributes["data-part"] for _, attributes in read.tags if "data-part" in attributes]
    assert parts == list(whole.answers)
    headings = [whole.title(name) for name in parts]
    assert len(set(headings)) == len(headings)
    assert all(heading in read.words for heading in headings)


@pytest.mark.parametrize("way", WAYS)
def test_a_check_says_which_bay_it_is_about(way: str) -> None:
    whole = plan({"flight.way": way})
    read = checked(page(whole))
    rows = [attributes for tag, attributes in read.tags if tag == "li" and "data-check" in attributes]
    assert [(row["data-check"], row.get("data-bay", "")) for row in rows] == [(c.name, c.bay) for c in whole.checks]
    said = "".join(read.words)
    for check in whole.checks:
        if check.bay and len(whole.rig.way.keys) > 1:
            assert f"{check.title}, {whole.worked.title(check.bay)}. " in said


@pytest.mark.parametrize("name", [*CALCULATORS, "plan"])
@pytest.mark.parametrize("units", SYSTEMS)
def test_every_answer_is_a_well_formed_page(name: str, units: str) -> None:
    request = {"do": "calculate", "calculator": name, "fields": {"rig.units": units}}
    reply, more = (json.loads(answer(json.dumps(request | {"do": do}))) for do in ("calculate", "more"))
    assert reply["ok"]
    read = checked(reply["html"] + more["html"])
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
    texts = {"main.canopy.family": MEASURED, path: NASTY}
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
@pytest.mark.parametrize("start", STARTS)
def test_every_key_of_a_calculator_has_a_well_formed_answer(calculator, start: str) -> None:
    worked = Worked(parse({"rig.start": start}))
    for key in calculator.keys(worked.rig.way):
        told = calculator.answer(worked, key)
        read = checked(html(*answer_parts(calculator, told, worked.rig)))
        assert told.summary in "".join(read.words)
        assert [a["id"] for tag, a in read.tags if tag == "li" and a.get("class") == "loft-step"] == [
            step.anchor for step in told.steps
        ]


@pytest.mark.parametrize("calculator", CALCULATORS.values(), ids=lambda calculator: calculator.name)
def test_a_page_asks_two_to_four_things_first(calculator) -> None:
    """Of whatever bay is shown; each stands before the fold, in no group, and once in the form."""
    bare = [path.partition(".")[2] if FIELDS[path].bay else path for path in calculator.asks]
    assert 2 <= len(set(bare)) <= 4
    read = checked(html(form(calculator.name, [FIELDS[path] for path in calculator.inputs], calculator.asks)))
    order = [a["data-field"] for _, a in read.tags if "data-field" in a]
    assert set(order[: len(calculator.asks)]) == set(calculator.asks)
    assert sorted(order) == sorted(calculator.inputs)
    classes = [a.get("class") for _, a in read.tags]
    assert classes.index("loft-change") > max(i for i, one in enumerate(classes) if one == "loft-group loft-asked")


def test_what_a_page_asks_must_be_something_it_depends_on() -> None:
    with pytest.raises(KeyError, match="asks for what it does not depend on"):
        dataclasses.replace(CALCULATORS["canopy"], asks=("flight.wind",))


def test_what_holds_is_one_line_and_what_does_not_stands_before_it() -> None:
    rows = [Check("a", "pass", "A", "holds"), Check("b", "warn", "B", "look"), Check("c", "fail", "C", "fails"), Check("d", "pass", "D", "holds")]
    text = html(*open_first(rows))
    assert text.index("fails") < text.index("look") < text.index("2 hold") < text.index("holds")
    assert "1 holds" in html(*open_first(rows[:1]))
    assert html(*open_first(())) == ""


@pytest.mark.parametrize("name", CALCULATORS)
def test_cautions_stand_before_every_figure(name: str) -> None:
    """In full where there is a charge, else in a line with a link to the rest."""
    whole = plan({})
    one = CALCULATORS[name]
    for key in one.keys(whole.rig.way):
        told = one.answer(whole.worked, key)
        text = html(*answer_parts(one, told, whole.rig))
        for caution in told.cautions:
            assert text.index(html(caution)) < text.index("loft-summary")
        assert (f'href="{SAFETY}"' in text) == (len(told.cautions) == 1)
    assert name not in ("separation", "electronics") or len(told.cautions) > 1


FORMS = {name: calculator.inputs for name, calculator in CALCULATORS.items()} | {"plan": tuple(FIELDS)}


@pytest.mark.parametrize("name", FORMS)
def test_a_form_has_every_input_once_with_its_default(name: str) -> None:
    paths = FORMS[name]
    read = checked(html(form(name, [FIELDS[path] for path in paths])))
    controls = {a["name"]: (tag, a) for tag, a in read.tags if tag in ("input", "select", "textarea")}
    assert set(controls) == set(paths)
    ids = {a["id"] for _, a in read.tags if "id" in a}
    labelled = [a["for"] for tag, a in read.tags if tag == "label"]
    assert sorted(labelled) == sorted(f"{name}-{path}" for path in paths)
    assert [a.get("class") for _, a in read.tags].count("loft-origin") == len(paths)
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
    for path in paths:
        assert FIELDS[path].label in said
        assert FIELDS[path].help in said


@pytest.mark.parametrize("name", FORMS)
def test_groups_of_a_form_say_their_name_and_their_bay(name: str) -> None:
    read = checked(html(form(name, [FIELDS[path] for path in FORMS[name]])))
    groups = [(a["data-group"], a.get("data-bay", "")) for tag, a in read.tags if tag == "fieldset"]
    wanted = {FIELDS[path].group: FIELDS[path].bay for path in FORMS[name]}
    assert groups == [(group, wanted[group]) for group in GROUPS if group in wanted]
    assert all(group.startswith(f"{bay}.") for group, bay in groups if bay)
    assert {bay for _, bay in groups} <= {"", *KEYS}
    assert [words for words in read.words if words in GROUPS.values()] == [GROUPS[group] for group, _ in groups]


def test_when_a_field_matters_is_read_back_from_the_form() -> None:
    """`data-when` splits at & = and |, so no path and no choice may hold one of them."""
    read = checked(html(form("plan", FIELDS.values())))
    found = {a["data-field"]: a.get("data-when") for _, a in read.tags if "data-field" in a}
    assert set(found) == set(FIELDS)
    assert sum(when is not None for when in found.values()) > 20
    for path, when in found.items():
        conditions = [] if when is None else [condition.split("=") for condition in when.split("&")]
        assert [(other, tuple(values.split("|"))) for other, values in conditions] == list(FIELDS[path].when)
    for field in FIELDS.values():
        for other, values in field.when:
            assert not set("&|=") & set(other + "".join(values))
            assert set(values) <= set(FIELDS[other].choices)


def test_a_table_escapes_and_keeps_its_cells() -> None:
    read = checked(html(table(("a", "<b>"), [("1", NASTY), ("2", "&")], "caption")))
    assert [tag for tag, _ in read.tags].count("td") == 4
    assert NASTY in read.words


def test_checks_of_two_bays_are_told_apart() -> None:
    rows = (Check("bundle-fits", "fail", "Bundle fits", NASTY, "drogue"), Check("drift", "pass", "Drift", "Little."))
    read = checked(html(checks(rows, {"drogue": "drogue <1>"})))
    assert "Bundle fits, drogue <1>. " in read.words
    assert "Drift. " in read.words
    assert NASTY in read.words
    assert [a.get("data-bay") for tag, a in read.tags if tag == "li"] == ["drogue", None]


def test_checks_of_nothing_are_an_empty_list() -> None:
    assert checked(html(checks(()))).tags == [("ul", {"class": "loft-checks"})]


# --- pictures ------------------------------------------------------------------------------------------


@functools.cache
def drawings(rig: str, units: str) -> tuple[tuple[str, Drawing], ...]:
    """Every picture of every calculator, with its place."""
    worked, found = Worked(parse(RIGS[rig] | {"rig.units": units}), LANDINGS), []
    for name, calculator in CALCULATORS.items():
        for key in calculator.keys(worked.rig.way):
            told = calculator.answer(worked, key)
            found += [(f"{key}.{name}", drawing) for drawing in told.drawings]
            found += [(step.anchor, step.drawing) for step in told.steps if step.drawing]
            found += [(pair.anchor, drawing) for pair in told.pairs for drawing in (pair.wrong, pair.right)]
            found += [(seen.anchor, drawing) for seen in told.seen for drawing in seen.drawings]
    return tuple(found)


def local(element: Element) -> str:
    return element.tag.rpartition("}")[2]


def extent(text: Element) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of some words, estimated."""
    x, y, wide = float(text.attrib["x"]), float(text.attrib["y"]), LETTER * len(text.text or "")
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.attrib.get("text-anchor", "start")]
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
                assert float(element.get("font-size", svg.attrib["font-size"])) >= 14
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
        texts = {"rig.start": ONE_BAY_75} | {path.replace("__", "."): text for path, text in changes.items()}
        return [drawing.svg for drawing in CALCULATORS["packing"].answer(Worked(parse(texts)), "main").drawings]

    assert svgs() == svgs(rocket__mass="2.3 kg")
    assert svgs() != svgs(main__bay__tube="98 mm")
    assert svgs() != svgs(main__pack__protector_depth="80 mm")


# --- in the reader's own units -------------------------------------------------------------------------

# A number with a metric unit that nothing follows which gives it in the reader's too.
METRIC = re.compile(r"(?<![\w.])\d[\d.,]* ?(?:mm|cm|m|km|kg|g|N|kN|kPa|Pa|J|kJ|m/s|km/h|ml|cm³|m²|°C|g/cm³|g/m²)(?![\w·/²³])")
AS_PUBLISHED = ("(z / 10 m)", "5 in or 5 mm")  # a formula; how one may write
CHARGE = re.compile(r"\d[\d.]* g (?:\(\d[\d.]* grains\)|to \d[\d.]* g)")  # in both, for who weighs it


@pytest.mark.parametrize("rig", RIGS)
def test_nothing_metric_is_told_to_who_reads_feet_and_inches(rig: str) -> None:
    whole = plan(RIGS[rig] | {"rig.units": "feet and inches"})
    for name, one in CALCULATORS.items():
        if name == "compare" and "compare.tubes" in RIGS[rig]:
            continue  # a list that was typed stands in its reader's own words
        for key in one.keys(whole.rig.way):
            text = re.sub(r"<[^>]+>", " ", html(*answer_parts(one, one.answer(whole.worked, key), whole.rig)))
            for published in AS_PUBLISHED:
                text = text.replace(published, "")
            text = CHARGE.sub("", text)
            found = [text[max(0, at.start() - 50) : at.end() + 20] for at in METRIC.finditer(text)]
            assert not found, (name, key)
