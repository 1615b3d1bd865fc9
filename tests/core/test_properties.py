"""What must hold for every rig: finite or refused, nothing used that is not declared, physics in the right direction.

Strategies are built from the declarations. No expected number of ours stands here: only limits, orders and scalings.
"""

import functools
import itertools
import json
import math
import re
from collections.abc import Iterator, Mapping

import numpy as np
import pytest
from ambiance import Atmosphere
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from rigs import (
    NUMERIC,
    SAID,
    answers_of,
    any_texts,
    exact,
    faults_of,
    healed,
    in_range,
    made_relevant,
    needed,
    page_of,
    sound_texts,
    texts_of,
    the_rest,
    typed,
    walk,
    worked,
)

from loftbook.answer import Calculator
from loftbook.calculators import CALCULATORS
from loftbook.errors import Refusal
from loftbook.faces import live
from loftbook.physics import folding
from loftbook.physics.spread import Spread
from loftbook.plan import data, joined, plain, plan
from loftbook.quantity import COUNT, SYSTEMS, read
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import completed, is_relevant, limits, parse
from loftbook.rig.ways import DROGUE, KEYS, MAIN, ONE_CANOPY, TWO_BAYS, WAYS
from loftbook.tables import FAMILIES
from loftbook.worked.bundle import Folded
from loftbook.worked.worked import Worked

METRIC, FEET = SYSTEMS
NO_NUMBER = re.compile(r"\b(?i:nan|inf|infinity)\b|\bNone\b(?!:| entered)|Spread\(")  # “None entered yet” is a sentence
# No shrinking: it takes minutes, and rigs that are changed all over do not get simpler.
often = settings(derandomize=True, max_examples=30, deadline=None, suppress_health_check=list(HealthCheck),
                 phases=(Phase.explicit, Phase.generate), report_multiple_bugs=False)  # fmt: skip
seldom = settings(often, max_examples=15)
every_calculator = pytest.mark.parametrize("name", CALCULATORS)


def ask(**request: object) -> dict:
    """A question at the door of the core; the reply as a page gets it."""
    text = live.answer(json.dumps(request))
    return json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} in a reply"))


def outputs_of(name: str, texts: Mapping[str, str], key: str = MAIN) -> dict[str, object]:
    """Its answer about one canopy, bay or cord; or about the whole rig."""
    calculator = CALCULATORS[name]
    answer = calculator.answer(worked(texts), "" if calculator.each == "rig" else key)
    return {output: plain(value) for output, value in answer.outputs.items()}


def all_outputs(name: str, texts: Mapping[str, str]) -> dict[str, dict[str, object]]:
    """The same about everything it is asked about."""
    return {key: {output: plain(value) for output, value in answer.outputs.items()}
            for key, answer in answers_of(CALCULATORS[name], texts).items()}  # fmt: skip


def best(value: object) -> float:
    return value["best"] if isinstance(value, dict) else value  # type: ignore[return-value]


# --- finite or refused -------------------------------------------------------------------------------


@often
@given(texts=any_texts() | any_texts(few=True))
def test_every_rig_is_answered_with_finite_numbers_or_refused(texts: dict[str, str]) -> None:
    """Through the same door as a page, without any healing; a reply is JSON without NaN by its own strictness."""
    reply = ask(do="numbers", calculator="plan", fields=texts)
    assert reply["ok"] is (faults_of(texts) == ())
    if not reply["ok"]:
        assert all(fault["field"] in FIELDS and fault["message"] for fault in reply["faults"])


@often
@given(texts=sound_texts())
def test_every_sound_rig_has_a_whole_plan(texts: dict[str, str]) -> None:
    reply = ask(do="numbers", calculator="plan", fields=texts)
    assert reply["ok"], reply
    whole = reply["plan"]
    rig = parse(texts)
    asked = {joined(key, name): one for name, one in CALCULATORS.items() if one.in_plan for key in one.keys(rig.way)}
    assert list(whole["results"]) == list(asked)
    for name, results in whole["results"].items():
        assert set(results) == {output.name for output in asked[name].outputs}
    for where, value in walk({key: whole[key] for key in ("results", "checks", "steps")}):
        if isinstance(value, str):
            assert value or where.endswith((".bay", ".source")), where
            assert not NO_NUMBER.search(value), (where, value)
        elif value is not None:
            assert math.isfinite(value), where
    assert len({(check["bay"], check["name"]) for check in whole["checks"]}) == len(whole["checks"])
    assert {check["bay"] for check in whole["checks"]} <= {"", *rig.way.keys}
    assert whole["sound"] is all(check["verdict"] != "fail" for check in whole["checks"])
    assert json.loads(json.dumps(data(plan(texts)), allow_nan=False)) == whole


@often
@given(texts=sound_texts(), name=st.sampled_from([*CALCULATORS, "plan"]))
def test_every_sound_rig_has_a_page(texts: dict[str, str], name: str) -> None:
    reply = ask(do="calculate", calculator=name, fields=texts | {"rig.name": "x"})
    assert reply["ok"], reply
    said = re.sub(r"<[^>]*>", " ", reply["html"] + the_rest(ask, name, texts | {"rig.name": "x"}))
    assert not NO_NUMBER.search(said), NO_NUMBER.search(said)
    assert not NO_NUMBER.search(reply["summary"])


