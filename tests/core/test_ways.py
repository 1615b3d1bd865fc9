"""The ways down, one by one: what opens where and when, what lives where, what hangs on what, and that nothing is lost.

Judged by what each way is (common practice), by weighing, and by geometry, not by numbers that the code produced.
"""

import itertools
from collections.abc import Mapping

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from rigs import sound_texts, worked

from loftbook.calculators import CALCULATORS
from loftbook.physics.packing import Stack
from loftbook.plan import plan
from loftbook.rig.bay_fields import CHARGE_ABOVE, CHARGE_BELOW
from loftbook.rig.fields import DEFAULTS, STARTS
from loftbook.rig.rocket_fields import BROADSIDE, MAIN_AFT, MAIN_FORWARD, TIMED, TUMBLING
from loftbook.rig.ways import (
    DROGUE,
    FORWARD,
    HELD,
    KEYS,
    MAIN,
    NO_DROGUE,
    ONE_BAY,
    ONE_CANOPY,
    TWO_BAYS,
    TWO_PARTS,
    WAYS,
    shown,
    titled,
)
from loftbook.worked.worked import Worked

every_way = pytest.mark.parametrize("way", WAYS)
often = settings(derandomize=True, max_examples=60, deadline=None, suppress_health_check=list(HealthCheck),
                 phases=(Phase.explicit, Phase.generate), report_multiple_bugs=False)  # fmt: skip
EXACT = 1e-12

# A rocket whose parts are easily told by their masses.
BASE = {"rocket.mass": "5.6 kg", "nose.mass": "650 g", "middle.mass": "1.7 kg", "rocket.length": "2.4 m", "nose.length": "450 mm",
        "middle.length": "800 mm", "flight.apogee": "1200 m", "flight.main_height": "200 m",
        "main.pack.device": "70 mm"}  # fmt: skip
NOSE, MIDDLE, WHOLE = 0.65, 1.7, 5.6


def rig_of(way: str, **changes: str) -> Worked:
    """The rocket above coming down that way; `flight_fall` stands for flight.fall."""
    return worked(BASE | {"flight.way": way} | {path.replace("_", ".", 1): text for path, text in changes.items()})


# --- what there is -----------------------------------------------------------------------------------

# way: bays in the order of opening, canopies likewise, every cord in the order of opening
THERE = {
    ONE_CANOPY: ((MAIN,), (MAIN,), (MAIN,)),
    TWO_BAYS: ((DROGUE, MAIN), (DROGUE, MAIN), (DROGUE, MAIN)),
    TWO_PARTS: ((MAIN,), (MAIN, FORWARD), (MAIN, FORWARD)),
    NO_DROGUE: ((DROGUE, MAIN), (MAIN,), (DROGUE, MAIN)),
    HELD: ((MAIN,), (MAIN,), (MAIN,)),
    ONE_BAY: ((MAIN,), (DROGUE, MAIN), (DROGUE, MAIN)),
}


def test_there_are_six_ways_down() -> None:
    assert list(WAYS) == list(THERE)
    assert all(way.name == name for name, way in WAYS.items())


@every_way
def test_what_there_is(way: str) -> None:
    bays, canopies, cords = THERE[way]
    one = rig_of(way)
    assert tuple(one.bays) == tuple(one.joints) == bays
    assert tuple(one.canopies) == tuple(one.descent.loads) == canopies
    assert set(one.cords) == set(one.rigged) == set(one.chains) == set(cords)
    assert one.rig.way.keys == tuple(one.cords)
    assert set(cords) == {*bays, *canopies}


@every_way
def test_every_canopy_is_packed_in_a_bay_that_opens(way: str) -> None:
    row = WAYS[way]
    homes = {canopy: row.home(canopy) for canopy in row.canopies}
    assert set(homes.values()) <= set(row.bays)
    assert {one: bay for one, bay in homes.items() if one != bay} == (
        {FORWARD: MAIN} if way == TWO_PARTS else {DROGUE: MAIN} if way == ONE_BAY else {}
    )
    assert sorted(itertools.chain(*(row.tenants(bay) for bay in row.bays))) == sorted(row.canopies)
    for bay in row.bays:
        assert row.tenants(bay)[:1] in ((), (bay,)), "the bay's own canopy lies deepest"


