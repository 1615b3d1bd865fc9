"""What an enemy did to mends, to fault finding and to seams: every test here failed once, and says what could hurt somebody."""

import sys
from collections.abc import Mapping
from pathlib import Path

import pytest
from rigs import worked

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "judge"))

from good_rigs import GOOD  # noqa: E402

from loftbook.calculators import CALCULATORS  # noqa: E402
from loftbook.mending import GROUND_TEST, Mend, Search, Tried, runs  # noqa: E402
from loftbook.mending import LEVERS as MENDERS  # noqa: E402
from loftbook.plan import plan  # noqa: E402
from loftbook.rig.fields import FIELDS  # noqa: E402
from loftbook.rig.parsing import parse  # noqa: E402
from loftbook.worked.failures import BREAKS, HOLDS, Failures  # noqa: E402

# --- mends -----------------------------------------------------------------------------------------------


def searched(texts: Mapping[str, str], target: tuple[str, str]) -> Search:
    search = Search(texts, target)
    while not search.over:
        search.go(50)
    return search


STRONG = {f"main.cord.{one}": "80 kN" for one in ("link", "swivel", "anchor", "nose_anchor", "bulkhead")}
STRONG |= {"main.cord.material": "my own rating", "main.cord.rating": "90 kN", "main.cord.stretch": "25 %"}
STRONG |= {"main.lines.material": "my own rating", "main.lines.rating": "9 kN", "main.lines.stretch": "25 %"}
TORN = {"rig.start": "one bay, 75 mm", "flight.forward_speed": "130 m/s", "chain.factor": "4", **STRONG}
TORN |= {"main.canopy.cloth": "my own cloth", "main.canopy.cloth_strength": "1500 N/m"}


def test_cloth_that_tears_is_not_mended_by_cloth_that_nobody_knows() -> None:
    """It bears 0.59 times what pulls. First of all mends: a thinner cloth without a known strength, for then no cloth is in the chain."""
    search = searched(TORN, ("main", "chain"))
    assert search.verdicts["main", "chain"] == "fail"
    for mend in search.ranked:
        assert Tried(parse(TORN | dict(mend.texts))).worked.canopies["main"].cloth_strength is not None, mend.texts


TESTED = {
    "main.charge.tested": "1.3 g", "main.charge.repeats": "3", "main.charge.test_date": "two weeks ago", "main.charge.test_pins": "3",
    "main.charge.test_result": "threw everything clear",
}  # fmt: skip


def test_a_ground_test_of_the_bay_as_it_was_clears_no_bay_that_was_mended() -> None:
    """The sentence says that it is made anew; one touch, and the plan says that the gate holds, for a bay twice as deep."""
    texts = {"rig.start": "two bays, 98 mm", "main.bay.depth": "300 mm", **TESTED}
    mended: list[Mend] = [one for one in searched(texts, ("main", "bay-holds-all")).ranked if one.retested and "main.bay.depth" in one.texts]
    assert mended
    for mend in mended:
        after = {(check.bay, check.name): check.verdict for check in plan(texts | dict(mend.texts)).checks}
        assert after["main", GROUND_TEST] != "pass", mend.texts


THIN = {
    "main.cord.material": "my own rating", "main.cord.rating": "150 N", "main.cord.stretch": "4 %", "main.cord.width": "3 mm", "main.cord.thickness": "3 mm",
    "main.cord.link": "8 kN", "main.cord.swivel": "13 kN", "main.cord.anchor": "6 kN", "main.cord.nose_anchor": "6 kN", "main.cord.bulkhead": "9 kN",
}  # fmt: skip


def test_another_cord_by_its_name_is_not_as_thin_as_the_old_one() -> None:
    """Webbing of half an inch in place of a cord of 3 mm: its width stays 3 mm in the rig, so the bay still holds all; in truth the bundle no longer fits."""
    texts = {"rig.start": "one bay, 75 mm", "main.bay.depth": "470 mm", **THIN}
    search = searched(texts, ("main", "chain"))
    for mend in search.ranked:
        if (name := mend.texts.get("main.cord.material", "")) and "webbing" in name:
            after = parse(texts | dict(mend.texts))
            assert after.number("main.cord.width") >= 0.0127 * (1 - 1e-9), (name, after.texts["main.cord.width"])


JOLTED = {
    "rig.start": "two bays, 98 mm", "flight.way": "drogue, then main from a second bay", "main.lines.length": "1.54 m", "main.lines.diameter": "2.5 mm",
    "main.lines.mass": "3.5 g/m", "main.cord.end": "bowline", "main.cord.width": "14.0 mm", "main.cord.thickness": "2.5 mm", "main.cord.length": "10.5 m",
    "main.cord.layout": "nose part-way along", "main.cord.gap": "3.4 m", "drogue.cord.end": "figure-eight loop", "drogue.cord.width": "5.0 mm",
    "drogue.cord.thickness": "5.0 mm", "drogue.cord.length": "8.6 m", "drogue.cord.layout": "two sections, two legs", "drogue.cord.gap": "3.7 m",
    "drogue.lines.length": "0.61 m", "drogue.lines.diameter": "1.6 mm", "drogue.lines.mass": "1.6 g/m", "main.joint.pins": "4", "drogue.joint.pins": "2",
}  # fmt: skip
for _key in ("main", "drogue"):
    JOLTED |= {path.replace("main.", f"{_key}."): text for path, text in STRONG.items()} | {f"{_key}.lines.rating": "8 kN"}
    JOLTED |= {f"{_key}.canopy.cloth": "my own cloth", f"{_key}.canopy.cloth_strength": "90000 N/m"}
    JOLTED |= {f"{_key}.joint.friction": "44 N", f"{_key}.joint.vent": "3.5 mm", f"{_key}.joint.pin": "UNC #2-56"}