@often
@given(texts=sound_texts())
def test_answers_hold_to_their_declarations(texts: dict[str, str]) -> None:
    """Outputs are those declared, each of its declared sort; a range is in order; one check has one verdict."""
    verdicts: dict[tuple[str, str], object] = {}
    one = worked(texts)
    for calculator in CALCULATORS.values():
        declared = {kind.name: kind.title for kind in calculator.checks}
        for key in calculator.keys(one.rig.way):
            answer = calculator.answer(one, key)
            assert set(answer.outputs) == {output.name for output in calculator.outputs}
            for output in calculator.outputs:
                value = answer.outputs[output.name]
                if isinstance(value, Spread):
                    assert output.kind is not None
                    assert value.low <= value.best <= value.high
                elif value is not None:
                    assert isinstance(value, str) is (output.kind is None)
                    if output.kind is COUNT:
                        assert value == int(value)
            for check in answer.checks:
                assert declared[check.name] == check.title
                assert check.bay == key
                assert verdicts.setdefault((key, check.name), check) == check


@settings(often, max_examples=200)
@given(request=st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
    | st.sampled_from(["calculate", "numbers", "read", "write", "about", "plan", *CALCULATORS]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["do", "calculator", "fields", "text", "format", "rocket.mass", "x"]), inner, max_size=4),
    max_leaves=8,
))  # fmt: skip
def test_any_request_is_answered(request: object) -> None:
    reply = json.loads(live.answer(json.dumps(request)))
    assert reply["ok"] in (True, False)


@pytest.mark.parametrize("text", [
    "", "{", "[]", "null", "1", '"do"', "{}", '{"do": null}', '{"do": []}', '{"do": {}}', '{"do": 1}', '{"do": "x"}',
    '{"do": "numbers"}', '{"do": "numbers", "calculator": []}', '{"do": "numbers", "calculator": {}}',
    '{"do": "calculate", "calculator": "plan", "fields": []}', '{"do": "calculate", "calculator": "plan", "fields": null}',
    '{"do": "calculate", "calculator": "plan", "fields": {"rocket.mass": 1}}', '{"do": "read"}', '{"do": "read", "text": 1}',
    '{"do": "read", "text": null}', '{"do": "write", "fields": {"rocket.mass": null}}', "[" * 100_000, '{"a":' * 100_000,
    '{"do": "calculate", "calculator": "plan", "fields": {"rig.name": "' + "x" * 1_000_000 + '"}}',
])  # fmt: skip
def test_a_request_that_makes_no_sense_is_refused(text: str) -> None:
    reply = json.loads(live.answer(text))
    assert reply["ok"] is False
    assert reply["faults"][0]["message"]


# --- declared inputs are all that is used ----------------------------------------------------------


@every_calculator
@seldom
@given(texts=any_texts(few=True), others=any_texts())
def test_what_is_not_declared_changes_nothing(name: str, texts: dict[str, str], others: dict[str, str]) -> None:
    """Neither numbers nor words nor pictures. The starting rig, which all else comes from, stays."""
    calculator = CALCULATORS[name]
    before = healed(texts)
    kept = {*calculator.inputs, *before, "rig.start"}
    strange = {path: text for path, text in others.items() if path not in kept}
    after = healed(strange | before)
    assume(all(after.get(path) == text for path, text in before.items()))
    assert page_of(calculator, after) == page_of(calculator, before)


@every_calculator
def test_every_declared_input_changes_something(name: str) -> None:
    """An input that changes nothing would stand in the form for nothing."""
    calculator = CALCULATORS[name]
    idle = [path for path in calculator.inputs if not any(_changes(calculator, path, base) for base in _bases(path))]
    assert not idle, ", ".join(idle)


LESS_USUAL = (
    {}, {"flight.apogee": "25 m", "flight.main_height": "8 m"},  # the ground comes before anything has slowed down
    {"canopy.mass": "150 g"}, {"joint.pins": "3"}, {"flight.layers": SAID["flight.layers"][2]}, {"cord.layout": "nose part-way along"},
    {"charge.kind": "own black powder", "charge.backup": "a second charge", "charge.backup_height": "150 m"},
    {"charge.kind": "own black powder", "charge.tested": "1 g", "charge.repeats": "2"}, {"charge.kind": "the motor's own charge"},
    {"rocket.main_bay": "aft of the other bay"}, {"flight.fall": "broadside"}, {"bay.shoulder": "20 mm"},
)  # fmt: skip


def _bases(path: str) -> Iterator[dict[str, str]]:
    """Demo rigs in which the field may matter: by every way down and with what is mostly left out."""
    bay = FIELDS[path].bay or MAIN
    ways = sorted(needed(path).get("flight.way", tuple(WAYS)), key=lambda way: way != TWO_BAYS)
    pairs = itertools.chain(itertools.product(LESS_USUAL, ways[:2]), itertools.product(LESS_USUAL, ways[2:]))
    for more, way in pairs:
        named = {name if name in FIELDS else f"{bay}.{name}": text for name, text in more.items()}
        base = {one: text for one, text in named.items() if one in FIELDS and one != path}
        base |= {"flight.way": way} if path != "flight.way" else {}
        base |= made_relevant(path, base)
        if is_relevant(FIELDS[path], completed(base)) and not faults_of(base):
            yield base
            for other, values in FIELDS[path].when:
                yield from (base | {other: value} for value in values[1:] if other != "flight.way")


@functools.cache
def _page(name: str, texts: frozenset[tuple[str, str]]) -> str:
    return page_of(CALCULATORS[name], dict(texts))


def _changes(calculator: Calculator, path: str, base: dict[str, str]) -> bool:
    first = _page(calculator.name, frozenset(base.items()))
    return any(page_of(calculator, base | {path: text}) != first for text in _others(path, base))