@every_way
def test_a_page_shows_the_bay_asked_for_or_the_main(way: str) -> None:
    for among in (WAYS[way].bays, WAYS[way].canopies, WAYS[way].keys):
        for wanted in KEYS:
            assert shown(WAYS[way], wanted, among) == (wanted if wanted in among else MAIN)


@every_way
def test_what_each_is_called(way: str) -> None:
    one = rig_of(way)
    names = {key: one.title(key) for key in WAYS[way].keys}
    assert len(set(names.values())) == len(names)
    assert names == {
        ONE_CANOPY: {MAIN: "canopy"},
        HELD: {MAIN: "canopy"},
        TWO_BAYS: {DROGUE: "drogue", MAIN: "main"},
        ONE_BAY: {DROGUE: "drogue", MAIN: "main"},
        NO_DROGUE: {DROGUE: "first bay", MAIN: "main"},
        TWO_PARTS: {MAIN: "aft part", FORWARD: "forward part"},
    }[way]
    assert all(titled(WAYS[way], key) for key in WAYS[way].keys)


@every_way
def test_calculators_are_asked_about_what_there_is(way: str) -> None:
    bays, canopies, cords = THERE[way]
    for calculator in CALCULATORS.values():
        wanted = {"rig": {""}, "bay": set(bays), "canopy": set(canopies), "cord": set(cords)}[calculator.each]
        assert set(calculator.keys(WAYS[way])) == wanted


# --- what weighs what --------------------------------------------------------------------------------


@every_way
def test_the_sections_are_the_rocket(way: str) -> None:
    frame = rig_of(way).airframe
    two = way in (TWO_BAYS, NO_DROGUE)
    assert [section.name for section in frame.sections] == ["nose", "middle", "tail"] if two else ["nose", "airframe"]
    masses = (NOSE, MIDDLE, WHOLE - NOSE - MIDDLE) if two else (NOSE, WHOLE - NOSE)
    lengths = (0.45, 0.8, 1.15) if two else (0.45, 1.95)
    assert [section.mass for section in frame.sections] == pytest.approx(masses, rel=EXACT)
    assert [section.length for section in frame.sections] == pytest.approx(lengths, rel=EXACT)


@pytest.mark.parametrize("way", [TWO_BAYS, NO_DROGUE])
@pytest.mark.parametrize("lies", [MAIN_FORWARD, MAIN_AFT])
def test_which_joint_a_bay_is(way: str, lies: str) -> None:
    """The main's bay forward parts the nose off; aft, the tail; the other bay is the other joint."""
    joints = rig_of(way, rocket_main_bay=lies).joints
    nose, tail = (joints[key] for key in ((MAIN, DROGUE) if lies == MAIN_FORWARD else (DROGUE, MAIN)))
    assert (nose.forward.mass, nose.aft.mass) == pytest.approx((NOSE, WHOLE - NOSE), rel=EXACT)
    assert (tail.forward.mass, tail.aft.mass) == pytest.approx((NOSE + MIDDLE, WHOLE - NOSE - MIDDLE), rel=EXACT)
    assert (nose.forward.length, tail.forward.length) == pytest.approx((0.45, 1.25), rel=EXACT)
    assert tail.running_on / nose.running_on == pytest.approx((NOSE + MIDDLE) / NOSE, rel=EXACT)


@every_way
def test_what_hangs_under_each_canopy(way: str) -> None:
    carried = {key: one.carries for key, one in rig_of(way).canopies.items()}
    wanted = {MAIN: WHOLE - NOSE, FORWARD: NOSE} if way == TWO_PARTS else dict.fromkeys(carried, WHOLE)
    assert carried == pytest.approx(wanted, rel=EXACT)


@often
@given(texts=sound_texts())
def test_nothing_that_comes_down_is_lost(texts: dict[str, str]) -> None:
    """Masses and lengths of sections, of both sides of each joint, and of what falls: each time the rocket."""
    one = worked(texts)
    mass, length = one.rig.number("rocket.mass"), one.rig.number("rocket.length")
    frame = one.airframe
    assert sum(section.mass for section in frame.sections) == pytest.approx(mass, rel=EXACT)
    assert sum(section.length for section in frame.sections) == pytest.approx(length, rel=EXACT)
    assert all(section.mass > 0 and section.length > 0 for section in frame.sections)
    for joint in one.joints.values():
        assert joint.forward.mass + joint.aft.mass == pytest.approx(mass, rel=EXACT)
        assert joint.forward.length + joint.aft.length == pytest.approx(length, rel=EXACT)
    assert sum(fall.mass for fall in one.descent.falls) == pytest.approx(mass, rel=EXACT)
    landed = [fall.last.key for fall in one.descent.falls]
    assert landed == ([MAIN] if one.rig.way.tied else [MAIN, FORWARD])
    opened = [canopy.key for fall in one.descent.falls for canopy, _ in fall.openings]
    assert sorted(opened) == sorted(one.canopies)


