"""What if one thing fails: judged by closed forms, by an integration with scipy, by what each way down is, and by monotony."""

import dataclasses
import math
from collections.abc import Mapping
from functools import cache

import pytest
from scipy.integrate import solve_ivp

from loftbook.answer import Answer
from loftbook.calculators import CALCULATORS
from loftbook.physics import failing, strides
from loftbook.physics.atmosphere import Air
from loftbook.physics.motion import Opening
from loftbook.physics.strides import Moment
from loftbook.plan import data, plan
from loftbook.rig.parsing import parse
from loftbook.rig.ways import HELD, NO_DROGUE, ONE_BAY, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS
from loftbook.worked.failures import BREAKS, FALLS, HARD, HOLDS, NAMES, Failure, Failures, names
from loftbook.worked.worked import Worked

G = 9.80665
AIR = Air()
every_way = pytest.mark.parametrize("way", WAYS)
LETHAL = {"rocket.mass": "7 kg", "drogue.canopy.size": "300 mm", "flight.main_height": "5 m"}


@cache
def _of(changes: tuple[tuple[str, str], ...]) -> Failures:
    return Failures(Worked(parse(dict(changes))))


def failures(changes: Mapping[str, str] | None = None) -> Failures:
    """Of the first starting rig with changes."""
    return _of(tuple((changes or {}).items()))


def one_of(name: str, changes: Mapping[str, str] | None = None) -> Failure:
    """One failure that the rig has."""
    found = failures(changes).of(name)
    assert found
    return found


def asked(changes: Mapping[str, str] | None = None) -> Answer:
    return CALCULATORS["failures"].answer(failures(changes).worked, "")


# --- the physics ---------------------------------------------------------------------------------------


def test_without_air_it_falls_as_in_a_vacuum() -> None:
    end = strides.fall(3.0, 0.0, Moment(0.0, 100.0, 5.0), 20.0, 0.0, AIR)
    assert end.speed == pytest.approx(math.sqrt(25 + 2 * G * 80), rel=1e-12)
    assert end.time == pytest.approx((end.speed - 5) / G, rel=1e-12)


def test_far_down_it_falls_at_its_steady_rate() -> None:
    end = strides.fall(2.0, 0.3, Moment(0.0, 900.0, 0.0), 0.0, 0.0, AIR)
    assert end.speed == pytest.approx(math.sqrt(2 * 2.0 * G / (1.225 * 0.3)), rel=2e-3)


@pytest.mark.parametrize(("mass", "area", "top", "speed"), [(5.6, 0.003, 1200, 12), (5.6, 0.15, 1200, 0), (3, 2.5, 300, 45), (20, 0.01, 9000, 0)])
def test_a_fall_is_what_scipy_integrates(mass: float, area: float, top: float, speed: float) -> None:
    def rates(t: float, y: list[float]) -> list[float]:
        return [-y[1], G - AIR.density(max(y[0], 0.0)) * y[1] * abs(y[1]) * area / 2 / mass]

    def ground(t: float, y: list[float]) -> float:
        return y[0]

    ground.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(rates, (0, 3000), [top, speed], events=ground, rtol=1e-9, atol=1e-9)
    end = strides.fall(mass, area, Moment(0.0, float(top), float(speed)), 0.0, 0.0, AIR)
    assert end.speed == pytest.approx(found.y[1][-1], rel=1e-3)
    assert end.time == pytest.approx(found.t[-1], rel=1e-3)


def test_a_filling_is_what_scipy_integrates() -> None:
    """The drag area grows with the square of the time over n D0 / v."""
    one = Opening("main", 200.0, 3.0, 2.2, 8.0)
    filled = 8.0 * 2.2 / 45

    def rates(t: float, y: list[float]) -> list[float]:
        return [-y[1], G - AIR.density(y[0]) * y[1] ** 2 * 3.0 * (t / filled) ** 2 / 2 / 5.6]

    found = solve_ivp(rates, (0, filled), [200.0, 45.0], rtol=1e-10, atol=1e-10, dense_output=True)
    times = [filled * i / 4000 for i in range(4001)]
    drags = [AIR.density(found.sol(t)[0]) * found.sol(t)[1] ** 2 * 3.0 * (t / filled) ** 2 / 2 for t in times]
    peak, end = strides.filling(5.6, one, 0.0, Moment(0.0, 200.0, 45.0), 0.0, AIR)
    assert peak == pytest.approx(max(drags), rel=2e-3)
    assert (end.height, end.speed) == pytest.approx((found.y[0][-1], found.y[1][-1]), rel=1e-3)