def _others(path: str, base: Mapping[str, str]) -> Iterator[str]:
    """Texts for the field that are accepted with the rest as it is; those that are likely to tell first."""
    field = FIELDS[path]
    if field.kind is COUNT:
        texts = [f"{n}" for n in range(int(field.low), int(field.high) + 1)]
    elif field.kind:
        span = field.high - field.low
        spots = [read(field.default, field.kind) * share for share in (1.25, 0.8, 0.5, 0.97, 1.03, 2)] if field.default else []
        spots += [field.low + span * i / 6 for i in range(7)]
        spots += [field.low + span / 4**i for i in range(2, 9)]
        texts = [exact(min(spot, field.high), field.kind) for spot in spots]
    else:
        texts = list(field.choices or SAID.get(path, ("x", "y")))
    texts += [""] if field.optional else []
    return (text for text in texts if not faults_of({**base, path: text}))


# They say which fields a page shows or how a rig is told, not what comes out of it.
NO_INPUT = {"rig.name", "rig.start", "rig.bay", "rig.measured", *(f"{key}.{part}.name" for key in KEYS for part in ("canopy", "cord"))}


@pytest.mark.parametrize("path", sorted(set(FIELDS) - NO_INPUT))
def test_every_field_is_used_by_some_calculator(path: str) -> None:
    assert any(path in calculator.inputs for calculator in CALCULATORS.values())


@every_calculator
def test_a_calculator_declares_fields_that_exist_once(name: str) -> None:
    calculator = CALCULATORS[name]
    assert set(calculator.inputs) <= set(FIELDS)
    assert len(set(calculator.inputs)) == len(calculator.inputs)
    assert len({output.name for output in calculator.outputs}) == len(calculator.outputs)
    assert len({kind.name for kind in calculator.checks}) == len(calculator.checks)
    relevance = {other for path in calculator.inputs for other, _ in FIELDS[path].when}
    assert relevance <= set(calculator.inputs), "a form must hold the field that decides whether another matters"


@every_calculator
def test_what_mends_a_check_is_a_field_that_its_calculator_reads(name: str) -> None:
    calculator = CALCULATORS[name]
    for kind in calculator.checks:
        assert kind.mends
        for path in kind.mends:
            assert {path, f"{MAIN}.{path}"} & set(calculator.inputs), f"{kind.name}: {path}"


# --- limits ------------------------------------------------------------------------------------------

# A rocket so large that every field can be at either end; what must be small with it stands below.
ROOMY = {"rocket.mass": "100 kg", "rocket.length": "15 m", "nose.mass": "1 g", "nose.length": "10 mm", "middle.mass": "10 g",
         "middle.length": "20 mm", "site.elevation": "-500 m", "flight.apogee": "15000 m"}  # fmt: skip
ROOMY_BAY = {"bay.depth": "5 m", "bay.shoulder": "0", "lines.length": "50 mm", "canopy.sides": "4", "lines.mass": "0.1 g/m",
             "cord.length": "90 m"}  # fmt: skip
ROOMY |= {path: text for key in KEYS for name, text in ROOMY_BAY.items() if (path := f"{key}.{name}") in FIELDS}
WITH = {
    ("cord.length", 0): {"cord.gap": "0"}, ("rocket.length", 0): {"nose.length": "10 mm"}, ("canopy.cd_low", 1): {"canopy.cd_high": "2.5"},
    ("canopy.cd_high", 0): {"canopy.cd_low": "0.2"}, ("flight.apogee", 0): {"flight.way": ONE_CANOPY},
    ("flight.fall_low", 1): {"flight.fall_high": "150 m/s"}, ("flight.fall_high", 0): {"flight.fall_low": "5 m/s"},
    ("canopy.cd_measured_low", 0): {"canopy.cd_measured_high": "5"}, ("canopy.cd_measured_low", 1): {"canopy.cd_measured_high": "5"},
    ("canopy.cd_measured_high", 0): {"canopy.cd_measured_low": "0.1"}, ("canopy.cd_measured_high", 1): {"canopy.cd_measured_low": "0.1"},
    ("pack.density_most", 0): {"pack.density": "50 kg/m3"}, ("pack.density_most", 1): {"pack.density": "50 kg/m3"},
    ("joint.friction_most", 0): {"joint.friction": "0"},
    ("canopy.panel_ratio", 0): {"canopy.sides": "8"}, ("canopy.panel_ratio", 1): {"canopy.sides": "8"},
    ("bay.tube", 0): {"pack.beside": ""}, ("rocket.mass", 0): {"flight.way": ONE_CANOPY},
    ("forward.canopy.mass", 1): {"nose.mass": "60 kg"},
}  # fmt: skip


def _at(field: Field, end: int, text: str) -> dict[str, str]:
    bay = field.bay or MAIN
    more = WITH.get((field.path.removeprefix(f"{bay}."), end), {}) | WITH.get((field.path, end), {})
    more = {full: also for name, also in more.items() if (full := name if name in FIELDS else f"{bay}.{name}") in FIELDS}
    return ROOMY | made_relevant(field.path) | more | {field.path: text}