# --- what happens when ---------------------------------------------------------------------------------

LOW = 200.0
# way: of each body, its canopies with the height at which each opens, and whether it falls without one at first
EVENTS: dict[str, list[tuple[list[tuple[str, float]], bool]]] = {
    ONE_CANOPY: [([(MAIN, 1200.0)], False)],
    TWO_BAYS: [([(DROGUE, 1200.0), (MAIN, LOW)], False)],
    TWO_PARTS: [([(MAIN, 1200.0)], False), ([(FORWARD, 1200.0)], False)],
    NO_DROGUE: [([(MAIN, LOW)], True)],
    HELD: [([(MAIN, LOW)], True)],
    ONE_BAY: [([(DROGUE, 1200.0), (MAIN, LOW)], False)],
}


@every_way
def test_what_opens_when(way: str) -> None:
    falls = rig_of(way).descent.falls
    assert len(falls) == len(EVENTS[way])
    for fall, (openings, bare) in zip(falls, EVENTS[way], strict=True):
        assert [(canopy.key, height) for canopy, height in fall.openings] == openings
        assert fall.top == 1200.0
        assert (fall.bare is not None) is (fall.bare_rate is not None) is bare
        phases = fall.phases(lambda rate: rate.best)
        assert [phase.height for phase in phases] == [1200.0] * bare + [height for _, height in openings]


@every_way
def test_the_run_opens_what_opens_in_that_order(way: str) -> None:
    """No canopy opens above its height, each begins to fill near it, and the last carries it down as its rate says."""
    for fall, (openings, _) in zip(rig_of(way).descent.falls, EVENTS[way], strict=True):
        fillings = fall.run.fillings
        heights = [filling.opened.height for filling in fillings]
        assert heights == sorted(heights, reverse=True)
        for filling, (_, height) in zip(fillings, openings, strict=True):
            assert filling.opened.height == pytest.approx(height, abs=1)
        times = [filling.opened.time for filling in fillings]
        assert times == sorted(times)


@pytest.mark.parametrize("way", [NO_DROGUE, HELD])
def test_without_a_canopy_it_falls_faster_and_the_main_opens_harder(way: str) -> None:
    """The faster it falls, the harder; a measured fall is as fast as it was measured."""
    rates = {}
    for attitude in (BROADSIDE, TUMBLING):
        fall = rig_of(way, flight_fall=attitude).descent.main
        assert fall.bare_rate
        assert fall.bare_rate.low > fall.last.rate.high
        rates[attitude] = fall.bare_rate.best
    assert rates[TUMBLING] != rates[BROADSIDE]
    timed = rig_of(way, flight_fall=TIMED, flight_fall_low="25 m/s", flight_fall_high="35 m/s").descent.main
    assert timed.bare_rate
    assert (timed.bare_rate.low, timed.bare_rate.high) == pytest.approx((25, 35), rel=1e-9)
    slow, fast = (
        rig_of(way, flight_fall=TIMED, flight_fall_low=rate, flight_fall_high=rate).descent.loads[MAIN].hardest
        for rate in ("25 m/s", "50 m/s")
    )
    assert fast > slow


def test_a_drogue_makes_the_main_open_gentler_than_no_drogue() -> None:
    loads = {way: rig_of(way).descent.opened[MAIN].at.speed for way in (TWO_BAYS, ONE_BAY, NO_DROGUE, HELD)}
    assert loads[TWO_BAYS] == pytest.approx(loads[ONE_BAY], rel=1e-9)  # the same canopies on the same mass
    assert max(loads[TWO_BAYS], loads[ONE_BAY]) < min(loads[NO_DROGUE], loads[HELD])


# --- what lies where -----------------------------------------------------------------------------------


def kinds(stack: Stack) -> list[tuple[str, str]]:
    return [(layer.item.kind, layer.item.owner) for layer in stack.layers]


