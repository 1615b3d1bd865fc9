"""What would mend it: every change that is told mends the check and spoils no other, and something is told wherever trying everything finds one.

The rigs are random ones that fail, as many of each kind; the grid that everything is tried on is that of `mending.LEVERS`: every field of the
rig that a flyer can set, buy, sew or build, at every step of `mending.runs`, one at a time.
"""

import itertools
import json
from collections.abc import Iterator

import pytest
from good_rigs import GOOD
from verdict import si
from wild_rigs import rig

from loftbook.errors import Refusal
from loftbook.faces.live import answer
from loftbook.faces.remedies import AT_ONCE, MOST, NOTHING, ONLY_EASED, best
from loftbook.mending import FAILURE, GROUND_TEST, LEVERS, Search, Tried, runs
from loftbook.plan import plan
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.parsing import is_relevant, parse
from loftbook.worked.failures import BREAKS, HARD, HOLDS, Failures
from loftbook.worked.worked import Worked
from sweeps import share

RIGS, BLOCK = 200, 10
UNMENDED = ("ground-test", "design-factor")  # by a test of the reader's own, by what they ask for
BROKEN = next(iter(GOOD.values())) | {"main.cord.link": "60 N"}  # sound, ground test and all, but for its link


def failing(first: int, count: int) -> Iterator[tuple[dict[str, str], tuple[str, str]]]:
    """Random rigs that fail, from a number on, and one check each."""
    found = 0
    for number in itertools.count(first):
        _, texts = rig(number)
        failed = [one for one, verdict in Tried(parse(texts)).verdicts.items() if verdict == "fail" and one[1] not in UNMENDED]
        if failed:
            yield texts, failed[number % len(failed)]
            found += 1
        if found == count:
            return


def searched(texts: dict[str, str], target: tuple[str, str]) -> Search:
    search = Search(texts, target)
    while not search.over:
        search.go(50)
    return search


def verdicts(texts: dict[str, str]) -> dict[tuple[str, str], str]:
    """By the plan itself."""
    return {(check.bay, check.name): check.verdict for check in plan(texts).checks}


def on_the_grid(texts: dict[str, str], target: tuple[str, str]) -> dict[str, str] | None:
    """A single change that mends a check and spoils nothing, by trying every one with the plan itself; None where there is none."""
    whole, before = parse(texts), verdicts(texts)
    for lever in LEVERS:
        for path in [lever.path] if lever.path in FIELDS else [f"{key}.{lever.path}" for key in whole.way.keys]:
            if path not in FIELDS or not is_relevant(FIELDS[path], whole.texts):
                continue
            for change in itertools.chain(*runs(whole, FIELDS[path], lever)):
                try:
                    after = verdicts(texts | dict(change.texts))
                except Refusal:  # a rig that contradicts itself is none
                    continue
                if after.get(target) == "pass" and all(verdict != "fail" or before.get(one) == "fail" or one[1] == GROUND_TEST for one, verdict in after.items()):
                    return dict(change.texts)
    return None


@pytest.mark.parametrize("first", share(range(0, RIGS * 2, BLOCK * 2)))
def test_every_mend_mends_and_spoils_nothing(first: int) -> None:
    for texts, target in failing(7 * first, BLOCK):
        before = verdicts(texts)
        for mend in searched(texts, target).ranked:
            after = verdicts(texts | dict(mend.texts))
            assert after[target] == "pass", (texts, target, mend)
            spoiled = [one for one, verdict in after.items() if verdict == "fail" and before.get(one) != "fail"]
            assert not spoiled or (mend.retested and {name for _, name in spoiled} == {GROUND_TEST}), (texts, target, mend, spoiled)
            newly = {one for one, verdict in after.items() if verdict == "warn" and before.get(one, "pass") == "pass"}
            assert newly == {one for one in mend.again if one[0] != FAILURE and before.get(one, "pass") == "pass"}
            assert all(after[one] != "pass" for one in mend.again if one[0] != FAILURE)


@pytest.mark.parametrize("first", share(range(0, 12, 3)))
def test_what_trying_everything_finds_is_found(first: int) -> None:
    """But where the rocket gets so much heavier by it that the check fails again."""
    for texts, target in failing(1000 + 9 * first, 3):
        found = searched(texts, target).found
        grid = None if found else on_the_grid(texts, target)
        assert found or grid is None or heavier(texts, grid), (texts, target, grid)