@pytest.mark.parametrize("field", NUMERIC, ids=lambda field: field.path)
@pytest.mark.parametrize("end", [0, 1], ids=["low", "high"])
def test_both_sides_of_each_limit(field: Field, end: int) -> None:
    assert field.kind
    limit = float((field.low, field.high)[end])
    outside = limit + (1, -1)[not end] * 1.0 if field.kind is COUNT else math.nextafter(limit, (-math.inf, math.inf)[end])
    for fault in faults_of(_at(field, end, exact(limit, field.kind))):
        assert "outside" not in fault.message  # a contradiction with another field is another matter
    (fault,) = (fault for fault in faults_of(_at(field, end, exact(outside, field.kind))) if "outside" in fault.message)
    assert (fault.field, fault.label) == (field.path, field.full)
    assert fault.allowed == limits(field, METRIC)
    for system in SYSTEMS:
        far = typed(limit + (limit - (field.high, field.low)[end]), field.kind, system)
        assert field.path in {fault.field for fault in faults_of(_at(field, end, far) | {"rig.units": system})}


@pytest.mark.parametrize("field", NUMERIC, ids=lambda field: field.path)
@pytest.mark.parametrize("end", [0, 1], ids=["low", "high"])
def test_a_rig_at_a_limit_is_planned(field: Field, end: int) -> None:
    """Except where a limit cannot be true of any rocket together with the limits of others."""
    assert field.kind
    texts = _at(field, end, exact((field.low, field.high)[end], field.kind))
    impossible = {("nose.mass", 1), ("middle.mass", 1), ("canopy.mass", 0), ("flight.main_height", 1), ("flight.apogee", 1),
                  ("pack.beside", 1)}  # fmt: skip
    if faults := faults_of(texts):
        assert (field.path.removeprefix(f"{field.bay}."), end) in impossible, faults
    else:
        assert ask(do="calculate", calculator="plan", fields=texts)["ok"]


@pytest.mark.parametrize("field", NUMERIC, ids=lambda field: field.path)
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_limits_that_a_refusal_names_are_accepted(field: Field, system: str) -> None:
    """Whoever types what the refusal says is allowed must not be refused again."""
    for end, text in enumerate(limits(field, system).split(" to ")):
        faults = [fault for fault in faults_of(_at(field, end, text)) if "outside" in fault.message]
        assert faults == [], text


INTEGRATED = ("descent", "loads")

# --- units -------------------------------------------------------------------------------------------


@often
@given(texts=sound_texts())
def test_the_system_chosen_changes_words_only(texts: dict[str, str]) -> None:
    for name in CALCULATORS:
        sides = [list(walk(all_outputs(name, texts | {"rig.units": system}))) for system in SYSTEMS]
        for (where, one), (_, other) in zip(*sides, strict=True):
            sentence = isinstance(one, str) and isinstance(other, str) and re.search(r"\d", one)
            assert one == other or sentence, f"{name}{where}: {one} {other}"


@often
@given(numbers=st.fixed_dictionaries({}, optional={field.path: in_range(field) for field in NUMERIC}))
def test_feet_in_or_metres_in_the_answer_is_the_same(numbers: dict[str, float]) -> None:
    """To a part in 10^12; to one in 10^6 where an adaptive integration chooses its own steps."""
    sides = [{path: typed(value, FIELDS[path].kind, system) for path, value in numbers.items()} for system in SYSTEMS]  # type: ignore[arg-type]
    kept = set(healed(sides[0])) & set(healed(sides[1]))
    metric, feet = ({path: side[path] for path in kept} for side in sides)
    assume(not faults_of(metric) and not faults_of(feet))
    for name in CALCULATORS:
        close = 1e-6 if name in INTEGRATED else 1e-12
        one, other = all_outputs(name, metric), all_outputs(name, feet)
        for (where, a), (_, b) in zip(walk(one), walk(other), strict=True):
            same = a == pytest.approx(b, rel=close, abs=1e-12) if isinstance(a, float) else a == b or told_alike(a, b)
            assert same, f"{name}{where}: {a} {b}"


def told_alike(one: object, other: object) -> bool:
    """Whether words are the same but for a number that lies at a half, written one up on one side."""
    if not isinstance(one, str) or not isinstance(other, str) or re.sub(r"\d+", "#", one) != re.sub(r"\d+", "#", other):
        return False
    return all(abs(int(a) - int(b)) <= 1 for a, b in zip(re.findall(r"\d+", one), re.findall(r"\d+", other), strict=True))


# --- physics has a direction -------------------------------------------------------------------------

GROWS, SHRINKS = 1, -1
WHOLE = 1e-12  # rounding


def _moved(texts: dict[str, str], path: str, one: float, other: float) -> tuple[dict[str, str], dict[str, str]]:
    """The rig with the lesser and with the greater value of a field, both sound."""
    kind = FIELDS[path].kind
    assert kind
    base = healed({k: v for k, v in texts.items() if k != path} | made_relevant(path))
    sides = tuple(base | {path: exact(value, kind)} for value in sorted((one, other)))
    assume(all(is_relevant(FIELDS[path], completed(side)) and not faults_of(side) for side in sides))
    return sides  # type: ignore[return-value]