def own(key: str, *, device: bool = False) -> list[tuple[str, str]]:
    """A canopy as it is packed: the cord that pays out first, the bundle, a device, its lines, the rest of the cord."""
    names = ["cord", "bundle", *(["device"] if device else []), "lines", "cord"]
    return [(name, key) for name in names]


@every_way
@pytest.mark.parametrize("layout", [CHARGE_BELOW, CHARGE_ABOVE])
def test_what_lies_in_each_bay_bottom_to_top(way: str, layout: str) -> None:
    """The protector lies on the charge's side; a canopy's own things lie about it; the shoulder closes the bay."""
    one = worked(BASE | {"flight.way": way, "main.pack.layout": layout, "drogue.pack.layout": layout})
    inside = {
        ONE_CANOPY: {MAIN: own(MAIN)},
        TWO_BAYS: {DROGUE: own(DROGUE), MAIN: own(MAIN)},
        TWO_PARTS: {MAIN: own(MAIN) + own(FORWARD)},
        NO_DROGUE: {DROGUE: [("cord", DROGUE)], MAIN: own(MAIN)},
        HELD: {MAIN: own(MAIN, device=True)},
        ONE_BAY: {MAIN: own(MAIN, device=True) + own(DROGUE)},
    }[way]
    protector, shoulder = [("protector", "")], [("shoulder", "")]
    for key, lying in inside.items():
        whole = protector + lying if layout == CHARGE_BELOW else lying + protector
        assert kinds(one.bays[key].stack) == whole + shoulder


@often
@given(texts=sound_texts())
def test_layers_lie_on_each_other_and_hold_all_that_is_packed(texts: dict[str, str]) -> None:
    """No layer lies in another; what is left over is what the bay has beyond them, below nothing if they are too much."""
    one = worked(texts)
    for key, bay in one.bays.items():
        stack = bay.stack
        *inside, shoulder = stack.layers
        assert inside[0].bottom == 0
        for below, above in itertools.pairwise(inside):
            assert above.bottom == below.top
        assert all(layer.top >= layer.bottom for layer in stack.layers)
        assert (shoulder.item.kind, shoulder.top) == ("shoulder", pytest.approx(bay.depth, rel=EXACT))
        assert stack.spare == pytest.approx(shoulder.bottom - inside[-1].top, rel=1e-9, abs=1e-12)
        bundles = [layer.item for layer in inside if layer.item.kind == "bundle"]
        tenants = one.rig.way.tenants(key)
        assert tuple(item.owner for item in bundles) == tenants
        for item in bundles:
            assert item.height == one.folded(item.owner).bundle.length
        room = sum(one.folded(item.owner).room for item in bundles)
        if len(tenants) == 1 and one.folded(key).bundle.fits:
            assert stack.spare == pytest.approx(room - bundles[0].height, rel=1e-9, abs=1e-12)


@often
@given(texts=sound_texts())
def test_a_shared_bay_has_room_for_both_or_one_of_them_does_not_fit(texts: dict[str, str]) -> None:
    one = worked(texts)
    for key, bay in one.bays.items():
        tenants = one.rig.way.tenants(key)
        if len(tenants) == 2:
            fits = [one.folded(canopy).bundle.fits for canopy in tenants]
            assert bay.stack.spare >= -1e-9 or not all(fits)


@pytest.mark.parametrize(("way", "guest"), [(TWO_PARTS, FORWARD), (ONE_BAY, DROGUE)])
def test_a_guest_takes_its_room_from_the_bays_own(way: str, guest: str) -> None:
    alone, shared = rig_of(ONE_CANOPY), rig_of(way)
    assert shared.folded(MAIN).room < alone.folded(MAIN).room
    assert shared.home(guest) is shared.bays[MAIN]
    bottoms = {
        layer.item.owner: layer.bottom for layer in shared.bays[MAIN].stack.layers if layer.item.kind == "bundle"
    }
    assert bottoms[MAIN] < bottoms[guest], "what opens first lies nearer the mouth"
    larger = worked(BASE | {"flight.way": way, f"{guest}.canopy.size": "1.2 m"})
    assert larger.folded(MAIN).room < shared.folded(MAIN).room


@often
@given(texts=sound_texts())
def test_the_air_in_a_packed_bay_is_less_than_the_bay(texts: dict[str, str]) -> None:
    for bay in worked(texts).bays.values():
        free = bay.free_volume
        empty = bay.section * (bay.depth - bay.shoulder)
        assert free.low <= free.best <= free.high < empty or bay.depth == bay.shoulder