def test_a_mend_after_which_a_failure_breaks_the_gear_that_held_says_so() -> None:
    """A softer drogue cord, a fifteenth as strong, keeps the main's joint shut; that the first bay stays shut then breaks it, and nobody is told."""
    search = searched(JOLTED, ("main", "joint-holds"))
    assert search.verdicts["main", "joint-holds"] == "fail"
    assert search.ranked
    before = {one.name: one.verdict for one in Failures(search.before.worked).all}
    for mend in search.ranked[:1]:
        after = {one.name: one.verdict for one in Failures(Tried(parse(JOLTED | dict(mend.texts))).worked).all}
        worse = [name for name, verdict in before.items() if verdict == HOLDS and after.get(name) == BREAKS]
        assert not worse or mend.again, (mend.texts, worse)


ONE_BAY = {"rig.start": "one bay, 54 mm", "flight.way": "drogue and main from one bay"}
WEAK = {"drogue.lines.material": "my own rating", "drogue.lines.rating": "60 N"}


@pytest.mark.parametrize("texts", [
    pytest.param(ONE_BAY | {"rocket.mass": "30 kg"}, id="one that was to be looked at: 1.42 to 1.04 times"),
    pytest.param(ONE_BAY | {"rocket.mass": "85 kg"} | WEAK, id="one that failed"),
])  # fmt: skip
def test_a_chain_that_a_mend_leaves_much_weaker_is_told(texts: dict[str, str]) -> None:
    """A larger drogue slows it down and opens harder: a chain that already failed or was to be looked at gets far weaker, and nothing says so."""
    search = searched(texts, ("drogue", "drogue-rate"))
    assert search.verdicts["drogue", "drogue-rate"] == "fail"
    assert search.ranked
    before = search.before.worked
    for mend in search.ranked:
        after = Tried(parse(texts | dict(mend.texts))).worked
        for key in before.chains:
            was, now = (min(part.margin for part in one.chains[key].along) for one in (before, after))
            if search.verdicts[key, "chain"] != "pass" and now < 0.8 * was:
                assert (key, "chain") in mend.again, (mend.texts, key, was, now)


def test_gear_that_is_added_never_makes_a_rocket_lighter_than_it_was_weighed() -> None:
    """16.04 kg and a gram of line are told as 16 kg: forty grams of what the reader weighed are gone."""
    texts = {"rig.start": "two bays, 150 mm", "rocket.mass": "16.04 kg", "drogue.lines.length": "0.2 m"}
    heavier = [mend for mend in searched(texts, ("drogue", "line-wraps")).ranked if "rocket.mass" in mend.texts]
    assert heavier
    for mend in heavier:
        assert parse(texts | dict(mend.texts)).number("rocket.mass") >= 16.04 + mend.mass - 1e-9, mend.texts


@pytest.mark.parametrize(("lever", "measured"), [
    pytest.param("canopy.cloth", {"main.pack.density": "0.3 g/cm³"}, id="how densely another cloth packs"),
    pytest.param("lines.length", {"main.canopy.cd_measured_low": "0.9", "main.canopy.cd_measured_high": "0.95"}, id="the drag on other lines"),
])  # fmt: skip
def test_what_was_measured_with_one_cloth_and_lines_is_not_kept_for_others(lever: str, measured: dict[str, str]) -> None:
    rig = parse({"rig.start": "one bay, 75 mm", **measured})
    one = next(each for each in MENDERS if each.path == lever)
    for run in runs(rig, FIELDS[f"main.{lever}"], one):
        for change in run:
            assert all(change.texts.get(path) == "" for path in measured), change.texts


# --- seams -----------------------------------------------------------------------------------------------


def test_thread_typed_as_one_s_own_perforates_no_less_than_the_same_from_the_table() -> None:
    """Tex 800 every 1.2 mm takes up 84 % of the cloth: the table's row fails, the same 1000 N as one's own thread holds 2.16 times."""
    sewn = {"rig.start": "one bay, 75 mm", "main.make.sewn": "sewn as Make it says", "main.make.stitch": "1.2 mm", "flight.forward_speed": "150 m/s"}
    sewn |= {"main.canopy.cloth": "ripstop nylon 1.1 oz (MIL-C-7020 type I)"}

    def verdict(thread: Mapping[str, str]) -> str:
        answer = CALCULATORS["making"].answer(worked(sewn | dict(thread)), "main")
        return next(check.verdict for check in answer.checks if check.name == "seam-holds")

    assert verdict({"main.make.thread": "para-aramid thread, tex 800 (A-A-55220)"}) == "fail"
    assert verdict({"main.make.thread": "my own thread", "main.make.thread_strength": "1000 N"}) != "pass"
