"""The plan's figures beside the judge's, one by one: dangers alone leave room below every limit, figures do not.

Wherever both mean the same thing they must agree to a part in a thousand, on rigs of every way down that nobody chose for it.
Where the judge's model is another on purpose (see `verdict`), the figure is left out or held on the safe side of his.
"""

import random
from collections.abc import Iterator
from math import pi, sqrt

import pytest
from good_rigs import GOOD
from verdict import (
    FORWARD,
    MAIN,
    MOULDED,
    NYLON_SHEAR,
    PINS,
    Case,
    G,
    Part,
    _apart,
    _landing,
    canopy_parts,
    cord_parts,
    earlier,
    jerk,
    lag,
    pressure,
)
from wild_rigs import paths_of, rig

from loftbook.plan import data, plan
from sweeps import share

Row = tuple[str, float, float]  # what it is, the plan's, the judge's
WILD = range(180)
NEAR = 1e-3


def case_of(texts: dict[str, str]) -> Case:
    return Case(data(plan(texts)))


def modelled(case: Case) -> bool:
    """Whether it falls without a canopy at a rate that nobody timed: the judge takes all its parts for one cylinder."""
    return case.falls and case.text("flight.fall") != "timed by me"


def guarded(case: Case, bay: str) -> bool:
    """Whether the plan counts more than the judge does: a backup so close to the first, or one of a gas; or refuses a pressure."""
    return case.text(f"{bay}.charge.backup") == "a second charge" or case.data["results"][f"{bay}.separation"]["pressure"] is None


def coming_down(case: Case) -> Iterator[Row]:
    descent = case.data["results"]["descent"]
    downs = [down for every in case.downs.values() for down in every]
    last = {FORWARD if name == "forward part" else MAIN for name, _, _ in case.bodies()}
    yield "release speed", descent["release_speed"], case.release
    if modelled(case):
        return
    yield "opening speed", descent["opening_speed"], max(case.worst(key)[1] for key in last)
    yield "touchdown", descent["run_touchdown_worst"], max(down.touchdown for down in downs)
    for name, _, _ in case.bodies():
        touch = descent["forward_rate" if name == "forward part" else "rate"]
        parts = {"nose": "nose", "middle": "middle", "tail": "body", "forward part": "forward", "aft part": "aft"}
        for part, mass in _landing(case, name):
            yield f"energy of {part}", descent[f"{parts[part]}_energy"]["high"], mass * touch["high"] ** 2 / 2


def canopies(case: Case) -> Iterator[Row]:
    density = case.air.density(case.si("site.elevation"))
    for name, keys, mass in case.bodies():
        for key in keys:
            told = case.data["results"].get(f"{key}.canopy")
            if not told:
                continue
            low, high = case.cds(key)
            yield f"{key} area", told["area"], case.area(key)
            yield f"{key} least drag", told["drag_area"]["low"], low
            yield f"{key} most drag", told["drag_area"]["high"], high
            yield f"{key} greatest rate", told["rate"]["high"], sqrt(2 * mass * G / (density * low))
            yield f"{key} least rate", told["rate"]["low"], sqrt(2 * mass * G / (density * high))
            opened = case.data["results"].get(f"{key}.loads")
            pull = max(case.worst(key)[0], mass * G)
            if not opened or modelled(case):
                continue
            if key == keys[0] and pull > 1.1 * mass * G:  # beside another open canopy the judge takes its own pull only
                yield f"{key} design load of the {name}", opened["design_load"], pull
            assert opened["design_load"] >= pull * (1 - 2 * NEAR), f"{key} design load: {opened['design_load']}, the judge {pull}"


