"""Finding the fault: what was seen, its causes in the order of the rig's own numbers, for whatever rig."""

import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "judge"))

from wild_rigs import rig as wild  # noqa: E402

from loftbook.answer import Answer, Seen  # noqa: E402
from loftbook.calculators import CALCULATORS  # noqa: E402
from loftbook.calculators.faults_words import CAUSES as TOLD  # noqa: E402
from loftbook.calculators.faults_words import CAUTIONS, COMMON, FAULTS, LIVE, RULE  # noqa: E402
from loftbook.faces.command import main  # noqa: E402
from loftbook.faces.render import answer_lead, answer_more, html  # noqa: E402
from loftbook.plan import plan  # noqa: E402
from loftbook.quantity import FORCE, LENGTH, NUMBER, SYSTEMS  # noqa: E402
from loftbook.rig.fields import STARTS  # noqa: E402
from loftbook.rig.parsing import parse  # noqa: E402
from loftbook.rig.ways import HELD, NO_DROGUE, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS  # noqa: E402
from loftbook.worked.faults import CAUSES, MOST, SEEN, Bearing, possible, suspects  # noqa: E402
from loftbook.worked.worked import Worked  # noqa: E402

ONE = CALCULATORS["faults"]
# In other people's links: none is ever renamed. The second is where the same stood before.
ANCHORS = {
    "seen-wrapped": "it-came-down-as-a-bundle",
    "seen-in-tube": "it-parted-but-the-canopy-stayed-in-the-tube",
    "seen-lines-twisted": "it-came-out-but-the-lines-were-twisted-shut",
    "seen-burned": "the-canopy-is-burned",
    "seen-torn": "the-canopy-or-a-line-is-torn",
    "seen-tube-slit": "the-cord-slit-the-tube",
    "seen-nose-struck": "the-nose-struck-the-body",
    "seen-not-parted": "it-did-not-part",
    "seen-early": "it-parted-too-early",
    "seen-far": "it-drifted-too-far",
    "seen-hard": "it-landed-too-hard",
    "seen-tangled": "the-sections-are-tangled",
    "seen-cord-cut": "",
    "seen-main-at-top": "the-main-came-out-at-the-top",
    "seen-main-late": "the-drogue-came-out-the-main-did-not",
    "seen-bay-unfired": "",
}
LANDINGS = 200
WRONG = re.compile(r"(?<![a-z])(?:nan|inf)(?![a-z])|[{}]|\d[eE][+-]?\d")
RANK = {"fail": 0, "warn": 1, "pass": 2, "": 3}
# Causes that rest on what a check judges too, and nothing else does.
JUDGED_ALIKE = {
    "cord-round": "cord-wraps", "few-lengths": "cord-practice", "cord-short": "cord-length", "overfull": "bay-holds-all",
    "hanging": "hanging-clear", "wind": "launch-wind", "outside": "stays-on-field", "energy": "touchdown-energy", "one-pin": "pins-two",
    "lines-short": "line-length", "ports": "static-ports", "late-motor": "motor-delay", "span": "lines-span",
}  # fmt: skip
UNUSUAL = [
    *({f"{key}.charge.kind": kind, f"{key}.joint.pins": pins} for key in ("drogue", "main") for kind in ("none", "the motor's own charge") for pins in "02"),
    {"main.charge.pressure": "20 kPa"}, {"main.joint.friction": "500 N"}, {"drogue.charge.kind": "the motor's own charge", "drogue.joint.pins": "0", "drogue.joint.friction": "400 N"},
]  # fmt: skip
# Checks that the worst of several causes is judged by.
TOGETHER = {
    "joint-holds": ("trapped", "running", "jolted"), "touchdown-rate": ("touchdown", "slow"), "main-settled": ("settled", "late"),
    "bundle-fits": ("tight", "long"), "line-wraps": ("wraps", "all-wound"),
    "joint-parts": ("parts", "throws", "nothing-parts", "too-much", "motor"),
}  # fmt: skip


def worked(**changes: str) -> Worked:
    return Worked(parse({path.replace("__", "."): text for path, text in changes.items()}), LANDINGS)


def told(one: Worked) -> Answer:
    return ONE.answer(one, "")


def seen(one: Worked, anchor: str) -> Seen:
    return next(row for row in told(one).seen if row.anchor == anchor)


def titles(one: Worked, anchor: str) -> list[str]:
    return [cause.title for cause in seen(one, anchor).causes]


def doubted(one: Worked) -> int:
    """How many numbers do not hold."""
    outputs = told(one).outputs
    return sum(value for name in ("failing", "again") if isinstance(value := outputs[name], int))


def whole(one: Worked) -> str:
    answer = told(one)
    return html(*answer_lead(ONE, answer, one.rig.units), *answer_more(ONE, answer, one.rig))


