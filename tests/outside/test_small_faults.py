"""Closed forms where a small fault once went by unnoticed (scripts/mutate.py finds such places)."""

import math

import pytest

from loftbook.physics import airframe, canopy, descent, elementary, folding, motion, strides
from loftbook.physics.atmosphere import STANDARD
from loftbook.physics.strides import Moment
from loftbook.physics.wind import power_wind
from loftbook.rig.bay_fields import ACROSS_CORNERS, BACKUP, GAS, NOSE_ALONG, NOSE_AT_LINES, TWO_SECTIONS
from loftbook.rig.parsing import parse
from loftbook.rig.rocket_fields import MAIN_AFT, MAIN_FORWARD
from loftbook.rig.ways import DROGUE, FORWARD, MAIN, NO_DROGUE, ONE_BAY, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS
from loftbook.worked import mispacked
from loftbook.worked.descent import shown
from loftbook.worked.failures import Failures
from loftbook.worked.hanging import Hangs, Picture
from loftbook.worked.sewn import Sewn
from loftbook.worked.sky import Sky
from loftbook.worked.worked import Worked

G = 9.80665


def worked(**texts: str) -> Worked:
    """A rig; dots are written as two underlines."""
    return Worked(parse({path.replace("__", "."): text for path, text in texts.items()}), 50)


# --- wind and scatter ------------------------------------------------------------------------------------


@pytest.mark.parametrize("bearing", [225, 160])
def test_the_wind_at_launch_is_as_strong_as_the_layer_says_from_wherever_it_blows(bearing: int) -> None:
    """Not only from one of the four quarters, where one of its two parts is nothing."""
    sky = Sky(parse({"flight.wind": "2 m/s", "flight.layers": f"0 m 8.5 m/s {bearing}; 300 m 12 m/s {bearing}"}))
    assert sky.launch_wind == pytest.approx(8.5 + 3.5 * 10 / 300, rel=1e-12)
    calm = Sky(parse({"flight.wind": "9 m/s", "flight.layers": f"0 m 3 m/s {bearing}"}))
    assert calm.launch_wind == 9.0
    east, north = sky.wind(10.0)
    assert math.hypot(east, north) == pytest.approx(sky.launch_wind, rel=1e-12)


# --- cloth -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ratio", [0.264, 0.5])
def test_a_cross_is_two_panels(ratio: float) -> None:
    """Four arms, a skirt along their ends, two whole hems: plane geometry."""
    found = canopy.cross(3.0, ratio)
    assert found.gores == 4
    assert found.skirt == pytest.approx(4 * 3 * ratio, rel=1e-12)
    assert found.seams == pytest.approx(2 * 2 * (3 + 3 * ratio), rel=1e-12)
    assert found.edge_radius == pytest.approx(math.hypot(3, 3 * ratio) / 2, rel=1e-12)


def test_the_loose_bundle_beside_the_mistake_is_the_one_told_or_as_wide_as_may_be() -> None:
    for tube, narrower in (("98 mm", False), ("40 mm", True)):
        folded = worked(flight__way=ONE_CANOPY, main__bay__tube=tube).folded(MAIN)
        made, drawn = folded.bundle, mispacked.loose(folded)
        assert (made.diagonal > made.widest) is narrower
        assert drawn.diagonal == pytest.approx(made.widest if narrower else made.diagonal, rel=2e-9)
        assert drawn.width / drawn.thickness == pytest.approx(made.width / made.thickness, rel=1e-12)


def test_a_part_that_is_lighter_than_its_canopies_touches_down_with_no_energy() -> None:
    """What is left of it is nothing, not less and not a little."""
    one = worked(flight__way=ONE_CANOPY, rocket__mass="0.7 kg", nose__mass="650 g", main__canopy__size="4 m")
    assert one.canopies[MAIN].mass > 0.05
    assert one.descent.touching["body"].energy.high == 0
    apart = worked(flight__way=TWO_PARTS, nose__mass="50 g", forward__canopy__size="3 m", rocket__mass="0.3 kg", main__canopy__size="5 m")
    assert {name: one.energy.high for name, one in apart.descent.touching.items()} == {"forward": 0, "aft": 0}


@pytest.mark.parametrize("below", ["0 %", "30 %", "100 %"])
def test_all_of_a_cord_lies_below_or_above_its_bundle(below: str) -> None:
    """Of a guest's cord, too."""
    one = worked(flight__way=ONE_BAY, main__pack__below=below, drogue__pack__below="40 %")
    bay = one.bays[MAIN]
    for key, share in ((MAIN, float(below.removesuffix(" %")) / 100), (DROGUE, 0.4)):
        first, rest = (bay.cord_in(lying.item) for lying in bay.stack.layers if (lying.item.kind, lying.item.owner) == ("cord", key))
        assert first == pytest.approx(share * one.cords[key].stowed, rel=1e-12)
        assert first + rest == pytest.approx(one.cords[key].stowed, rel=1e-12)


