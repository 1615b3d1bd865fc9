"""The page's door: which bay a request is about, the switch between them, files that can be opened again."""

import json
import re

import pytest

from loftbook.calculators import CALCULATORS
from loftbook.faces.live import answer
from loftbook.plan import joined, plan
from loftbook.rig.fields import DEFAULTS, STARTS
from loftbook.rig.files import load
from loftbook.rig.parsing import parse
from loftbook.rig.ways import KEYS, WAYS, shown

BUTTON = re.compile(r'<button type="button" data-bay="(\w+)" aria-pressed="(true|false)">([^<]+)</button>')


def ask(**request: object) -> dict:
    return json.loads(answer(json.dumps(request)))


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", CALCULATORS)
def test_a_calculator_answers_about_the_bay_that_the_rig_shows(name: str, way: str) -> None:
    keys = CALCULATORS[name].keys(WAYS[way])
    for wanted in KEYS:
        reply = ask(do="numbers", calculator=name, fields={"flight.way": way, "rig.bay": wanted})
        assert reply["ok"]
        assert reply["bay"] == ("" if keys == ("",) else shown(WAYS[way], wanted, keys))


@pytest.mark.parametrize("way", WAYS)
def test_one_bay_can_be_asked_for_and_gets_its_part_of_the_plan(way: str) -> None:
    whole = plan({"flight.way": way})
    for name, calculator in CALCULATORS.items():
        for key in calculator.keys(WAYS[way]):
            reply = ask(do="numbers", calculator=name, fields={"flight.way": way}, bay=key)
            assert reply["bay"] == key
            if joined(key, name) in whole.answers and name != "landing":  # alone it draws ten times as many landings
                part = whole.answers[joined(key, name)]
                assert reply["summary"] == part.summary
                assert reply["checks"] == {check.name: check.verdict for check in part.checks}


@pytest.mark.parametrize("name", CALCULATORS)
@pytest.mark.parametrize("bay", ["forward", "nose", "<b>", "x" * 400])
def test_a_bay_that_the_rig_has_not_is_refused_with_those_it_has(name: str, bay: str) -> None:
    for do in ("numbers", "calculate"):
        reply = ask(do=do, calculator=name, fields={}, bay=bay)
        assert reply["ok"] is False
        (fault,) = reply["faults"]
        assert fault["allowed"] in fault["message"]
        assert fault["allowed"] == "drogue, main" or CALCULATORS[name].each == "rig"
        assert len(fault["given"]) <= 60


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", CALCULATORS)
def test_the_switch_stands_where_there_is_something_to_choose(name: str, way: str) -> None:
    keys = CALCULATORS[name].keys(WAYS[way])
    for key in keys:
        reply = ask(do="calculate", calculator=name, fields={"flight.way": way}, bay=key)
        html = reply["html"] + reply["more"]
        buttons = BUTTON.findall(html)
        assert html.startswith('<div class="loft-bays" role="group"') is (len(keys) > 1)
        assert [bay for bay, _, _ in buttons] == (list(keys) if len(keys) > 1 else [])
        assert [bay for bay, pressed, _ in buttons if pressed == "true"] == ([key] if len(keys) > 1 else [])
        assert len({title for _, _, title in buttons}) == len(buttons)


@pytest.mark.parametrize("format_", ["toml", "json"])
@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("typed", [{}, {"rig.name": "Möwe"}, {"main.canopy.size": DEFAULTS["main.canopy.size"]}])
def test_what_is_written_can_be_read_again_and_is_the_same_rig(typed: dict[str, str], start: str, format_: str) -> None:
    """A file says what was typed and where the rest comes from: what is the starting rig's stays the starting rig's."""
    fields = {"rig.start": start} | typed
    text = ask(do="write", fields=fields, format=format_)["text"]
    reply = ask(do="read", text=text)
    assert reply["ok"]
    assert reply["fields"] == load(text)
    before, after = parse(fields), parse(reply["fields"])
    assert after.texts == before.texts
    assert reply["fields"] == fields
    for path in typed:
        assert after.origin(path) == before.origin(path) == "typed"
    assert after.origin("main.canopy.vent") == "start"