def test_early_means_faster_than_late_and_never_faster_than_ever() -> None:
    assert failing.early_speed(1.0, 1e6, 1e6) == pytest.approx(G, rel=1e-6)
    assert failing.early_speed(3.0, 60.0, 500.0) == pytest.approx(60 * math.tan(3 * G / 60), rel=1e-12)
    assert failing.early_speed(3.0, 60.0, 31.0) == 31.0
    assert failing.early_speed(9.0, 60.0, 31.0) == 31.0  # the formula has no answer there


def test_it_flies_on_no_farther_than_without_air() -> None:
    def rates(t: float, y: list[float]) -> list[float]:
        return [y[1], -1.225 * 0.1 * y[1] ** 2 / 2 / 5]

    found = solve_ivp(rates, (0, 20), [0.0, 12.0], rtol=1e-10, atol=1e-10)
    assert failing.carried_on(12.0, 20.0, 5.0, 0.1, 1.225) == pytest.approx(found.y[0][-1], rel=1e-6)
    assert failing.carried_on(12.0, 20.0, 5.0, 0.0, 1.225) == 240.0


@pytest.mark.parametrize("wrong", [{"mass": 0.0}, {"drag_area": -1.0}])
def test_a_fall_of_nothing_is_refused(wrong: dict[str, float]) -> None:
    given = {"mass": 1.0, "drag_area": 0.1} | wrong
    with pytest.raises(ValueError, match="above zero"):
        strides.fall(given["mass"], given["drag_area"], Moment(0, 10, 0), 0.0, 0.0, AIR)


# --- which failures there are --------------------------------------------------------------------------

ALWAYS = {"nothing", "early", "late", "backup-only", "thrust", "nothing-opens", "never-parted"}
SOME = {
    ONE_CANOPY: "main-cord-aft main-cord-fore",
    TWO_BAYS: "drogue-in drogue-tangled main-in main-pins main-at-top first-bay-shut drogue-cord-aft drogue-cord-fore "
    "main-cord-aft main-cord-fore",
    TWO_PARTS: "main-in forward-in main-cord forward-cord",
    NO_DROGUE: "main-pins main-at-top first-bay-shut drogue-cord main-cord-aft main-cord-fore",
    HELD: "main-at-top main-cord-aft main-cord-fore",
    ONE_BAY: "drogue-in drogue-tangled main-in main-at-top drogue-cord main-cord-aft main-cord-fore",
}


@every_way
def test_every_way_has_its_failures(way: str) -> None:
    """Names are in other people's links: they may be added to, never renamed."""
    found = [one.name for one in failures({"flight.way": way}).all]
    assert len(set(found)) == len(found)
    assert set(found) == set(names(WAYS[way])) == ALWAYS | set(SOME[way].split())
    assert set(found) <= set(NAMES)


@every_way
def test_what_comes_down_is_the_whole_rocket(way: str) -> None:
    found = failures({"flight.way": way})
    mass = found.worked.airframe.mass
    for one in found.all:
        assert sum(body.mass for body in one.bodies) == pytest.approx(mass, rel=1e-12), one.name
        for body in one.bodies:
            assert sum(part for _, part in body.sections) <= body.mass * (1 + 1e-12)
            assert all(canopy.carries == pytest.approx(body.mass, rel=1e-12) for canopy, _ in body.openings)
            heights = [height for _, height in body.openings]
            assert heights == sorted(heights, reverse=True)
            for spread in (body.rate, body.energy, body.within, body.time):
                assert spread.low <= spread.best * (1 + 1e-12) <= spread.high * (1 + 1e-9), (one.name, body.name, spread)


def test_without_electronics_no_altimeter_dies() -> None:
    assert failures({"flight.way": ONE_CANOPY, "main.charge.kind": "the motor's own charge"}).of("backup-only") is None


# --- as planned it is the plan -------------------------------------------------------------------------


@every_way
def test_opened_late_it_is_what_coming_down_says(way: str) -> None:
    """Its own long run, in small steps, and this short one."""
    found = failures({"flight.way": way})
    down, well = found.worked.descent, found.all_well
    assert set(well.loads) == set(down.loads)
    for key, load in down.loads.items():
        assert well.loads[key].speed == pytest.approx(load.speed, rel=2e-3)
        assert well.loads[key].design == pytest.approx(load.design, rel=5e-3)
    for fall, body in zip(down.falls, well.bodies, strict=True):
        assert body.rate.high == pytest.approx(fall.touchdown_rate.high, rel=2e-3)
        assert body.time.best == pytest.approx(fall.time.best, rel=2e-3)
        assert fall.drift.high <= body.within.high * (1 + 1e-3)