RANKS = {"pass": 0, "warn": 1, "fail": 2}


def nowhere_worse(before: dict[tuple[str, str], str], after: dict[tuple[str, str], str], but: tuple[str, str]) -> bool:
    return all(RANKS[verdict] <= RANKS[before.get(one, "pass")] for one, verdict in after.items() if one != but)


@pytest.mark.parametrize("first", share(range(0, 80, 20)))
def test_what_only_eases_is_told_last_and_makes_nothing_worse(first: int) -> None:
    """By the plan itself: the check is to be looked at again, and every other stands as it did, or better; so it is for a ground test, too."""
    told = 0
    for texts, target in failing(900 + 7 * first, 15):
        search = searched(texts, target)
        before = verdicts(texts)
        for mend in search.eased:
            after = verdicts(texts | dict(mend.texts))
            assert mend.still
            assert after[target] == "warn", (texts, target, mend)
            assert nowhere_worse(before, after, target), (texts, target, mend)
            told += 1
        listed = best(search)
        assert listed[: len(search.ranked)] == search.ranked[:MOST]
        assert [mend.still for mend in listed] == sorted(mend.still for mend in listed)
        assert not any(one.texts.keys() - {"rocket.mass"} <= mend.texts.keys() for one in search.ranked for mend in search.eased)
    assert told


def test_where_nothing_mends_what_eases_is_told_as_what_it_is() -> None:
    """A main that opens so fast that only an opening near the top slows it enough to be looked at again."""
    found = [(texts, target) for texts, target in failing(1, 60) if target == ("", "opening-speed")]
    eased = [(texts, target, search) for texts, target in found if (search := searched(texts, target)).eased and not search.ranked]
    assert eased
    for texts, (bay, check), _ in eased:
        reply: dict[str, object] = {"tried": 0, "over": False}
        while not reply["over"]:
            reply = asked(fields=texts, bay=bay, check=check, tried=reply["tried"])
        assert ONLY_EASED in str(reply["html"])
        assert "then still to look at again: “Speed at which it opens”" in str(reply["html"])
        assert "data-take" in str(reply["html"])
        assert NOTHING not in str(reply["html"])


def test_what_is_to_be_looked_at_again_already_is_not_eased() -> None:
    texts = {"rig.start": "two bays, 98 mm"}
    assert verdicts(texts)["", "fails-drogue-in"] == "warn"
    assert searched(texts, ("", "fails-drogue-in")).eased == []


def heavier(texts: dict[str, str], changed: dict[str, str]) -> bool:
    return Tried(parse(texts | changed)).gear > Tried(parse(texts)).gear + 0.0005


def test_the_least_is_told_first_and_one_touch_makes_a_sound_plan() -> None:
    """A weak link: it is a stronger one that mends it, and no other canopy."""
    assert not plan(BROKEN).sound
    search = searched(BROKEN, ("main", "chain"))
    best = search.ranked[0]
    assert [change.path for change in best.changes] == ["main.cord.link"]
    assert plan(BROKEN | dict(best.texts)).sound
    costs = [mend.cost for mend in search.ranked]
    assert costs == sorted(costs)


@pytest.mark.parametrize(("weak", "target"), [
    ({"main.cord.length": "1 m"}, ("main", "cord-length")), ({"main.cord.link": "60 N"}, ("main", "chain")), ({"drogue.cord.length": "1 m"}, ("drogue", "cord-length")),
])  # fmt: skip
def test_a_starting_rig_with_one_thing_wrong_is_mended(weak: dict[str, str], target: tuple[str, str]) -> None:
    """Its ground test is another rocket's and no longer counts: that is told, and keeps nobody from a longer cord."""
    mended = searched({"rig.start": "two bays, 98 mm"} | weak, target).ranked
    assert mended
    assert mended[0].retested or target[1] == "chain"


def test_two_weak_parts_are_strengthened_together() -> None:
    weak = BROKEN | {"main.cord.swivel": "60 N", "main.cord.anchor": "50 N"}
    (best, *_) = searched(weak, ("main", "chain")).ranked
    assert {change.path for change in best.changes} >= {"main.cord.link", "main.cord.swivel", "main.cord.anchor"}
    assert verdicts(weak | dict(best.texts))["main", "chain"] == "pass"