DIRECTIONS = [
    ("rocket.mass", "canopy", "rate", GROWS),
    ("rocket.mass", "descent", "body_energy", GROWS),
    ("site.pressure", "canopy", "rate", SHRINKS),
    ("site.pressure", "canopy", "air_density", GROWS),
    ("site.warmer", "canopy", "rate", GROWS),
    ("site.warmer", "canopy", "air_density", SHRINKS),
    ("canopy.size", "canopy", "rate", SHRINKS),
    ("canopy.size", "canopy", "area", GROWS),
    ("canopy.size", "canopy", "cloth_mass", GROWS),
    ("canopy.area", "canopy", "rate", SHRINKS),
    ("canopy.rate", "canopy", "wanted_size", SHRINKS),
    ("canopy.seam", "canopy", "cloth_mass", GROWS),
    ("lines.length", "cord", "least", GROWS),
    ("lines.length", "canopy", "line_mass", GROWS),
    ("lines.mass", "canopy", "line_mass", GROWS),
    ("bay.depth", "cord", "least", GROWS),
    ("cord.length", "cord", "clearance", GROWS),
    ("cord.gap", "cord", "clearance", SHRINKS),
    ("nose.length", "cord", "clearance", SHRINKS),
    ("flight.wind", "descent", "drift", GROWS),
    ("flight.apogee", "descent", "drift", GROWS),
    ("flight.apogee", "descent", "time", GROWS),
    ("flight.main_height", "descent", "time", GROWS),
    ("nose.mass", "descent", "nose_energy", GROWS),
    ("nose.mass", "separation", "running_on", GROWS),
    ("flight.slowing", "separation", "running_on", GROWS),
    ("joint.friction", "separation", "holds", GROWS),
    ("joint.pins", "separation", "needed_pressure", GROWS),
    ("joint.vent", "separation", "trapped", SHRINKS),
    ("charge.pressure", "separation", "mass", GROWS),
    ("pack.density", "folding", "volume", SHRINKS),
    ("pack.clearance", "folding", "bundle_widest", GROWS),
    ("pack.line_turns", "packing", "turns_used", GROWS),
    ("bay.depth", "packing", "room", GROWS),
    ("cord.length", "packing", "room", SHRINKS),
    ("cord.width", "packing", "room", SHRINKS),
    ("lines.diameter", "packing", "room", SHRINKS),
    ("pack.protector_depth", "packing", "room", SHRINKS),
    ("pack.fill", "packing", "room", GROWS),
]
KEYED = [(path, key, *rest) for path, *rest in DIRECTIONS for key in ((MAIN,) if path in FIELDS else (MAIN, DROGUE))]


@pytest.mark.parametrize(("path", "key", "name", "output", "way"), KEYED, ids=lambda value: str(value))
def test_physics_has_a_direction(path: str, key: str, name: str, output: str, way: int) -> None:
    """In the main's bay and in the drogue's; of both sides of a joint, with the main's bay at the nose."""
    strict = []
    path = path if path in FIELDS else f"{key}.{path}"
    there = {"flight.way": TWO_BAYS} if key == DROGUE else {}

    @seldom
    @given(texts=any_texts(few=True), one=in_range(FIELDS[path]), other=in_range(FIELDS[path]))
    def check(texts: dict[str, str], one: float, other: float) -> None:
        less, more = _moved(texts | there, path, one, other)
        low, high = (outputs_of(name, side, key)[output] for side in (less, more))
        assume(low is not None and high is not None)
        if path == "flight.main_height":  # it takes longer only under a main that brakes more than what is open before it
            canopies = list(worked(less).canopies.values())
            assume(len(canopies) == 1 or canopies[0].drag_area.high < canopies[-1].drag_area.low)
        for end in ("low", "best", "high") if isinstance(low, dict) else (None,):
            a, b = (low[end], high[end]) if end else (low, high)  # type: ignore[index,call-overload]
            assert way * (b - a) >= -WHOLE * max(abs(a), abs(b))
        strict.append(way * (best(high) - best(low)) > 0)

    check()
    assert any(strict), "it never moved at all"


@often
@given(texts=sound_texts())
def test_less_drag_lands_harder_and_drifts_less(texts: dict[str, str]) -> None:
    """Both come from one range of drag: the greatest rate goes with the least drift and time."""
    one = worked(texts)
    for canopy in one.canopies.values():
        assert canopy.rate.low <= canopy.rate.best <= canopy.rate.high
    for fall in one.descent.falls:
        fast, usual, slow = fall.landings
        assert fast.time <= usual.time <= slow.time
        assert fast.distance <= usual.distance * (1 + WHOLE)
        assert usual.distance <= slow.distance * (1 + WHOLE)


def _air(heights: np.ndarray, one: Worked) -> np.ndarray:
    """Density [kg/m^3] at heights above sea level [m], by another library: warmer, and moved to the pressure at the field."""
    table, site = Atmosphere(heights), one.rig.number("site.elevation")
    station = one.rig.optional("site.pressure")
    ratio = station / float(Atmosphere(site).pressure[0]) if station else 1.0
    return ratio * table.pressure / (287.05287 * (table.temperature + one.rig.number("site.warmer")))


@often
@given(texts=sound_texts())
def test_time_and_drift_are_the_integrals_of_sinking_where_drag_is_weight(texts: dict[str, str]) -> None:
    """t = ∫ dz / v and x = ∫ u dz / v summed anew over twenty thousand heights of each canopy, v from drag and weight there."""
    way = completed(texts)["flight.way"]
    left = {path: text for path, text in texts.items() if path not in ("flight.layers", "flight.way")}
    one = worked(healed(left | {"flight.way": TWO_BAYS if WAYS[way].falls else way}))
    at_ten, exponent = (one.rig.number(f"flight.{name}") for name in ("wind", "exponent"))
    for fall in one.descent.falls:
        floors = [*(height for _, height in fall.openings[1:]), 0.0]
        for landing, end in zip(fall.landings, ("low", "best", "high"), strict=True):
            time = drift = 0.0
            for (canopy, top), floor in zip(fall.openings, floors, strict=True):
                heights = floor + (top - floor) * np.linspace(0, 1, 20_001) ** 2
                density = _air(heights + one.rig.number("site.elevation"), one)
                sinks = np.sqrt(2 * fall.mass * 9.80665 / (density * getattr(canopy.drag_area, end)))
                time += float(np.trapezoid(1 / sinks, heights))
                drift += float(np.trapezoid(at_ten * (heights / 10) ** exponent / sinks, heights))
            assert landing.time == pytest.approx(time, rel=2e-4)
            assert landing.distance == pytest.approx(drift, rel=2e-4, abs=1e-9)


