"""The page's door: which bay a request is about, the switch between them, files that can be opened again."""

import json
import re
from collections.abc import Iterator
from html import unescape

import pytest
from rigs import the_rest

from loftbook.answer import Later
from loftbook.calculators import CALCULATORS, folding, packing
from loftbook.faces import live
from loftbook.faces.live import answer
from loftbook.plan import joined, plan
from loftbook.quantity import SYSTEMS
from loftbook.rig.fields import DEFAULTS, STARTS
from loftbook.rig.files import load
from loftbook.rig.parsing import parse
from loftbook.rig.ways import KEYS, WAYS, shown

BUTTON = re.compile(r'<button type="button" data-bay="(\w+)" aria-pressed="(true|false)">([^<]+)</button>')


def ask(**request: object) -> dict:
    return json.loads(answer(json.dumps(request)))


def test_what_is_made_later_is_made_once_in_order_and_only_as_far_as_it_is_looked_at() -> None:
    made = []

    def make() -> Iterator[int]:
        for number in range(3):
            made.append(number)
            yield number

    rows = Later(make)
    assert made == []
    assert bool(rows)
    assert rows[0] == 0
    assert made == [0]
    assert [*rows] == [0, 1, 2] == [*rows]
    assert (len(rows), rows[-1], rows[1:], rows[1]) == (3, 2, (1, 2), 1)
    assert made == [0, 1, 2]
    assert rows == (0, 1, 2)
    assert rows == Later(make)
    assert rows != (0, 1)
    assert not Later(tuple)
    with pytest.raises(IndexError):
        rows[3]


@pytest.mark.parametrize("error", [ValueError, IndexError, StopIteration])
def test_what_breaks_while_it_is_made_breaks_for_everybody_who_looks(error: type[Exception]) -> None:
    """Half of the steps must never pass for all of them."""

    class Breaks:
        def __init__(self) -> None:
            self.count = 0

        def __iter__(self) -> Iterator[int]:
            return self

        def __next__(self) -> int:
            self.count += 1
            if self.count > 2:
                raise RuntimeError from error()
            return self.count

    rows = Later(Breaks)
    assert rows[1] == 2
    for _ in range(2):
        for look in (list, len, lambda found: found[5], lambda found: found[1:]):
            with pytest.raises(RuntimeError):
                look(rows)


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
    for do in ("numbers", "calculate", "more"):
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
        lead, more = (ask(do=do, calculator=name, fields={"flight.way": way}, bay=key) for do in ("calculate", "more"))
        html = lead["html"] + more["html"]
        buttons = BUTTON.findall(html)
        assert html.startswith('<div class="loft-bays" role="group"') is (len(keys) > 1)
        assert [bay for bay, _, _ in buttons] == (list(keys) if len(keys) > 1 else [])
        assert [bay for bay, pressed, _ in buttons if pressed == "true"] == ([key] if len(keys) > 1 else [])
        assert len({title for _, _, title in buttons}) == len(buttons)


@pytest.mark.parametrize("name", [*CALCULATORS, "plan"])
def test_the_rest_is_of_the_rig_that_it_is_asked_for_whatever_was_asked_before(name: str) -> None:
    """The last answer is kept for the second question: another rig, another bay, a refusal in between never get its rest."""
    small, large = {"main.canopy.size": "1.1 m"}, {"main.canopy.size": "1.3 m", "rig.units": SYSTEMS[1]}
    bay = "" if name == "plan" else CALCULATORS[name].keys(WAYS[DEFAULTS["flight.way"]])[0]

    def more(fields: dict[str, str], **said: str) -> str:
        return the_rest(ask, name, fields, **said)

    def lead(fields: dict[str, str], **said: str) -> dict:
        return ask(do="calculate", calculator=name, fields=fields, **said)

    alone = [more(small), more(large), more(small, bay=bay)]
    assert alone[0] != alone[1]
    for before in ({"fields": small}, {"fields": large}, {"fields": small, "bay": bay}):
        lead(**before)
        assert [more(small), more(large), more(small, bay=bay)] == alone
        lead(**before)
        assert not lead({"main.canopy.size": "a metre"})["ok"]
        assert [more(large), more(small), more(small, bay=bay)] == [alone[1], alone[0], alone[2]]


@pytest.mark.parametrize("name", ["", "folding", "nothing", "<b>", "x" * 400])
def test_a_part_that_the_plan_has_not_is_refused_with_those_it_has(name: str) -> None:
    (fault,) = ask(do="part", names=["main.folding", name], fields={})["faults"]
    assert fault["allowed"] == ", ".join(plan({}).answers)
    assert len(fault["given"]) <= 60


@pytest.mark.parametrize("names", [None, "main.folding", [1], {"main.folding": 1}])
def test_parts_are_asked_for_in_a_list(names: object) -> None:
    (fault,) = ask(do="part", names=names, fields={})["faults"]
    assert "list" in fault["message"]


@pytest.mark.parametrize("way", WAYS)
def test_parts_of_a_plan_are_worked_when_they_are_opened_and_no_sooner(way: str) -> None:
    fields = {"flight.way": way}
    more = ask(do="more", calculator="plan", fields=fields)["html"]
    for name, told in plan(fields).answers.items():
        assert f'data-part="{name}"' in more
        assert told.summary not in more
        assert told.summary in re.sub(r"<[^>]*>", "", unescape(ask(do="part", names=[name], fields=fields)["parts"][0]["html"]))


@pytest.mark.parametrize("name", [*CALCULATORS, "plan"])
def test_asked_for_what_leads_and_then_the_rest_a_rig_is_worked_once_and_no_step_is_drawn_early(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    fields, made = {"main.canopy.size": "1.21 m"}, []
    for part in ("folds", "preparations"):
        real = getattr(folding, part)
        monkeypatch.setattr(folding, part, lambda *given, real=real, part=part: made.append(part) or real(*given))
    for part in ("connections", "packing_steps"):
        real = getattr(packing, part)
        monkeypatch.setattr(packing, part, lambda *given, real=real, part=part: made.append(part) or real(*given))
    parsed = []
    monkeypatch.setattr(live, "parse", lambda texts: parsed.append(texts) or parse(texts))
    monkeypatch.setattr(live, "plan", lambda texts: parsed.append(texts) or plan(texts))
    assert ask(do="calculate", calculator=name, fields=fields)["ok"]
    assert made == []
    assert the_rest(ask, name, fields)
    assert parsed == [fields]
    assert sorted(set(made)) == {"folding": ["folds", "preparations"], "packing": ["connections", "packing_steps"]}.get(
        name, ["connections", "folds", "packing_steps", "preparations"] if name == "plan" else []
    )


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