@pytest.mark.parametrize("start", STARTS)
def test_nothing_that_was_measured_asked_for_or_brought_by_the_day_is_changed(start: str) -> None:
    own = ("chain.factor", "canopy.rate", "joint.friction", "charge.tested", "pack.density", "site.", "scatter.", "flight.wind", "flight.apogee", "rocket.mass")
    assert not [lever.path for lever in LEVERS if lever.path.startswith(own)]
    texts = {"rig.start": start, "main.canopy.size": "0.5 m", "chain.factor": "2"}
    for target, verdict in Tried(parse(texts)).verdicts.items():
        if verdict == "fail":
            for mend in searched(texts, target).found:
                assert not [path for path in mend.texts if (path.startswith(own) or path.partition(".")[2].startswith(own)) and path != "rocket.mass"]


def test_a_heavier_canopy_makes_a_heavier_rocket() -> None:
    texts = {"rig.start": "one bay, 75 mm", "main.canopy.size": "0.7 m", "main.lines.length": "0.7 m"}
    larger = [mend for mend in searched(texts, ("main", "touchdown-rate")).found if "main.canopy.size" in mend.texts]
    assert larger
    assert all("rocket.mass" in mend.texts and mend.mass > 0 for mend in larger)


def test_what_was_measured_of_one_canopy_is_not_said_of_another() -> None:
    """Its drag goes back to the table's range, its mass grows with its area."""
    drag = {"main.canopy.cd_measured_low": "0.75", "main.canopy.cd_measured_high": "0.8", "main.canopy.cd_measured_from": "2 flights"}
    texts = {"rig.start": "one bay, 75 mm", "main.canopy.size": "0.7 m", "main.lines.length": "0.7 m"} | drag
    (larger, *_) = [mend for mend in searched(texts, ("main", "touchdown-rate")).found if "main.canopy.size" in mend.texts]
    assert {path: larger.texts[path] for path in drag} == dict.fromkeys(drag, "")
    weighed = parse(texts | {"main.canopy.mass": "60 g"})
    lever = next(one for one in LEVERS if one.path == "canopy.size")
    for change in itertools.chain(*runs(weighed, FIELDS["main.canopy.size"], lever)):
        times = si(change.texts["main.canopy.size"]) / 0.7
        assert si(change.texts["main.canopy.mass"]) == pytest.approx(0.06 * times**2, rel=0.01)


def test_a_failure_that_breaks_something_is_mended_until_it_is_survived() -> None:
    texts = {"rig.start": "two bays, 98 mm", "main.cord.link": "700 N"}
    bad = [one for one in Failures(Worked(parse(texts))).all[1:] if one.verdict in (HARD, BREAKS)]
    mended = 0
    for one in bad:
        for mend in searched(texts, (FAILURE, one.name)).found:
            again = Failures(Worked(parse(texts | dict(mend.texts)))).of(one.name)
            assert again is None or again.verdict == HOLDS
            mended += 1
    assert mended


# --- at the door --------------------------------------------------------------------------------------------


def asked(**request: object) -> dict[str, object]:
    return json.loads(answer(json.dumps({"do": "mend", "fields": BROKEN, "bay": "main", "check": "chain"} | request)))


def test_a_search_goes_on_where_it_was_and_says_the_same_from_the_start() -> None:
    """What it says hangs on the rig, the check and how far it is; not on what was asked before."""
    said, tried = [], 0
    while True:
        reply = asked(tried=tried)
        said.append(reply)
        if reply["over"]:
            break
        assert reply["tried"] == tried + AT_ONCE
        tried = reply["tried"]
    assert len(said) > 2
    assert str(said[-1]["html"]).count("data-take") <= MOST
    asked(check="line-wraps", tried=0)
    assert [asked(tried=one["tried"] - AT_ONCE) for one in said[:-1]] == said[:-1]
    assert "data-take" in str(said[-1]["html"])


@pytest.mark.parametrize("wrong", [{"check": "no-such"}, {"bay": "nowhere"}, {"tried": -1}, {"tried": "3"}, {"tried": 10**9}, {"bay": FAILURE, "check": "no-such"}])
def test_what_cannot_be_looked_for_is_refused(wrong: dict[str, object]) -> None:
    reply = asked(**wrong)
    assert reply["ok"] is False
    assert reply["faults"]