# --- scaling ------------------------------------------------------------------------------------------


@often
@given(texts=sound_texts(), mass=st.floats(0.01, 25))
def test_four_times_the_mass_sinks_twice_as_fast(texts: dict[str, str], mass: float) -> None:
    kept = {k: v for k, v in texts.items() if not k.endswith("canopy.mass") and k not in ("flight.way", "middle.mass")}
    base = healed(kept | {"flight.way": ONE_CANOPY, "nose.mass": "1 g"})  # one canopy bears it all
    one, four = (base | {"rocket.mass": exact(m, FIELDS["rocket.mass"].kind)} for m in (mass, 4 * mass))  # type: ignore[arg-type]
    assume(not faults_of(one) and not faults_of(four))
    for key, rate in outputs_of("canopy", one)["rate"].items():  # type: ignore[attr-defined]
        assert outputs_of("canopy", four)["rate"][key] == pytest.approx(2 * rate, rel=1e-12)  # type: ignore[index]


def key_for(texts: Mapping[str, str]) -> str:
    """Any canopy of a rig, the last as often as the first."""
    canopies = WAYS[completed(texts)["flight.way"]].canopies
    return canopies[len(texts) % len(canopies)]


@pytest.mark.parametrize("family", FAMILIES)
@seldom
@given(texts=any_texts(few=True), size=st.floats(0.1, 7.5))
def test_twice_the_size_sinks_half_as_fast(family: str, texts: dict[str, str], size: float) -> None:
    key = key_for(texts)
    base = healed({k: v for k, v in texts.items() if k != f"{key}.canopy.mass"} | {f"{key}.canopy.family": family})
    assume(base.get(f"{key}.canopy.family") == family)
    kind = FIELDS["main.canopy.size"].kind
    one, twice = (base | {f"{key}.canopy.size": exact(s, kind)} for s in (size, 2 * size))  # type: ignore[arg-type]
    first, second = outputs_of("canopy", one, key), outputs_of("canopy", twice, key)
    for key, rate in first["rate"].items():  # type: ignore[attr-defined]
        assert second["rate"][key] == pytest.approx(rate / 2, rel=1e-12)  # type: ignore[index]
    assert second["area"] == pytest.approx(4 * first["area"], rel=1e-12)  # type: ignore[operator]
    assert second["gore_length"] == pytest.approx(2 * first["gore_length"], rel=1e-12)  # type: ignore[operator]
    assert second["wanted_size"] == first["wanted_size"]


@pytest.mark.parametrize("family", FAMILIES)
@seldom
@given(texts=any_texts(few=True))
def test_a_canopy_of_the_wanted_size_comes_down_at_the_wanted_rate(family: str, texts: dict[str, str]) -> None:
    key = key_for(texts)
    base = healed(texts | {f"{key}.canopy.family": family, f"{key}.canopy.across": "flat to flat"})
    assume(base.get(f"{key}.canopy.family") == family)
    first = outputs_of("canopy", base, key)
    wanted = parse(base).number(f"{key}.canopy.rate")
    for size, rate in (("low", "low"), ("best", "best"), ("high", "high")):
        there = first["wanted_size"][size]  # type: ignore[index]
        again = base | {f"{key}.canopy.size": f"{there!r} m"}
        if not faults_of(again):
            assert outputs_of("canopy", again, key)["rate"][rate] == pytest.approx(wanted, rel=1e-12)  # type: ignore[index]


@often
@given(texts=sound_texts())
def test_twice_the_wind_drifts_twice_as_far(texts: dict[str, str]) -> None:
    base = {k: v for k, v in texts.items() if k not in ("flight.wind", "flight.layers")}
    one, two = (outputs_of("descent", healed(base | {"flight.wind": f"{wind} m/s"}))["drift"] for wind in (3.5, 7))
    assert best(two) == pytest.approx(2 * best(one), rel=1e-12)
    assert best(outputs_of("descent", healed(base | {"flight.wind": "0"}))["drift"]) == 0


# --- folding ------------------------------------------------------------------------------------------

FLAT = ("flat polygon", "flat circular", "annular", "cross")
LAYOUTS = [(family, lines) for family in FLAT for lines in range(4, 33) if family != "cross" or lines in range(8, 33, 4)]
SHAPED = [(family, lines) for family in FAMILIES if family not in FLAT for lines in (4, 5, 8, 13, 32)]


@functools.cache
def _laid(family: str, lines: int) -> Folded:
    return worked(_sewn(family, lines)).folded(MAIN)


def _sewn(family: str, lines: int) -> dict[str, str]:
    return {"flight.way": ONE_CANOPY, "main.canopy.family": family, "main.canopy.sides": str(lines), "main.canopy.vent": "0"}


def _layers_at(sheet: folding.Sheet, spot: folding.Point) -> int:
    """Layers over a spot, counted facet by facet: our own count, not the core's."""
    return sum(facet.layers for facet in sheet.facets if _inside(spot, facet.corners))


def _inside(spot: folding.Point, corners: tuple[folding.Point, ...]) -> bool:
    turns = [(bx - ax) * (spot[1] - ay) - (by - ay) * (spot[0] - ax)
             for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True)]  # fmt: skip
    return all(turn > 1e-9 for turn in turns) or all(turn < -1e-9 for turn in turns)


