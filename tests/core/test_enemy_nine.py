"""What a logbook offers, a part that is fitted and what is due, attacked: each test says what should be, and fails as it is."""

import csv
import io
from dataclasses import replace
from datetime import date
from typing import cast

import pytest

from loftbook.errors import Refusal
from loftbook.faces import logbook
from loftbook.faces.beside import columns_of, verdict_row
from loftbook.log.book import Book
from loftbook.log.due import due
from loftbook.log.entries import STRUCK, Entry, checked, line, read_book, read_line, to_csv
from loftbook.log.kinds import ASIDE, MENDED, SOUND
from loftbook.log.shelf import shelf
from loftbook.mending import Search
from loftbook.plan import plan
from loftbook.rig.bay_fields import SHUT, THROWN
from loftbook.rig.parsing import parse
from loftbook.rig.ways import NO_DROGUE, TWO_BAYS
from loftbook.worked.learned import drags_learned, fit, ground_tests, planned, pulls, wind_taken
from loftbook.worked.worked import Worked

Texts = dict[str, str]
RIG: Texts = {"rig.name": "Stint", "flight.way": TWO_BAYS, "rocket.mass": "6 kg", "main.bay.depth": "600 mm"}
DAY = "2026-05-03"


def entry(kind: str, day: str, about: str = "", fields: Texts | None = None, made: str = "", replaces: str = "", **said: str) -> Entry:
    fields = RIG if fields is None else fields
    return checked(Entry(made or f"{day}T10:00:00.000Z", kind, day, "Stint", about, {f"{kind}.{name}": text for name, text in said.items()}, fields=fields, replaces=replaces))


def ground(day: str, result: str = THROWN, fields: Texts | None = None, about: str = "main", **more: str) -> Entry:
    mass, pins = ("1.3 g", "3") if about == "main" else ("0.65 g", "2")
    return entry("test", day, about, fields, mass=mass, pins=pins, result=result, **more)


GOOD = [ground("2026-05-01"), ground("2026-05-02")]


def taken(rig: Texts, entries: list[Entry], bay: str = "main") -> Texts:
    """What is offered of a bay's ground tests."""
    found = [one for one in ground_tests(Worked(parse(rig)), Book(tuple(entries))) if one.key == bay]
    return found[0].texts if found else {}


def gate(rig: Texts, bay: str = "main") -> str:
    return next(check.verdict for check in plan(rig).checks if check.name == "ground-test" and check.bay == bay)


def after(rig: Texts, entries: list[Entry], bay: str = "main") -> str:
    """How the gate stands once all that is offered is taken."""
    assert gate(rig, bay) == "fail"
    return gate(rig | taken(rig, entries, bay), bay)


def edited(one: Entry, **cells: str) -> Entry:
    """One as it comes back from a spreadsheet."""
    (row,) = csv.DictReader(io.StringIO(to_csv([one]), newline=""))
    out = io.StringIO()
    table = csv.DictWriter(out, row)
    table.writeheader()
    table.writerow(row | cells)
    return read_book(out.getvalue())[0]


# --- ground tests of what is no longer so ---------------------------------------------------------------


def test_as_it_was_tested_it_is_offered() -> None:
    assert after(RIG, GOOD) == "pass"  # so that the others fail for their own reason


@pytest.mark.parametrize(
    "change",
    [
        {"main.canopy.size": "1.4 m"},
        {"main.canopy.size": "1.9 m", "main.canopy.mass": "300 g"},
        {"main.pack.protector_depth": "100 mm"},
        {"main.charge.kind": "another gas"},
        {"main.joint.friction": "150 N"},
        {"main.joint.friction": "100 N", "rocket.mass": "9 kg", "nose.mass": "2 kg"},
        {"main.cord.material": "tubular nylon webbing 1 in (MIL-W-5625)", "main.cord.width": "25 mm", "main.cord.thickness": "4 mm", "main.cord.length": "12 m"},
        {"flight.way": "main held shut until low, from one bay"},
    ],
    ids=lambda change: " ".join(change),
)
def test_a_test_of_another_packing_joint_or_gas_is_not_offered(change: Texts) -> None:
    assert after(RIG | change, GOOD) == "fail"