def test_the_drogue_that_stays_in_leaves_the_fall_of_the_parts() -> None:
    """From 1200 m to 200 m tied parts fall at their terminal rate there: closed form, least drag."""
    one = one_of("drogue-in")
    body = one.bodies[0]
    assert list(one.loads) == ["main"]
    density = AIR.density(120 + 200)
    steady = math.sqrt(2 * 5.6 * G / (density * body.bare.low))
    assert steady < one.loads["main"].speed < 1.01 * steady  # the thinner air above is still felt
    assert body.openings[0][1] == 200.0


def test_the_main_that_stays_in_leaves_the_drogue() -> None:
    found = failures()
    one = found.of("main-in")
    assert one
    assert one.rate.high == pytest.approx(found.worked.canopies["drogue"].rate.high, rel=0.02)
    assert one.verdict == HARD


def test_nose_first_it_stays_below_the_vacuum_and_its_steady_rate() -> None:
    one = one_of("never-parted")
    assert one.rate.high < math.sqrt(12**2 + 2 * G * 1200)
    assert one.rate.high < math.sqrt(2 * 5.6 * G / (1.2 * one.bodies[0].bare.low))
    assert one.time.high >= math.sqrt(2 * 1200 / G) * 0.999
    assert one.verdict == FALLS
    assert one.energy.high == pytest.approx(5.6 * one.rate.high**2 / 2, rel=1e-12)


def test_where_it_lands_nose_first_holds_a_true_trajectory() -> None:
    """Two dimensions, drag along the way through moving air, both ends of its drag, downwind and upwind."""
    found = failures({"flight.forward_speed": "30 m/s", "flight.wind": "8 m/s"})
    (body,) = found.of("never-parted").bodies  # type: ignore[union-attr]
    sky = found.worked.sky
    for area in (body.bare.low, body.bare.best, body.bare.high):
        for across in (30.0, -30.0):

            def rates(t: float, y: list[float], area: float = area) -> list[float]:
                _, z, u, w = y
                east, north = sky.wind(max(z, 0.0))
                off = u - math.hypot(east, north)
                pull = sky.air.density(120 + max(z, 0.0)) * math.hypot(off, w) * area / 2 / 5.6
                return [u, -w, -pull * off, G - pull * w]

            def ground(t: float, y: list[float]) -> float:
                return y[1]

            ground.terminal = True  # type: ignore[attr-defined]
            end = solve_ivp(rates, (0, 200), [0.0, 1200.0, across, 0.0], events=ground, rtol=1e-8, atol=1e-8)
            assert abs(end.y[0][-1]) <= body.within.high
            assert end.t[-1] <= body.time.high * 1.02
            assert math.hypot(end.y[2][-1], end.y[3][-1]) <= body.rate.high * 1.02


def test_under_thrust_nobody_survives_even_the_gentlest_rig() -> None:
    one = one_of("thrust", {"flight.climb": "20 m/s", "flight.apogee": "30 m", "flight.main_height": "20 m"})
    assert one.verdict == FALLS
    assert one.thrown == pytest.approx(math.sqrt(2 * G * 30))
    assert one_of("thrust").thrown == 160.0


def test_a_cord_that_parts_leaves_each_part_what_it_hangs_on() -> None:
    def hung(name: str, way: str = TWO_BAYS) -> dict[str, list[str]]:
        one = failures({"flight.way": way}).of(name)
        assert one
        return {body.name: [canopy.key for canopy, _ in body.openings] for body in one.bodies}

    assert hung("drogue-cord-aft") == {"nose and middle": ["drogue", "main"], "tail": []}
    assert hung("drogue-cord-fore") == {"nose and middle": ["main"], "tail": ["drogue"]}
    assert hung("main-cord-aft") == {"nose": ["main"], "middle and tail": ["drogue"]}
    assert hung("main-cord-fore") == {"nose": [], "middle and tail": ["drogue", "main"]}
    assert hung("drogue-cord", NO_DROGUE) == {"nose and middle": ["main"], "tail": []}
    assert hung("forward-cord", TWO_PARTS) == {"aft part": ["main"], "forward part": []}
    assert hung("drogue-cord", ONE_BAY) == {"rocket": ["main"]}