def _middle(facet: folding.Facet) -> folding.Point:
    """A spot inside a convex facet, off any line of symmetry."""
    weights = [1 + 0.37 * i for i in range(len(facet.corners))]
    return tuple(sum(w * c[k] for w, c in zip(weights, facet.corners, strict=True)) / sum(weights) for k in (0, 1))  # type: ignore[return-value]


def test_every_flat_layout_is_tried() -> None:
    assert len(LAYOUTS) == 3 * 29 + 7


@pytest.mark.parametrize(("family", "lines"), LAYOUTS)
def test_folding_keeps_all_cloth_and_all_lines(family: str, lines: int) -> None:
    laid = _laid(family, lines).canopy
    assert laid.shape
    steps = folding.to_wedge(family, laid.shape, lines, laid.ratio)
    everyone = tuple(range(1, lines + 1))
    assert steps[0].act == "lay out"
    assert len(steps[0].after.lines) == lines
    if family != "flat circular":  # drawn as a polygon of many sides
        assert steps[0].after.area == pytest.approx(laid.area, rel=1e-12 if family != "annular" else 0.02)
    for step in steps:
        assert step.after.area == pytest.approx(steps[0].after.area, rel=1e-9)
        assert sorted(n for _, numbers in step.after.lines for n in numbers) == list(everyone)
    for before, after in itertools.pairwise(steps):
        assert after.layers > before.layers
        assert len(after.after.lines) < len(before.after.lines) or after.act == "pleat"
    groups = steps[-1].after.lines
    assert len(groups) == (1 if family != "cross" else -(-lines // 8))  # an arm of a cross has lines between its corners
    assert tuple(sorted(n for _, numbers in groups for n in numbers)) == everyone


@pytest.mark.parametrize(("family", "lines"), LAYOUTS)
def test_the_layers_told_are_the_layers_there(family: str, lines: int) -> None:
    laid = _laid(family, lines).canopy
    assert laid.shape
    for step in folding.to_wedge(family, laid.shape, lines, laid.ratio):
        thickest = max(_layers_at(step.after, _middle(facet)) for facet in step.after.facets)
        assert step.layers == thickest == folding.thickest(step.after), (step.act, step.number)


@pytest.mark.parametrize(("family", "lines"), LAYOUTS + SHAPED)
@pytest.mark.parametrize("tube", ["24 mm", "54 mm", "150 mm"])
def test_a_strip_is_no_wider_than_the_tube_or_the_check_fails(family: str, lines: int, tube: str) -> None:
    one = worked(_sewn(family, lines) | {"main.bay.tube": tube})
    laid = one.folded(MAIN)
    strip = folding.levelled(laid.to_strip[-1])
    found = CALCULATORS["folding"].answer(one, MAIN)
    verdict = next(check.verdict for check in found.checks if check.name == "bundle-fits")
    widest = one.rig.number("main.bay.tube") * one.rig.number("main.pack.clearance")
    made = laid.bundle
    assert math.hypot(made.width, made.thickness) <= widest * (1 + 1e-12) or verdict == "fail"
    assert strip.width == pytest.approx(made.width, rel=1e-9)
    assert min(made.width, made.length) >= made.thickness or made.width >= made.thickness / made.parts
    first = laid.to_strip[0].after.area
    assert all(step.after.area == pytest.approx(first, rel=1e-9) for step in laid.to_strip)
    narrowing = [step for step in laid.to_strip if step.act == "lengthwise"]
    assert len(narrowing) == made.lengthwise
    for step in narrowing:  # each to just a half
        assert step.after.width == pytest.approx(step.before.width / 2, rel=1e-6)
        assert step.after.length == pytest.approx(step.before.length, rel=1e-9)
    if narrowing and verdict == "pass":  # never one fold more than is needed: twice as wide it would not go through the tube
        wide, long = 2 * made.width, made.length * made.parts
        shortest = next(n for n in range(1, 20) if long / n <= laid.used)
        layers = laid.to_strip[-1].layers // 2 * shortest
        assert math.hypot(wide, laid.volume / (wide * long / shortest)) > widest or shortest > 8 or layers > 1000
    for step in laid.shortening:
        assert step.after.area == pytest.approx(first, rel=1e-9)
        assert step.after.length == pytest.approx(step.before.length / step.parts, rel=1e-9)
    if laid.shortening:
        assert laid.shortening[-1].after.length == pytest.approx(laid.bundle.length, rel=1e-9)


@often
@given(texts=sound_texts())
def test_a_bundle_that_fits_is_no_larger_than_its_room(texts: dict[str, str]) -> None:
    verdicts = {(check.bay, check.name): check.verdict for check in plan(texts).checks}
    for key in parse(texts).way.canopies:
        told = outputs_of("folding", texts, key)
        fits = best(told["bundle_length"]) <= best(told["bundle_room"]) and (
            best(told["diagonal"]) <= best(told["bundle_widest"]))  # fmt: skip
        shaped = texts.get(f"{key}.canopy.family") != MEASURED
        if told["fits"] == "yes":
            assert fits
        wide, thick = best(told["bundle_width"]), best(told["bundle_thickness"])
        assert best(told["diagonal"]) == pytest.approx(math.hypot(wide, thick) if shaped else wide, rel=1e-12)
        volume = wide * thick * best(told["bundle_length"]) * (1 if shaped else math.pi / 4)
        assert math.pi / 4 * best(told["bundle_diameter"]) ** 2 * best(told["bundle_length"]) == pytest.approx(volume, rel=1e-9)
        assert volume == pytest.approx(best(told["volume"]), rel=1e-9)  # bulk is neither made nor lost
        assert (verdicts[key, "bundle-fits"] == "pass") is (told["fits"] == "yes")


# --- one bay and another -------------------------------------------------------------------------------


def _stamped(texts: Mapping[str, str], key: str, other: str) -> dict[str, str]:
    """What a rig says of one bay, said of another."""
    return {
        f"{other}.{path.partition('.')[2]}": text
        for path, text in texts.items()
        if path.startswith(f"{key}.") and f"{other}.{path.partition('.')[2]}" in FIELDS
    }


def test_what_the_drogue_is_changes_nothing_of_the_main_in_its_own_bay() -> None:
    """Neither how it folds nor how it packs; and the other way round."""
    tried: list[int] = []

    @often
    @given(texts=sound_texts(), others=any_texts())
    def check(texts: dict[str, str], others: dict[str, str]) -> None:
        for mine, foreign in ((MAIN, DROGUE), (DROGUE, MAIN)):
            tried.append(_unmoved(texts | {"flight.way": TWO_BAYS}, others, mine, foreign))

    check()
    assert max(tried) > 20, "nothing was changed"


def _unmoved(texts: dict[str, str], others: dict[str, str], mine: str, foreign: str) -> int:
    """Asserts that one bay stays as it is whatever is said of the other; how many fields were changed."""
    before = healed(texts)
    strange = {path: text for path, text in others.items() if path.startswith(f"{foreign}.")}
    after = healed(before | strange)
    changed = {path for path, _ in set(before.items()) ^ set(after.items())}
    assume(completed(after)["flight.way"] == TWO_BAYS)
    assume(all(path.startswith(f"{foreign}.") for path in changed))
    for name in ("folding", "packing"):
        assert outputs_of(name, before, mine) == outputs_of(name, after, mine)
    return len(changed)


@often
@given(texts=sound_texts())
def test_stamped_alike_folds_alike(texts: dict[str, str]) -> None:
    """A main described with the drogue's texts folds, packs and is sewn like the drogue."""
    full = completed(texts) | {"flight.way": TWO_BAYS}
    alike = healed(full | _stamped(full, DROGUE, MAIN))
    whole = completed(alike)
    assume(whole["flight.way"] == TWO_BAYS)
    assume(all(whole[path] == text for path, text in _stamped(whole, DROGUE, MAIN).items()))
    for name in ("folding", "packing"):
        assert outputs_of(name, alike, MAIN) == outputs_of(name, alike, DROGUE)
    one = worked(alike)
    for fold, other in zip(one.folded(MAIN).folds, one.folded(DROGUE).folds, strict=True):
        assert fold == other
    assert one.canopies[MAIN].rate == one.canopies[DROGUE].rate
    assert one.rigged[MAIN].least == one.rigged[DROGUE].least
    assert one.joints[MAIN].holds == one.joints[DROGUE].holds


@often
@given(texts=sound_texts())
def test_a_bay_that_is_not_there_changes_nothing(texts: dict[str, str]) -> None:
    """With one canopy in one bay, whatever the rig says of drogue and forward part: all answers are the same."""
    base = healed(texts | {"flight.way": ONE_CANOPY})
    assume(base.get("flight.way") == ONE_CANOPY)
    bare = {path: text for path, text in base.items() if FIELDS[path].bay in ("", MAIN)}
    assert parse(base).values == parse(bare).values
    for name in CALCULATORS:
        assert all_outputs(name, base) == all_outputs(name, bare)


# --- the strategies themselves ---------------------------------------------------------------------


def test_the_strategies_reach_every_field_and_every_choice() -> None:
    """If a strategy stopped to vary something, the tests above would say less without anybody noticing."""
    seen: dict[str, set[str]] = {path: set() for path in FIELDS}
    met: set[tuple[str, str, str]] = set()

    @settings(often, max_examples=900)
    @given(texts=any_texts().map(healed))
    def gather(texts: dict[str, str]) -> None:
        for path, text in texts.items():
            seen[path].add(text)
        full = completed(texts)
        way = full["flight.way"]
        met.update((way, key, full[f"{key}.canopy.family"]) for key in WAYS[way].canopies)

    gather()
    for path, field in FIELDS.items():
        assert len(seen[path]) >= 2, path
        assert not field.choices or len(seen[path]) >= min(2, len(field.choices)), path
    assert {(way, key) for way, key, _ in met} == {(way, key) for way in WAYS for key in WAYS[way].canopies}
    for key in KEYS:
        assert {family for _, one, family in met if one == key} == set(FIELDS[f"{key}.canopy.family"].choices)


def test_a_text_of_a_strategy_is_accepted() -> None:
    """Each field's strategy alone, on the roomy rig, in the SI unit: never outside."""

    @seldom
    @given(st.data())
    def check(draw: st.DataObject) -> None:
        for path, field in FIELDS.items():
            text = draw.draw(texts_of(field))
            outside = [f for f in faults_of({path: text}) if f.field == path and "outside" in f.message]
            assert not outside or _at_an_end(field, text), text

    check()


def _at_an_end(field: Field, text: str) -> bool:
    value = read(text, field.kind)  # type: ignore[arg-type]
    return any(value == pytest.approx(limit, rel=1e-12) for limit in (field.low, field.high))


def test_a_refusal_is_the_only_exception() -> None:
    with pytest.raises(Refusal):
        plan({"rocket.mass": "heavy"})