def test_a_test_of_an_empty_first_bay_is_none_of_the_same_bay_with_a_drogue_in_it() -> None:
    tests = [ground(f"2026-05-0{day}", fields=RIG | {"flight.way": NO_DROGUE}, about="drogue") for day in (1, 2)]
    rig = RIG | {"drogue.canopy.size": "900 mm", "drogue.lines.length": "900 mm"}
    assert after(rig, tests, "drogue") == "fail"


def test_a_test_before_a_mend_of_the_joint_is_not_offered() -> None:
    assert after(RIG, [*GOOD, entry("repair", "2026-06-01", of="joint", note="a new coupler")]) == "fail"


def test_a_pull_before_a_mend_of_the_joint_holds_nothing() -> None:
    rig = RIG | {"rig.start": "one bay, 54 mm", "flight.way": "one canopy at the top", "main.joint.pins": "0", "main.charge.kind": "the motor's own charge", "main.joint.friction": "4 N"}
    del rig["rocket.mass"], rig["main.bay.depth"]
    book = [entry("pull", "2026-05-01", "main", rig, force="60 N"), entry("repair", "2026-06-01", fields=rig, of="joint", note="sanded, loose now")]
    offered = [one.texts for one in pulls(Worked(parse(rig)), Book(tuple(book)))]
    assert not any(offered)


def test_what_a_mend_sets_to_none_the_book_does_not_offer_again() -> None:
    small = RIG | {"main.canopy.size": "1.2 m", "main.lines.length": "1.2 m"}
    tests = [ground(f"2026-05-0{day}", fields=small) for day in (1, 2)]
    rig = small | taken(small, tests)
    search = Search(rig, ("main", "touchdown-rate"))
    search.go(200)
    mended = rig | dict(search.ranked[0].texts)
    assert mended["main.charge.repeats"] == "0"
    assert after(mended, tests) == "fail"


@pytest.mark.parametrize(("pulled", "verdict"), [("20 N", "pass"), ("300 N", "fail")])
def test_a_pull_that_was_measured_since_ends_a_test_only_where_the_joint_is_tighter_than_was_thought(pulled: str, verdict: str) -> None:
    rig = RIG | {"main.joint.friction": "30 N"}
    tests = [ground(one.day, fields=rig) for one in GOOD]
    paths = ("main.joint.friction", "main.joint.friction_most")
    since = rig | dict.fromkeys(paths, pulled) | {"rig.measured": " ".join(paths)}
    assert after(since, tests) == verdict


def test_a_bundle_that_was_measured_since_is_the_one_that_was_tested() -> None:
    assert after(RIG | {"main.pack.density": "0.21 g/cm3", "rig.measured": "main.pack.density"}, GOOD) == "pass"
    assert after(RIG | {"main.pack.density": "0.21 g/cm3"}, GOOD) == "fail"


# --- which test was the last ------------------------------------------------------------------------------


def test_a_failed_test_counts_however_the_depth_is_typed() -> None:
    assert after(RIG, [*GOOD, ground("2026-06-01", SHUT, RIG | {"main.bay.depth": "60 cm"})]) == "fail"


def test_a_failed_test_in_a_smaller_bay_is_not_passed_over() -> None:
    assert after(RIG, [*GOOD, ground("2026-06-01", SHUT, RIG | {"main.bay.depth": "550 mm"})]) == "fail"


def test_a_failed_test_that_does_not_say_its_rig_s_fields_counts() -> None:
    rig = RIG | {"main.bay.depth": "620 mm"}
    assert after(rig, [*(replace(one, fields=rig) for one in GOOD), replace(ground("2026-06-01", SHUT), fields={})]) == "fail"