# --- one altimeter dead ----------------------------------------------------------------------------------

SECOND = {"drogue.charge.backup": "a second charge", "main.charge.backup": "a second charge"}


@pytest.mark.parametrize(("changes", "opens"), [
    ({"electronics.units": "1"}, []),
    ({"electronics.batteries": "1"}, []),  # a backup that shares its battery is no backup
    ({"electronics.units": "2"}, ["drogue", "main"]),  # each has an igniter in the same charge
    (SECOND, ["drogue", "main"]),
    ({"main.charge.backup": "a second charge"}, ["main"]),
    ({"electronics.units": "1"} | SECOND, []),
])  # fmt: skip
def test_what_opens_when_one_altimeter_is_dead(changes: dict[str, str], opens: list[str]) -> None:
    one = one_of("backup-only", changes)
    assert [canopy.key for body in one.bodies for canopy, _ in body.openings] == opens
    assert one.verdict == FALLS if not opens else one.verdict != FALLS


def test_a_backup_opens_later_and_lower() -> None:
    wait = {"drogue.charge.backup_later": "2 s", "main.charge.backup_height": "150 m", "main.charge.backup_later": "0 s"}
    one = one_of("backup-only", SECOND | wait)
    heights = {canopy.key: height for canopy, height in one.bodies[0].openings}
    assert heights["main"] == 150.0
    assert one.loads["drogue"].speed == pytest.approx(math.hypot(12, G * (1 + 2)), rel=1e-9)  # its error and the wait
    assert heights["drogue"] == pytest.approx(1200 - G * 9 / 2)


# --- verdicts and what would mend them ------------------------------------------------------------------


def test_the_lethal_rig() -> None:
    """7 kg, a drogue of 300 mm, the main at 5 m: nothing that fails about it is survivable, and as planned neither."""
    found = _of(tuple(LETHAL.items()))
    for name in ("nothing", "late", "drogue-in", "main-in", "first-bay-shut"):
        one = found.of(name)
        assert one
        assert one.rate.high > 30, name
        assert one.verdict in (HARD, BREAKS, FALLS), name
    planned = found.of("nothing")
    assert planned
    assert planned.rate.high == pytest.approx(found.worked.descent.main.touchdown_rate.high, rel=0.02)
    assert planned.wider is None  # a wider canopy does not help one that opens at 5 m
    verdicts = {check.name: check.verdict for check in plan(LETHAL).checks}
    assert verdicts["fails-drogue-in"] == "warn"


def test_verdicts_of_the_starting_rig() -> None:
    said = {one.name: one.verdict for one in failures().all}
    assert {said[name] for name in ("nothing", "early", "late", "main-pins", "drogue-tangled")} == {HOLDS}
    assert said["main-in"] == HARD
    assert said["first-bay-shut"] == BREAKS
    assert {said[name] for name in ("thrust", "nothing-opens", "never-parted", "drogue-cord-aft")} == {FALLS}


@pytest.mark.parametrize("path", ["main.cord.anchor", "main.cord.link", "main.cord.bulkhead", "drogue.cord.anchor"])
def test_weaker_gear_never_survives_more(path: str) -> None:
    order = {HOLDS: 0, HARD: 1, BREAKS: 2, FALLS: 3}
    before: dict[str, tuple[float, int]] = {}
    for rating in ("9 kN", "3 kN", "900 N", "200 N"):
        now = {
            one.name: (one.margin if one.margin is not None else 0.0, order[one.verdict])
            for one in _of(((path, rating),)).all
        }
        for name, (margin, rank) in before.items():
            assert now[name][0] <= margin * (1 + 1e-12)
            assert now[name][1] >= rank
        before = now
    assert any(rank == 2 for _, rank in before.values())


@pytest.mark.parametrize("changes", [{"rocket.mass": "9 kg"}, {"rocket.mass": "8 kg", "main.cord.link": "300 N"},
                                     {"main.cord.anchor": "250 N", "main.cord.material": "my own rating", "main.cord.rating": "400 N"}])  # fmt: skip