# --- anchors, and what stands where -----------------------------------------------------------------------


def test_anchors_are_permanent_and_those_before_lead_there() -> None:
    assert list(SEEN) == list(FAULTS) == list(COMMON) == list(ANCHORS)
    assert {anchor: row.before for anchor, row in FAULTS.items()} == ANCHORS
    for way in WAYS:
        text = whole(worked(flight__way=way))
        for anchor, before in ANCHORS.items():
            assert text.count(f'id="{anchor}"') == 1, (way, anchor)
            assert f'href="#{anchor}"' in text
            if before:
                at = text.index(f'<span id="{before}"></span>')
                assert text.rindex("<section", 0, at) < at < text.index("</section>", at)
                assert f'id="{anchor}"' in text[text.rindex("<section", 0, at) : at]


def test_every_cause_is_told_and_every_one_told_is_looked_for() -> None:
    used = {cause for causes in SEEN.values() for cause in causes}
    assert used == set(CAUSES) == set(TOLD)
    for row in (*TOLD.values(), *(row for rows in COMMON.values() for row in rows)):
        assert row.page in CALCULATORS
        for words in (row.look, row.change):
            assert words.endswith(".")
            assert words[0].islower()


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("way", WAYS)
def test_each_has_a_picture_and_causes_or_says_why_not(start: str, way: str) -> None:
    one = worked(rig__start=start, flight__way=way)
    answer = told(one)
    assert [row.anchor for row in answer.seen] == list(ANCHORS)
    for row in answer.seen:
        (drawing,) = row.drawings
        assert drawing.svg.startswith("<svg")
        assert bool(row.causes) is possible(one, row.anchor) is ("Not with this rig" not in row.text)
        assert len({cause.title for cause in row.causes}) == len(row.causes), "a cause twice"
        bare = (way, row.anchor) == (TWO_PARTS, "seen-tangled")  # of two parts that come down apart no number bears on it
        assert not row.causes or any(cause.figures for cause in row.causes) is not bare
    assert answer.outputs["seen"] == sum(bool(row.causes) for row in answer.seen)


def test_what_cannot_happen_to_a_rig_is_known() -> None:
    never = {way: {seen for seen in SEEN if not possible(worked(flight__way=way), seen)} for way in WAYS}
    assert never[TWO_BAYS] == never[NO_DROGUE] == set()
    assert never[HELD] == {"seen-bay-unfired"}
    assert never[ONE_CANOPY] == {"seen-main-at-top", "seen-main-late", "seen-bay-unfired"}
    assert never[TWO_PARTS] == never[ONE_CANOPY] | {"seen-nose-struck"}


def test_safety_stands_before_the_finder_and_live_charges_are_told_where_they_may_be() -> None:
    one = worked()
    text = whole(one)
    for caution in CAUTIONS:
        assert text.index(html(caution)) < text.index('href="#seen-')
    assert "power off first" in CAUTIONS[0]
    assert "counts as unfired until it is seen" in CAUTIONS[1]
    for anchor in ("seen-not-parted", "seen-bay-unfired"):
        assert seen(one, anchor).caution == LIVE
    for anchor in ("seen-main-late", "seen-main-at-top", "seen-early"):
        assert "live" in seen(one, anchor).caution
    section = text[text.index('id="seen-not-parted"') :]
    assert section.index(html(LIVE)) < section.index("<figure") < section.index("loft-cause")
    assert RULE in text


def test_the_page_holds_it_first() -> None:
    page = (ROOT / "docs" / "mistakes.md").read_text("utf-8")
    assert page.index("{#find-the-fault}") < page.index('name="faults"') < page.index('name="mistakes"')


def test_its_words_are_imported_when_somebody_asks() -> None:
    late = "{'loftbook.calculators.faults_words', 'loftbook.worked.faults', 'loftbook.drawing.faults'}"
    code = f"import sys; import loftbook.faces.live; sys.exit(bool({late} & set(sys.modules)))"
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT, env={"PYTHONPATH": str(ROOT / "calc")})