def bays(case: Case) -> Iterator[Row]:
    for key in case.bays:
        told = case.data["results"][f"{key}.separation"]
        bore = pi / 4 * case.si(f"{key}.bay.tube") ** 2
        wide, depth = PINS[case.text(f"{key}.joint.pin")]
        pin = pi / 4 * (wide - depth) ** 2 * NYLON_SHEAR
        pins, friction = int(case.si(f"{key}.joint.pins")), case.si(f"{key}.joint.friction")
        left = lag(case, key) * bore  # the greatest of 401 heights: a hair less than the greatest
        assert left * (1 - NEAR) <= told["trapped"] <= left * 1.01 + 1e-6, f"{key} pressure left: {told['trapped']}, the judge {left}"
        yield f"{key} running on", told["running_on"], case.mass_of(0, case.joint(key)) * case.si("flight.slowing")
        assert told["holds"] == pytest.approx(friction + pins * pin * MOULDED, rel=4e-3)  # threads of two tables, both from memory
        most, thrown = told["greatest_pressure"], case.data["results"][f"{key}.loads"]["jerk"]
        own = told["tested_share"] is not None or not case.maybe(f"{key}.charge.tested")  # the judge counts a test that isn't the reader's
        if guarded(case, key):
            assert (most or 0.0) >= pressure(case, key) * (1 - NEAR) or not own
        elif most and own:
            yield f"{key} greatest pressure", most, pressure(case, key)
            yield f"{key} push", told["force"] or pressure(case, key) * bore, pressure(case, key) * bore
            if case.si(f"{key}.bay.shoulder") >= case.si(f"{key}.bay.tube") / 2:  # of shorter ones the plan takes a longer stroke
                yield f"{key} jerk", thrown or 0.0, jerk(case, key)
        if told["jolted"] and case.tied and not modelled(case):
            shaken = earlier(case) + told["trapped"]
            assert told["jolted"] >= shaken * (1 - NEAR), f"{key} jolt: {told['jolted']}, the judge {shaken}"
        apart = case.data["results"].get(f"{key}.cord", {}).get("clearance")
        if apart is not None and case.tied and key in case.canopies:
            his = _apart(case, key)[0]
            assert (apart >= 0) is (his >= 0), f"{key} clearance: {apart}, the judge {his}"
            if his >= 0:
                yield f"{key} clearance", apart, his


def figures(case: Case) -> Iterator[Row]:
    yield from coming_down(case)
    yield from canopies(case)
    yield from bays(case)


def wrong(case: Case) -> list[str]:
    return [f"{name}: {ours:.6g}, the judge {his:.6g}" for name, ours, his in figures(case) if ours != pytest.approx(his, rel=NEAR, abs=1e-6)]


def bears(case: Case, key: str) -> Iterator[Part]:
    yield from cord_parts(case, key)
    if key in case.canopies:
        yield from canopy_parts(case, key)


@pytest.mark.parametrize("name", GOOD)
def test_figures_of_a_good_rig_are_the_judges(name: str) -> None:
    assert not wrong(case_of(GOOD[name]))


@pytest.mark.parametrize("number", share(WILD, 4))
def test_figures_of_a_wild_rig_are_the_judges(number: int) -> None:
    assert not wrong(case_of(rig(number)[1]))


@pytest.mark.parametrize("number", share(WILD))
def test_figures_of_a_wild_rig_whose_drag_was_measured_are_the_judges(number: int) -> None:
    """Of drags that a canopy can have: under hundreds of square metres, opened slowly, the judge's handbook load, which fills sooner, was a twelfth greater."""
    dice, texts = random.Random(number), dict(rig(number)[1])
    for path in paths_of(texts, "canopy.family"):
        low = dice.uniform(0.3, 1.3)
        for end, cd in (("low", low), ("high", low * dice.uniform(1, 2.5))):
            texts[path.replace("family", f"cd_measured_{end}")] = f"{cd:.3f}"
    assert not wrong(case_of(texts))


@pytest.mark.parametrize("name", GOOD)
def test_no_part_is_told_to_be_stronger_than_the_judge_finds_it(name: str) -> None:
    """Two hundredths are left: of two parts apart he takes the whole mass for the snatch of each."""
    case = case_of(GOOD[name])
    if modelled(case):
        return
    for key in dict.fromkeys((*case.bays, *case.canopies)):
        least = min(part.bears / part.pulled for part in bears(case, key) if part.pulled)
        assert case.data["results"][f"{key}.loads"]["margin"] <= least * (1.001 if case.tied else 1.02)