def test_remedies_typed_back_hold(changes: dict[str, str]) -> None:
    """Every part at the rating that is told: none is too weak any more. Lines and cloth are not typed as a rating here."""
    one = _of(tuple(changes.items())).of("drogue-in")
    assert one
    assert one.breaks
    texts = dict(changes)
    fields = {"cord": "cord.rating", "link": "cord.link", "swivel": "cord.swivel", "anchor in the airframe": "cord.anchor",
              "anchor on the nose side": "cord.nose_anchor", "bulkhead": "cord.bulkhead", "one line": "lines.rating"}  # fmt: skip
    for need in one.needs:
        said = one.chains[need.whose].said
        if need.part.name == "cord":
            texts |= {f"{need.whose}.cord.material": "my own rating", f"{need.whose}.cord.stretch": f"{one.chains[need.whose].cord.stretch!r}"}
        if need.part.name == "one line":
            texts |= {f"{need.whose}.lines.material": "my own rating", f"{need.whose}.lines.stretch": f"{said.rig.number(f'{need.whose}.lines.stretch') if said.text('lines.material') == 'my own rating' else one.loads[need.whose].canopy.line_stretch!r}"}
        texts[f"{need.whose}.{fields[need.part.name]}"] = f"{need.rating * 1.001!r} N"
    again = Failures(Worked(parse(texts))).of("drogue-in")
    assert again
    assert [(need.part.name, need.factor) for need in again.needs if need.part.name in fields] == []


@pytest.mark.parametrize("changes", [{"rocket.mass": "9 kg"}, {"main.cord.link": "150 N"}])
def test_the_speed_that_is_borne_is_borne(changes: dict[str, str]) -> None:
    """The same opening at that speed leaves the weakest part whole."""
    found = _of(tuple(changes.items()))
    one = found.of("drogue-in")
    assert one
    assert one.bearable
    load, speed = one.bearable
    body = one.bodies[0]
    slower = dataclasses.replace(body, top=body.openings[-1][1], speed=speed)
    part, key = one.parts[0]
    again = dataclasses.replace(one, bodies=(slower,))
    assert slower.loads[load.canopy.key].speed == pytest.approx(speed, rel=1e-9)
    assert next(p.margin for p, k in again.parts if (p.name, k) == (part.name, key)) >= 1


def test_a_wider_drogue_lands_softly() -> None:
    one = one_of("main-in")
    assert one.wider
    again = one_of("main-in", {"drogue.canopy.size": f"{0.6 * one.wider!r} m"})
    assert again.verdict == HOLDS


# --- every number is the worst corner ------------------------------------------------------------------


@every_way
def test_no_corner_is_worse_than_what_is_told(way: str) -> None:
    """Every drag area by itself at low, best and high: no opening is faster, no touchdown harder, none later."""
    found = failures({"flight.way": way})
    for one in found.all:
        if one.thrown:
            continue
        for body in one.bodies:
            for share in ("low", "best", "high"):
                area = getattr(body.bare, share)
                fixed = dataclasses.replace(body, bare=dataclasses.replace(body.bare, low=area, best=area, high=area))
                assert fixed.rate.high <= one.rate.high * (1 + 1e-6), (one.name, share)
                assert fixed.time.high <= one.time.high * (1 + 1e-6), (one.name, share)
                assert fixed.within.high <= one.within.high * (1 + 1e-6), (one.name, share)
                for key, load in fixed.loads.items():
                    assert load.speed <= one.loads[key].speed * (1 + 1e-9), (one.name, share)


@every_way
def test_outputs_and_passages_tell_every_failure(way: str) -> None:
    found, told = failures({"flight.way": way}), asked({"flight.way": way})
    assert [one.anchor for one in told.passages] == [f"fails-{one.name}" for one in found.all]
    assert len(told.tables[0].rows) == len(found.all)
    assert told.tables[0].shown
    assert "range safety officer" in told.cautions[0]
    for name in NAMES:
        one, key = found.of(name), name.replace("-", "_")
        wanted = (one.rate.high, one.energy.high, one.within.high) if one else (None, None, None)
        assert tuple(told.outputs[f"{key}_{what}"] for what in ("rate", "energy", "within")) == wanted
    counts = [told.outputs[name] for name in ("survived", "hard", "broken", "lethal")]
    assert sum(counts) == len(found.all) - 1  # type: ignore[arg-type]
    for one, passage in zip(found.all, told.passages, strict=True):
        assert ("keep people back" in passage.text) is (one.verdict == FALLS)


def test_it_is_part_of_the_plan() -> None:
    results = data(plan({}))["results"]
    assert results["failures"]["drogue_in_speed"] == pytest.approx(one_of("drogue-in").loads["main"].speed)  # type: ignore[index]