# --- the chart -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", WAYS)
def test_the_chart_leaves_out_no_part_of_the_way_that_was_followed(way: str) -> None:
    """Wherever the run has an instant, the chart has one within a twentieth of the whole time."""
    run = worked(flight__way=way).descent.main.run
    told, end = [one.time for one in shown(run)], run.touchdown.time
    assert all(min(abs(one.time - time) for time in told) <= end / 20 for one in run.instants)
    assert (told[0], told[-1]) == (run.instants[0].time, end)


# --- hanging ---------------------------------------------------------------------------------------------

LENGTHS = {"rocket__length": "2.4 m", "nose__length": "0.45 m", "middle__length": "0.8 m"}
BAYS = {"main__bay__depth": "0.5 m", "main__bay__shoulder": "0.1 m", "drogue__bay__depth": "0.3 m", "drogue__bay__shoulder": "0.15 m"}
CORDS = {"main__cord__length": "9 m", "main__cord__gap": "2.5 m", "drogue__cord__length": "7 m", "drogue__cord__gap": "2 m"}
# Cord between the two parts that the drogue's ties together, and where its canopy is tied in, seen from the forward one.
DROGUES = {NOSE_AT_LINES: (7.0, 0.0), NOSE_ALONG: (5.0, -2.0), TWO_SECTIONS: (9.0, 2.0)}


def hung(key: str = MAIN, **texts: str) -> Picture:
    one = worked(**(LENGTHS | BAYS | CORDS | texts))
    return Hangs(one.rig.way, one.airframe, one.bays, one.rigged, one.canopies).picture(key)


def ends(picture: Picture) -> list[tuple[float, float]]:
    """Upper and lower end of every part, below the line attachment [m]."""
    return [(pytest.approx(part.top, rel=1e-12), pytest.approx(part.bottom, rel=1e-12)) for part in picture.parts]


@pytest.mark.parametrize(("layout", "gap"), [(NOSE_AT_LINES, 0.0), (NOSE_ALONG, 2.5), (TWO_SECTIONS, 2.5)])
def test_two_parts_hang_where_cord_and_bay_put_them(layout: str, gap: float) -> None:
    """The mouth at cord less bay, the nose at its gap; the tail is longer by the shoulder that was in it."""
    found = hung(flight__way=ONE_CANOPY, main__cord__layout=layout)
    assert ends(found) == [(gap, gap + 0.45), (8.5, 8.5 + 1.95 + 0.1)]
    assert found.clearance == pytest.approx(8.5 - gap - 0.45, rel=1e-12)
    assert [(leg.top, leg.bottom) for leg in found.legs] == [(0, gap), (0, 8.5)]


@pytest.mark.parametrize(("layout", "rope"), DROGUES.items())
def test_three_parts_with_the_main_at_the_nose(layout: str, rope: tuple[float, float]) -> None:
    """Nose beside; middle and, on the drogue's cord, tail in line; the drogue trails between those."""
    more = {"flight__way": TWO_BAYS, "rocket__main_bay": MAIN_FORWARD, "main__cord__layout": NOSE_ALONG, "drogue__cord__layout": layout}
    free, tied_in = rope
    middle, tail = (8.5, 9.3), 9.3 + free - 0.3
    found = hung(**more)
    assert ends(found) == [(2.5, 2.95), middle, (tail, tail + 1.15 + 0.25)]
    assert [depth for _, depth in found.canopies] == pytest.approx([0.0, 9.3 + tied_in], rel=1e-12)
    assert found.clearance == pytest.approx(8.5 - 2.95, rel=1e-12)
    assert (found.legs[2].top, found.legs[2].bottom) == (pytest.approx(9.3), pytest.approx(tail))
    gap = 0.0 if layout == NOSE_AT_LINES else 2.0
    assert hung(DROGUE, **more).clearance == pytest.approx(6.7 - gap - 0.45 - 0.8, rel=1e-12)  # nose and middle still one
    in_line = hung(DROGUE, **(more | {"flight__way": NO_DROGUE}))
    assert in_line.clearance == pytest.approx(free - 0.3, rel=1e-12)
    assert len(in_line.canopies) == 1