def test_the_terminal_tells_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["faults", "--main.joint.pins=1"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    for row in told(worked(main__joint__pins="1")).seen:
        assert f"{row.anchor} {row.title}." in said
        for count, cause in enumerate(row.causes, 1):
            assert f"{count}. {cause.title}." in said
            assert all(figure.told in said for figure in cause.figures)
    assert "Fails: Main: " in said


# --- numbers ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("pins", ["1", "2", "4"])
def test_what_the_pins_hold_is_the_rigs(pins: str, units: str) -> None:
    one = worked(main__joint__pins=pins, rig__units=units)
    joint = one.joints["main"]
    cause = next(cause for cause in seen(one, "seen-main-at-top").causes if cause.title == TOLD["jolted"].title)
    (figure,) = cause.figures
    assert figure.whose == "Main"
    assert figure.told == (
        f"{one.at_most(joint.holds, FORCE)} holds it where up to {one.at_least(joint.jolted, FORCE)} pulls from the "
        f"{joint.jolts[0].cause}: {one.at_most(joint.holds / joint.jolted, NUMBER)} times."
    )
    assert figure.judged == ("fail" if joint.holds < joint.jolted else "warn" if joint.holds < 1.5 * joint.jolted else "pass")


def test_numbers_change_with_the_rig() -> None:
    def figures(anchor: str, **changes: str) -> list[str]:
        return [figure.told for cause in seen(worked(**changes), anchor).causes for figure in cause.figures]

    for anchor, changes in {
        "seen-wrapped": {"main__pack__line_turns": "0.5"},
        "seen-in-tube": {"main__bay__depth": "640 mm"},
        "seen-lines-twisted": {"main__lines__length": "1.9 m"},
        "seen-burned": {"main__pack__protector_depth": "55 mm"},
        "seen-torn": {"main__lines__rating": "700 N", "main__lines__material": "my own rating", "main__lines__stretch": "20 %"},
        "seen-tube-slit": {"main__cord__width": "25 mm"},
        "seen-nose-struck": {"main__cord__length": "7 m"},
        "seen-not-parted": {"main__joint__friction": "90 N"},
        "seen-early": {"flight__slowing": "60 m/s²"},
        "seen-far": {"flight__main_height": "320 m"},
        "seen-hard": {"rocket__mass": "6 kg"},
        "seen-tangled": {"rocket__length": "2.6 m"},
        "seen-cord-cut": {"main__cord__width": "25 mm"},
        "seen-main-at-top": {"drogue__cord__length": "4 m"},
        "seen-main-late": {"flight__main_height": "150 m"},
        "seen-bay-unfired": {"electronics__units": "1"},
    }.items():
        assert figures(anchor) != figures(anchor, **changes), anchor


def test_a_margin_is_of_what_it_says() -> None:
    assert Bearing(3.0, 2.0).times == 1.5
    assert Bearing(3.0, 2.0, less=True).times == pytest.approx(2 / 3)
    assert Bearing(0.0, 2.0, less=True).times == Bearing(2.0, 0.0).times == Bearing(1.0).times == MOST
    assert Bearing(-1.0, 2.0).times == 0
    assert [Bearing(has, 1.0, again=1.5).state for has in (0.99, 1.0, 1.49, 1.5)] == [0, 1, 1, 2]
    assert [Bearing(has, 1.0, fails=0.0).state for has in (0.0, 0.99, 1.0)] == [1, 1, 2]
    assert Bearing(5.0).state == 3
    assert Bearing(2, 2, counted=True).spare == MOST  # as many as are asked: neither much nor little to spare
    assert Bearing(1, 2, counted=True).spare == 0.5


# --- order ------------------------------------------------------------------------------------------------


def in_order(one: Worked) -> None:
    """The rule, as the page says it, of every fault of a rig."""
    for anchor in SEEN:
        found = suspects(one, anchor)
        ranks = [(suspect.bearing.state, suspect.bearing.spare) for suspect in found]
        assert ranks == sorted(ranks), anchor
        told_ = seen(one, anchor).causes
        worst = [min((RANK[figure.judged] for figure in cause.figures), default=4) for cause in told_]
        assert worst == sorted(worst), anchor
        for cause in told_:
            states = [RANK[figure.judged] for figure in cause.figures]
            assert states == sorted(states), cause.title
        assert [cause.title for cause in told_ if not cause.figures] == ([row.title for row in COMMON[anchor]] if told_ else [])


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("way", WAYS)
def test_causes_stand_in_the_order_of_the_rule(start: str, way: str) -> None:
    in_order(worked(rig__start=start, flight__way=way))
    in_order(worked(rig__start=start, flight__way=way, main__pack__line_turns="5", main__joint__pins="1", main__cord__length="2 m"))


@pytest.mark.parametrize(
    ("anchor", "cause", "changes"),
    [
        ("seen-wrapped", "cord-round", {"main__pack__cord_turns": "1"}),
        ("seen-wrapped", "wraps", {"main__pack__line_turns": "4"}),
        ("seen-in-tube", "long", {"drogue__bay__depth": "250 mm"}),
        ("seen-in-tube", "cord-short", {"main__cord__length": "2 m"}),
        ("seen-burned", "protector", {"main__pack__protector_depth": "0"}),
        ("seen-not-parted", "parts", {"main__charge__pressure": "20 kPa", "drogue__charge__repeats": "2", "main__charge__repeats": "2"}),
        ("seen-not-parted", "nothing-parts", {"main__charge__kind": "none", "drogue__charge__repeats": "2"}),
        ("seen-early", "jolted", {"main__joint__pins": "0"}),
        ("seen-early", "running", {"flight__slowing": "300 m/s²"}),
        ("seen-early", "trapped", {"drogue__joint__vent": "", "flight__apogee": "4000 m", "site__warmer": "0 °C"}),
        ("seen-far", "wind", {"flight__wind": "15 m/s", "site__east": "9 km", "site__west": "9 km", "site__north": "9 km", "site__south": "9 km"}),
        ("seen-far", "opens-high", {"flight__main_height": "900 m", "site__west": "9 km", "site__east": "9 km", "site__north": "9 km", "site__south": "9 km"}),
        ("seen-hard", "settled", {"flight__main_height": "40 m"}),
        ("seen-hard", "energy", {"rocket__mass": "12 kg"}),
        ("seen-hard", "touchdown", {"main__canopy__size": "1.1 m"}),
        ("seen-torn", "weak-cloth", {"drogue__canopy__size": "150 mm"}),
        ("seen-torn", "opens-fast", {"drogue__canopy__size": "190 mm", "main__lines__material": "my own rating", "main__lines__rating": "8 kN", "main__lines__stretch": "25 %"}),
        ("seen-cord-cut", "weak-cord", {"main__cord__material": "my own rating", "main__cord__rating": "1000 N", "main__cord__stretch": "20 %"}),
        ("seen-lines-twisted", "span", {"main__lines__length": "700 mm"}),
        ("seen-tube-slit", "few-lengths", {"main__cord__length": "4 m"}),
        ("seen-bay-unfired", "alone", {"electronics__units": "0"}),
    ],
)
def test_another_number_puts_another_cause_first(anchor: str, cause: str, changes: dict[str, str]) -> None:
    before, after = worked(), worked(**changes)
    assert titles(after, anchor)[0] == TOLD[cause].title
    first = seen(after, anchor).causes[0].figures[0]
    assert first.judged in ("fail", "warn")
    quiet = [row for row in seen(before, anchor).causes if row.title == TOLD[cause].title]
    assert all(figure.judged not in ("fail", "warn") for row in quiet for figure in row.figures)
    assert doubted(after) > doubted(before)


def test_a_number_is_judged_as_its_check_judges_it() -> None:
    """Nothing is told to be inside its limit that stops the plan, and the other way round."""
    met: dict[str, set[str]] = {cause: set() for cause in (*JUDGED_ALIKE, *TOGETHER)}
    words = {0: "fail", 1: "warn", 2: "pass"}
    for texts in (*({"flight.way": way} for way in WAYS), {"flight.wind": "15 m/s"}, {"electronics.ports": "1"}, *UNUSUAL, *(wild(number)[1] for number in range(150))):
        whole_plan = plan(texts)
        one = whole_plan.worked
        verdicts = {(check.name, check.bay): check.verdict for check in whole_plan.checks}
        found = {(suspect.cause, suspect.key): suspect.bearing.state for anchor in SEEN for suspect in suspects(one, anchor)}
        for (cause, key), state in found.items():
            name = (JUDGED_ALIKE.get(cause, ""), key)
            if name in verdicts and not (cause == "energy" and any(touch.packed >= touch.whole for touch in one.descent.touching.values())):
                assert words[state] == verdicts[name], (cause, key, texts)
                met[cause].add(words[state])
        for name, causes in TOGETHER.items():
            for key in {key for cause, key in found if cause in causes}:
                worst = min(found.get((cause, key), 2) for cause in causes)
                assert words[worst] == verdicts[name, key], (name, key, texts)
                met[name].add(words[worst])
    assert all(len(states) > 1 for states in met.values()), met


# --- any rig ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tens", range(20))
def test_any_rig_is_told_in_plain_numbers(tens: int) -> None:
    for number in range(10 * tens, 10 * tens + 10):
        texts = wild(number)[1]
        for units in SYSTEMS:
            one = Worked(parse(texts | {"rig.units": units}), LANDINGS)
            text = re.sub(r"<[^>]+>", " ", whole(one))
            assert not WRONG.search(text), (number, WRONG.search(text))
            for anchor in SEEN:
                for suspect in suspects(one, anchor):
                    assert math.isfinite(suspect.bearing.has)
                    assert 0 <= suspect.bearing.times <= MOST
            assert all(isinstance(value, int) for value in told(one).outputs.values())
        in_order(one)


@pytest.mark.parametrize("units", SYSTEMS)
def test_lengths_are_in_the_readers_units(units: str) -> None:
    one = worked(rig__units=units)
    (figure, _) = next(cause for cause in seen(one, "seen-in-tube").causes if cause.title == TOLD["overfull"].title).figures
    bay = one.bays["main"]
    assert figure.told == f"{one.at_least(bay.depth - bay.stack.spare, LENGTH)} lies in a bay {one.at_most(bay.depth, LENGTH)} deep."