# --- what pulls at what --------------------------------------------------------------------------------


@every_way
def test_a_cord_ties_two_sides_where_its_bay_parts_tied_parts(way: str) -> None:
    one = rig_of(way)
    for key, chain in one.chains.items():
        parts = {part.name for part in chain.parts}
        ties = key in one.bays and WAYS[way].tied
        assert ("anchor on the nose side" in parts) is ties
        assert (chain.jerk is not None) is ties
        assert ("bulkhead" in parts) is (key in one.bays)
        assert ("release device" in parts) is (key in WAYS[way].held)
        assert ("link" in parts) is (key in one.canopies)
        assert {"cord", "anchor in the airframe"} <= parts


def test_a_cord_feels_the_canopies_that_hang_on_it() -> None:
    """A canopy's own opening whole; of a canopy that opens later at another joint only what hangs beyond this cord."""
    one = rig_of(TWO_BAYS)
    felt = {key: {load.canopy.key: share for load, share in chain.openings} for key, chain in one.chains.items()}
    assert felt[MAIN] == {MAIN: 1.0}
    assert felt[DROGUE][DROGUE] == 1.0
    assert 0 < felt[DROGUE][MAIN] <= 1.0
    hanging = WHOLE - NOSE - MIDDLE  # the tail hangs on the drogue's cord when the main opens
    assert felt[DROGUE][MAIN] == pytest.approx(min(1, 2 * min(hanging, WHOLE - hanging) / WHOLE), rel=EXACT)
    assert {key: [load.canopy.key for load, _ in chain.openings] for key, chain in rig_of(TWO_PARTS).chains.items()} == {
        MAIN: [MAIN], FORWARD: [FORWARD]}  # fmt: skip


@every_way
def test_the_device_bears_what_comes_before_the_main_opens(way: str) -> None:
    one = rig_of(way)
    for key in WAYS[way].held:
        device = next(part for part in one.chains[key].parts if part.name == "release device")
        jerk = one.chains[key].jerk
        assert jerk
        earlier = [one.descent.loads[DROGUE].design] if way == ONE_BAY else []
        assert device.load == pytest.approx(max(jerk, *earlier) if earlier else jerk, rel=EXACT)


# --- the rigs to start from --------------------------------------------------------------------------


@pytest.mark.parametrize("start", STARTS)
def test_a_starting_rig_is_sound_and_complete(start: str) -> None:
    """The first thing a newcomer sees must not be a fault of our own rocket, and nothing of it may be missing."""
    whole = plan({"rig.start": start})
    assert [(check.bay, check.name, check.reason) for check in whole.checks if check.verdict == "fail"] == []
    assert whole.sound
    for name, calculator in CALCULATORS.items():
        if calculator.in_plan:
            answers = whole.of(name)
            assert tuple(answers) == calculator.keys(whole.rig.way)
            for answer in answers.values():
                assert set(answer.outputs) == {output.name for output in calculator.outputs}
                assert answer.summary
    assert {key: [tenant.canopy.key for tenant in bay.tenants] for key, bay in whole.worked.bays.items()} == {
        key: [key] for key in whole.rig.way.bays
    }
    assert all(whole.worked.folded(canopy).bundle.fits for canopy in whole.rig.way.canopies)


def test_the_first_starting_rig_has_two_bays_and_the_second_one() -> None:
    first, second, *more = (texts["flight.way"] for texts in STARTS.values())
    assert (first, second) == (TWO_BAYS, ONE_CANOPY)
    assert {ONE_CANOPY, TWO_BAYS} == set(more)  # a slimmer and a thicker rocket to start from, too
    assert DEFAULTS["flight.way"] == TWO_BAYS


def _names(texts: Mapping[str, str]) -> list[str]:
    return [name for name, answer in plan(texts).answers.items() if answer.steps]


@every_way
def test_every_canopy_is_folded_and_every_bay_is_packed(way: str) -> None:
    """By steps of their own, whatever the way down: a walk-through goes along these."""
    with_steps = _names(BASE | {"flight.way": way})
    assert [name for name in with_steps if name.endswith(".folding")] == [f"{key}.folding" for key in WAYS[way].canopies]
    assert [name for name in with_steps if name.endswith(".packing")] == [f"{key}.packing" for key in WAYS[way].bays]