@pytest.mark.parametrize(("layout", "rope"), DROGUES.items())
def test_three_parts_with_the_main_at_the_tail(layout: str, rope: tuple[float, float]) -> None:
    """Middle and, on the drogue's cord below it, nose hang beside the tail."""
    more = {"flight__way": TWO_BAYS, "rocket__main_bay": MAIN_AFT, "main__cord__layout": NOSE_ALONG, "drogue__cord__layout": layout}
    free, _ = rope
    nose = 3.3 + free - 0.3
    found = hung(**more)
    assert ends(found) == [(2.5, 3.3), (8.5, 8.5 + 1.15 + 0.25), (nose, nose + 0.45)]
    assert [depth for _, depth in found.canopies] == pytest.approx([0.0, 3.3 + 7 - 0.3], rel=1e-12)
    beside = max(8.5 - nose - 0.45, nose - 9.9)  # nose above the tail's mouth, or below its end
    assert found.clearance == pytest.approx(min(8.5 - 3.3, beside), rel=1e-12)


def test_a_part_alone_hangs_at_its_cord_less_the_bay_it_came_out_of() -> None:
    """The forward part has no bay; a guest's cord holds the airframe by the bay of its host."""
    apart = {"flight__way": TWO_PARTS, "forward__cord__length": "4 m"}
    assert ends(hung(FORWARD, **apart)) == [(4.0, 4.45)]
    assert ends(hung(MAIN, **apart)) == [(8.5, 8.5 + 1.95 + 0.1)]
    assert ends(hung(DROGUE, flight__way=ONE_BAY)) == [(6.5, 6.5 + 1.95 + 0.1)]


# --- ways down -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("speed", [1.0, 4.0])
def test_a_canopy_that_opens_slower_than_it_sinks_has_settled_a_tenth_below_that(speed: float) -> None:
    """V^2 - v^2 falls as exp(-2 g s / V^2) from below as it does from above."""
    mass, area, top = 6.0, 0.9, 100.0
    main = motion.Opening("main", top, area, 1e-6, 8.0)
    (opened,), _ = strides.down(mass, 0.0, [main], Moment(0.0, top, speed), 0.0, STANDARD)
    square = 2 * mass * G / (STANDARD.density(top) * area)
    found = strides.settled(mass, main, opened, 0.0, STANDARD)
    assert found
    assert found.height == pytest.approx(top - square / (2 * G) * math.log((1 - speed**2 / square) / (1 - 0.9**2)), abs=0.15)
    assert found.speed == pytest.approx(0.9 * math.sqrt(square), rel=2e-3)


def test_a_backup_that_would_open_below_the_ground_opens_just_above_it() -> None:
    rig = {"main__charge__backup": BACKUP, "main__charge__backup_mass": "2 g", "main__charge__backup_later": "9 s"}
    found = Failures(worked(electronics__units="2", electronics__batteries="2", **rig)).of("backup-only")
    assert found
    assert [height for one, height in found.bodies[0].openings if one.key == MAIN] == [1.0]


def test_what_opens_too_soon_is_no_faster_than_a_free_fall_to_where_it_belongs() -> None:
    rig = worked(flight__apogee="230 m", flight__main_height="200 m", drogue__canopy__size="250 mm")
    found = Failures(rig).of("main-at-top")
    assert found
    release = rig.descent.release_speed
    assert found.bodies[0].speed == pytest.approx(math.sqrt(release**2 + 2 * G * 30), rel=1e-9)


@pytest.mark.parametrize("weighed", ["", "260 g"])
def test_cloth_of_another_size_weighs_what_a_canopy_of_that_size_does(weighed: str) -> None:
    """By area where it was weighed; else as it is sewn."""
    one = worked(main__canopy__mass=weighed).canopies[MAIN]
    small = worked(main__canopy__mass="", main__canopy__size="1.1 m").canopies[MAIN]
    expected = one.cloth_mass / 4 if weighed else small.cloth_mass
    assert one.size == pytest.approx(2.2)
    assert one.cloth_mass_at(1.1) == pytest.approx(expected, rel=1e-9)


def test_what_the_wind_carries_north_it_carries_north_between_the_rows_too() -> None:
    table = descent.column(900.0, 100.0, STANDARD, power_wind(5.0, 1 / 7, 225.0))
    for height in (3.0, 77.7, 555.5, 899.0):
        _, east, north = table.at(height)
        assert north == pytest.approx(east, rel=1e-9)
        assert north > 0


# --- parts that fall, joints, folds ----------------------------------------------------------------------