def test_a_good_test_that_does_not_say_its_rig_s_fields_is_not_offered() -> None:
    assert after(RIG, [replace(one, fields={}) for one in GOOD]) == "fail"


def test_a_correction_stands_where_the_first_stood() -> None:
    first = [ground(DAY, made=f"{DAY}T08:00:00.000Z"), ground(DAY, made=f"{DAY}T09:00:00.000Z")]
    failed = ground(DAY, SHUT, made=f"{DAY}T12:00:00.000Z")
    again = [ground(DAY, made=f"{DAY}T18:0{at}:00.000Z", replaces=one.name, note="blue wadding") for at, one in enumerate(first)]
    assert after(RIG, [*first, failed, *again]) == "fail"


def test_one_test_corrected_twice_is_one_test() -> None:
    first = ground(DAY)
    assert taken(RIG, [first, edited(first, **{"test.note": "windy"}), edited(first, **{"test.note": "windy, 12 °C"})])["main.charge.repeats"] == "1"


def test_a_test_of_a_day_that_is_still_to_come_does_not_hide_one_that_failed() -> None:
    ahead = [ground(f"2062-05-0{day}", made=f"2026-05-0{day}T10:00:00.000Z") for day in (1, 2)]
    assert after(RIG, [*ahead, ground("2026-06-01", SHUT)]) == "fail"


def test_a_correction_is_of_the_rig_that_was_tested() -> None:
    now = RIG | {"main.bay.depth": "900 mm"}
    told = {"kind": "test", "about": "main", "made": "2026-07-01T10:00:00.000Z"}
    again = [logbook.entry_of(Worked(parse(now)), now, told | {"day": one.day, "first": line(one), "said": dict(one.said) | {"test.note": "a word"}}) for one in GOOD]
    assert after(now, [*GOOD, *again]) == "fail"


def test_two_rockets_that_nobody_named_are_two() -> None:
    mine = {"rig.start": "two bays, 98 mm", "rocket.mass": "6 kg"}
    name = parse(mine).text("rig.name")
    tests = [replace(one, rig=name, fields=mine) for one in GOOD]
    assert after({"rig.start": "two bays, 98 mm", "rocket.mass": "8 kg", "nose.mass": "1.5 kg"}, tests) == "fail"


# --- drag and wind ----------------------------------------------------------------------------------------


def test_drag_that_was_measured_with_a_drogue_beside_it_is_not_the_canopy_s_alone() -> None:
    two = RIG | {"main.canopy.name": "orange", "main.canopy.size": "2 m", "main.lines.length": "2 m", "drogue.canopy.size": "1 m", "drogue.lines.length": "1 m"}
    worked = Worked(parse(two))
    alone = worked.canopies["main"].usual_drag.low
    both = alone + worked.canopies["drogue"].drag_area.low
    flights = [replace(entry("flight", f"2026-05-0{day}", fields=two, went="as planned"), found={"main": (0.98 * both, (1 + day / 1000) * both, 1.02 * both)}, planned=planned(worked)) for day in range(1, 6)]
    one = {"rig.name": "Solo", "flight.way": "one canopy at the top", "rocket.mass": "6 kg", "main.canopy.name": "orange", "main.canopy.size": "2 m", "main.lines.length": "2 m"}
    assert not drags_learned(Worked(parse(one)), Book(tuple(flights)))
    assert drags_learned(worked, Book(tuple(flights)))["main"].taken.fields, "of the rig that it flew in it counts"


def test_drag_of_long_lines_is_not_of_short_ones() -> None:
    worked = Worked(parse(RIG))
    area = worked.canopies["main"].drag_area.best
    flights = [replace(entry("flight", "2026-05-01", went="as planned"), found={"main": (0.98 * area, area, 1.02 * area)}, planned=planned(worked))]
    assert not drags_learned(Worked(parse(RIG | {"main.lines.length": "800 mm"})), Book(tuple(flights)))


def test_a_row_corrected_in_a_spreadsheet_finds_what_it_says() -> None:
    told = {"kind": "drop", "day": DAY, "made": f"{DAY}T10:00:00.000Z", "about": "main", "said": {"drop.high": "100 m", "drop.seconds": "21 s", "drop.begun": "it sank steadily already", "drop.sure": "3 %"}}
    first = logbook.entry_of(Worked(parse(RIG)), RIG, told)
    second = edited(first, **{"drop.seconds": "15 s"})
    assert not second.found
    (back,) = cast(list[dict[str, str]], logbook.brought({"text": to_csv([second])})["entries"])
    second = read_line(back["line"])
    right = logbook.entry_of(Worked(parse(RIG)), RIG, told | {"said": dict(second.said)})
    assert second.found["main"] == pytest.approx(right.found["main"])


def test_a_short_walk_does_not_take_the_wind_away_that_was_measured() -> None:
    rig = RIG | {"flight.apogee": "1500 m", "flight.wind": "8 m/s"}
    flight = replace(entry("flight", DAY, fields=rig, went="as planned", apogee="500 m", walk="60 m", toward="east", wind="8 m/s"), planned=planned(Worked(parse(rig))))
    blown = wind_taken(flight)
    assert not blown or parse(rig | blown).number("flight.wind") >= 8


@pytest.mark.parametrize("found", [(0.0, 0.0, 0.0), (-1.0, 1.0, 2.0), (3.0, 2.0, 1.0)])
def test_drag_that_is_none_is_refused_and_takes_nobody_s_book_away(found: tuple[float, ...]) -> None:
    flight = replace(entry("flight", DAY, went="as planned"), found={"main": found}, planned=planned(Worked(parse(RIG))))
    logbook.known(Worked(parse(RIG)), Book((flight,)))
    assert not drags_learned(Worked(parse(RIG)), Book((flight,)))


# --- a part that is fitted ----------------------------------------------------------------------------------


def kept(fields: Texts, what: str, name: str, into: Texts = RIG) -> Texts:
    (one,) = [one for one in shelf([Entry(f"{DAY}T10:00:00.000Z", "kept", DAY, fields["rig.name"], fields=fields)]) if (one.what, one.name) == (what, name)]
    return fit(Worked(parse(into | taken(into, GOOD))), one, "main")


def test_a_canopy_that_is_fitted_ends_the_ground_tests_of_its_bay() -> None:
    other = {"rig.name": "Knot", "main.canopy.name": "blue", "main.canopy.size": "1.6 m", "main.lines.length": "1.6 m"}
    rig = RIG | taken(RIG, GOOD)
    assert gate(rig) == "pass"
    assert gate(rig | kept(other, "canopy", "blue")) == "fail"


def test_a_cord_that_is_fitted_ends_the_ground_tests_of_its_bay() -> None:
    other = {"rig.name": "Knot", "main.cord.name": "long", "main.cord.length": "14 m", "main.cord.width": "25 mm", "main.cord.thickness": "4 mm"}
    assert gate(RIG | taken(RIG, GOOD) | kept(other, "cord", "long")) == "fail"


def test_a_heavier_canopy_makes_no_landing_softer() -> None:
    rig = RIG | {"rocket.mass": "8 kg"}
    other = {"rig.name": "Knot", "main.canopy.name": "heavy", "main.canopy.mass": "3.5 kg"}  # the same size
    before, now = (Worked(parse(one)).descent.hardest.energy.high for one in (rig, rig | kept(other, "canopy", "heavy", rig)))
    assert now >= 0.99 * before


# --- what is due --------------------------------------------------------------------------------------------


def owed(rig: Texts, book: list[Entry]) -> tuple[str, ...]:
    return tuple(one.cause for one in due(parse(rig), book, date(2026, 5, 25)) if one.anchor == "due-ground-test-main")