def test_the_widest_part_is_the_first_in_the_drag_crisis() -> None:
    """At some 16 m/s a tube of 200 mm is past a Reynolds number of 200,000, one of 100 mm is not."""
    low, _, high = (getattr(airframe.bare_drag_area([(1.0, 0.1), (1.0, 0.2)], "broadside", 3.0, 1.2), end) for end in ("low", "best", "high"))
    even = airframe.bare_drag_area([(3.0, 0.1)], "broadside", 3.0, 1.2)
    assert high == pytest.approx(even.high, rel=1e-12)
    assert low < 0.9 * even.low


def test_what_nobody_tested_is_not_proved_and_another_way_down_is_another_rocket() -> None:
    gas = worked(main__charge__kind=GAS, main__charge__repeats="0").joints[MAIN].charge
    assert gas.repeats == 0
    assert not gas.proved
    assert not worked().joints[MAIN].charge.borrowed
    assert worked(flight__way=ONE_CANOPY).joints[MAIN].charge.borrowed
    assert worked(main__bay__depth="640 mm").joints[MAIN].charge.borrowed


def test_a_wanted_size_is_told_across_what_its_reader_measures_across() -> None:
    flats = Sewn(worked().canopies[MAIN]).wanted_size
    corners = Sewn(worked(main__canopy__across=ACROSS_CORNERS, main__canopy__size="2.4 m").canopies[MAIN]).wanted_size
    assert flats
    assert corners
    assert corners.best * math.cos(math.pi / 8) == pytest.approx(flats.best, rel=1e-9)


def test_what_is_only_gathered_has_no_folds() -> None:
    bundle = folding.gathered(1e-3, 0.098, 0.4, 0.92)
    assert (bundle.lengthwise, bundle.parts, bundle.round) == (0, 1, True)


def test_edges_cross_only_between_their_ends() -> None:
    rising = ((0.0, 0.0), (4.0, 4.0))
    assert folding._crossings([rising, ((2.0, 0.0), (4.0, -2.0))]) == set()  # their lines cross where the second has not begun
    assert folding._crossings([rising, ((0.5, 3.0), (3.0, 0.5))]) == {1.75}


def test_cloth_beside_cloth_is_not_on_it_for_a_hair() -> None:
    def strip(left: float, right: float) -> folding.Facet:
        return folding.Facet(((left, 0.0), (right, 0.0), (right, 1.0), (left, 1.0)), 1)

    assert folding.thickest(folding.Sheet((strip(0, 1), strip(1 - 1e-9, 2)), ())) == 1
    assert folding.thickest(folding.Sheet((strip(0, 1), strip(0.9, 2)), ())) == 2


def test_nothing_to_the_power_of_nothing_is_one() -> None:
    assert elementary.power(0.0, 0.0) == 1.0
    assert elementary.power(0.0, 2.0) == 0.0


@pytest.mark.parametrize("height", [-499.0, -251.0, 19_501.0, 19_751.0, 19_999.0])
def test_the_quick_air_is_the_air_up_to_both_edges(height: float) -> None:
    assert STANDARD.quick(0.0)(height) == pytest.approx(STANDARD.density(height), rel=1e-6)


def test_corner_to_corner_is_wider_than_flat_to_flat_for_a_polygon_only() -> None:
    across = {"main__canopy__across": ACROSS_CORNERS, "main__canopy__size": "2.4 m"}
    assert worked(**across).canopies[MAIN].size == pytest.approx(2.4 * math.cos(math.pi / 8), rel=1e-12)
    assert worked(**across, main__canopy__family="flat circular").canopies[MAIN].size == pytest.approx(2.4, rel=1e-12)


def test_a_test_of_the_starting_rig_does_not_load_another_bay() -> None:
    assert worked().joints[MAIN].charge.stated == pytest.approx(0.0013, abs=0.001)
    assert worked(main__bay__depth="640 mm").joints[MAIN].charge.stated is None
    assert worked(flight__way=ONE_CANOPY).joints[MAIN].charge.stated is None
    assert worked(main__bay__depth="640 mm", main__charge__tested="1.5 g").joints[MAIN].charge.stated == pytest.approx(0.0015)


def test_what_fits_as_it_lies_is_not_folded() -> None:
    bundle = folding.bundle((0.3, 0.05, 4), 4e-5, 0.2, 1.0, 0.9)
    assert bundle.fits
    assert (bundle.lengthwise, bundle.parts, bundle.length) == (0, 1, 0.3)


def test_a_strip_that_fits_once_it_is_narrow_is_not_shortened() -> None:
    bundle = folding.bundle((0.3, 0.2, 4), 6e-4, 0.12, 0.31, 0.9, halving=True)
    assert bundle.fits
    assert (bundle.lengthwise > 0, bundle.parts) == (True, 1)