@pytest.mark.parametrize("change", [{"main.bay.depth": "900 mm"}, {"main.joint.pin": "M3 × 0.5"}, {"main.canopy.size": "1.4 m"}, {"main.charge.kind": "another gas"}, {"main.charge.tested": "0.4 g"}], ids=str)
def test_a_ground_test_of_another_joint_or_charge_is_due_anew(change: Texts) -> None:
    rig = RIG | {"main.charge.tested": "1.3 g"}
    assert not owed(rig, GOOD)
    assert owed(rig | change, GOOD)


def test_a_failed_test_with_what_is_loaded_grounds_it_however_much_was_tested_before() -> None:
    rig = RIG | {"main.charge.tested": "0.6 g"}
    failed = entry("test", "2026-05-10", "main", mass="0.8 g", pins="3", result=SHUT)
    assert owed(rig, [*GOOD, failed]) == ("failed",)


def test_a_joint_that_was_mended_by_what_looked_it_over_is_tested_anew() -> None:
    assert owed(RIG, [*GOOD, entry("inspection", "2026-05-10", of="joint", result=MENDED)])


def test_who_strikes_a_correction_strikes_what_it_corrected() -> None:
    """Else a good test that was corrected to a failed one comes back as a good one, when its reader strikes it as another rocket's."""
    wrong = [ground(one.day, SHUT, made=f"{one.day}T12:00:00.000Z", replaces=one.name) for one in GOOD]
    struck = [entry(STRUCK, "2026-05-12", replaces=one.name) for one in wrong]
    assert not taken(RIG, [*GOOD, *wrong, *struck])


def test_one_canopy_s_mend_does_not_let_two_fly_that_were_put_aside() -> None:
    book = [entry("inspection", f"2026-05-1{at}", about=which, of="canopy", result=ASIDE) for at, which in enumerate(("drogue", "main"))]
    book += [entry("repair", "2026-05-12", "drogue", of="canopy", note="a patch"), entry("inspection", "2026-05-13", "drogue", of="canopy", result=SOUND)]
    assert [one.key for one in due(parse(RIG), book, date(2026, 5, 25)) if one.grounds]


# --- beside each other, and drag that is said ---------------------------------------------------------------


def test_a_rig_is_not_better_because_a_check_no_longer_applies() -> None:
    one = {"rig.name": "S", "rig.start": "one bay, 54 mm", "flight.way": "one canopy at the top", "main.charge.kind": "own black powder", "main.charge.repeats": "0", "main.joint.pins": "0", "main.joint.friction": "30 N", "electronics.units": "1"}
    columns = columns_of([("A", one), ("B", one | {"main.charge.kind": "the motor's own charge"})])
    assert verdict_row(columns).cells[1].versus != "better"


def test_drag_that_no_family_has_is_not_believed_of_an_area_of_one_s_own() -> None:
    rig = RIG | {"rocket.mass": "14 kg", "main.canopy.family": "measured by me", "main.canopy.area": "3.3 m²", "main.canopy.cd_low": "2.4", "main.canopy.cd_high": "2.5"}
    assert any(check.name == "measured-drag" and check.verdict == "fail" for check in plan(rig).checks)


def test_of_several_canopies_an_entry_says_which_was_looked_over() -> None:
    told = {"kind": "inspection", "day": DAY, "made": f"{DAY}T10:00:00.000Z", "said": {"inspection.of": "canopy", "inspection.result": SOUND}}
    with pytest.raises(Refusal, match=r"^Of which bay or canopy: say which\. Allowed: the whole rocket, every one of them, drogue, main\.$"):
        logbook.entry_of(Worked(parse(RIG)), RIG, told | {"about": "?"})
    for about in ("", "drogue", "main"):
        assert logbook.entry_of(Worked(parse(RIG)), RIG, told | {"about": about}).about == about
