"""What a logbook knows of a rig: only what is of this very canopy and joint, the worse end of each range, the last ground test."""

from collections.abc import Iterable
from dataclasses import replace

import pytest

from loftbook.errors import Refusal
from loftbook.faces import logbook
from loftbook.log.book import Book
from loftbook.log.entries import Entry, line, read_line
from loftbook.log.kinds import KINDS
from loftbook.plan import plan
from loftbook.rig.bay_fields import PARTED, SHUT, THROWN
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import parse
from loftbook.worked import learned as of_book
from loftbook.worked.learned import beside, density, planned, running, wind_taken, wind_that_carried
from loftbook.worked.worked import Worked

RIG = {"rig.name": "Stint", "main.joint.friction": "30 N", "main.canopy.size": "1.4 m"}
WORKED = Worked(parse(RIG))


def densities(worked: Worked, entries: Iterable[Entry]) -> list[of_book.Learned]:
    return of_book.densities(worked, Book(tuple(entries)))


def pulls(worked: Worked, entries: Iterable[Entry]) -> list[of_book.Learned]:
    return of_book.pulls(worked, Book(tuple(entries)))


def ground_tests(worked: Worked, entries: Iterable[Entry]) -> list[of_book.Learned]:
    return of_book.ground_tests(worked, Book(tuple(entries)))


def learned(worked: Worked, entries: Iterable[Entry]) -> list[of_book.Learned]:
    return of_book.learned(worked, Book(tuple(entries)))


def sunk(worked: Worked, entries: Iterable[Entry]) -> dict[str, of_book.DragLearned]:
    return of_book.drags_learned(worked, Book(tuple(entries)))


def entry(kind: str, day: int = 1, about: str = "main", fields: dict[str, str] | None = None, **said: str) -> Entry:
    return Entry(f"2026-05-{day:02}T10:00:00.000Z", kind, f"2026-05-{day:02}", (fields or RIG)["rig.name"], about, {f"{kind}.{name}": text for name, text in said.items()}, fields=fields or RIG)


def bundle(mass: str, day: int = 1, **more: object) -> Entry:
    return replace(entry("bundle", day, mass=mass, width="50 mm", thickness="20 mm", length="250 mm"), **more)  # type: ignore[arg-type]


def ground(mass: str, day: int, result: str = THROWN, pins: str = "3") -> Entry:
    return entry("test", day, mass=mass, pins=pins, result=result)


def test_density_is_mass_over_the_slabs_or_the_rolls_volume() -> None:
    assert density(bundle("50 g")) == pytest.approx(0.05 / (0.05 * 0.02 * 0.25))
    round_one = entry("bundle", mass="50 g", width="50 mm", length="250 mm")
    assert density(round_one) == pytest.approx(0.05 / (3.14159265 * 0.025**2 * 0.25))


def test_of_several_bundles_both_ends_are_taken_each_rounded_outward() -> None:
    (one,) = densities(WORKED, [bundle("51.3 g", 3), bundle("44.4 g", 2)])
    assert one.texts["main.pack.density"] == "0.177 g/cm³"  # 0.1776
    assert one.texts["main.pack.density_most"] == "0.206 g/cm³"  # 0.2052
    assert one.texts["main.pack.density_from"] == "2 bundles, last 2026-05-03"
    assert one.texts["rig.measured"] == "main.pack.density main.pack.density_most"
    taken = Worked(parse(RIG | one.texts))
    laid = taken.folded("main").laid
    assert (laid.density.low, laid.density.high) == (pytest.approx(177), pytest.approx(206))
    assert laid.volume() == pytest.approx(taken.canopies["main"].cloth_mass / 177)  # room for the loosest


def test_the_densest_bundle_is_judged_whether_it_slides_out() -> None:
    loose, dense = {"main.pack.density": "0.2 g/cm3"}, {"main.pack.density": "0.2 g/cm3", "main.pack.density_most": "0.4 g/cm3"}
    verdicts = [next(one.verdict for one in plan(RIG | texts).checks if one.name == "pack-density" and one.bay == "main") for texts in (loose, dense)]
    assert verdicts == ["pass", "fail"]


def test_the_least_pull_holds_and_the_hardest_must_be_parted() -> None:
    (one,) = pulls(WORKED, [entry("pull", 1, force="41.23 N"), entry("pull", 2, force="60 N")])
    assert (one.texts["main.joint.friction"], one.texts["main.joint.friction_most"]) == ("41.2 N", "60 N")
    least, range_, most = (Worked(parse(RIG | texts)).joints["main"] for texts in ({"main.joint.friction": "41.2 N"}, one.texts, {"main.joint.friction": "60 N"}))
    assert range_.holds == least.holds < most.holds
    assert range_.resists == most.resists > least.resists
    assert range_.needed_pressure == most.needed_pressure
    assert range_.throwing_pressure == most.throwing_pressure
    assert range_.lost == most.lost


@pytest.mark.parametrize("path", ["canopy.size", "canopy.cloth", "canopy.family", "canopy.sides", "canopy.across"])
def test_what_was_measured_of_a_canopy_is_not_said_of_another_in_its_place(path: str) -> None:
    field = FIELDS[f"main.{path}"]
    other = RIG | {field.path: "2 m" if path == "canopy.size" else "10" if path == "canopy.sides" else next(one for one in field.choices if one != field.default)}
    (one,) = densities(Worked(parse(other)), [bundle("50 g")])
    assert not one.entries
    assert not one.texts
    assert one.other == 1


def test_another_rigs_entries_say_nothing_of_this_one() -> None:
    assert not densities(Worked(parse(RIG | {"rig.name": "Sanderling"})), [bundle("50 g")])
    assert not learned(Worked(parse(RIG | {"rig.name": "Sanderling"})), [ground("1 g", 1), entry("pull", force="3 N")])


def test_of_ground_tests_those_count_that_did_what_the_last_did() -> None:
    row = [ground("1.3 g", 5), ground("1.3 g", 4), ground("1.2 g", 3), ground("1.3 g", 2)]
    assert running(row) == tuple(row[:2])
    (one,) = ground_tests(WORKED, row)
    said = {path.removeprefix("main.charge."): text for path, text in one.texts.items()}
    assert (said["tested"], said["repeats"], said["test_date"], said["test_pins"], said["test_result"]) == ("1.3 g", "2", "2026-05-05", "3", THROWN)


@pytest.mark.parametrize("result", [PARTED, SHUT])
def test_a_test_that_failed_takes_back_what_earlier_ones_allowed(result: str) -> None:
    (one,) = ground_tests(WORKED, [ground("1.3 g", 5, result), ground("1.3 g", 4), ground("1.3 g", 3)])
    assert (one.texts["main.charge.tested"], one.texts["main.charge.repeats"], one.texts["main.charge.test_result"]) == ("", "0", result)
    whole = plan(RIG | {"main.charge.tested": "1.3 g", "main.charge.repeats": "2"} | one.texts)
    assert next(check.verdict for check in whole.checks if check.name == "ground-test" and check.bay == "main") == "fail"


def test_a_test_with_other_pins_or_of_another_bay_begins_anew() -> None:
    assert len(running([ground("1.3 g", 5, pins="4"), ground("1.3 g", 4)])) == 1
    (one,) = ground_tests(Worked(parse(RIG | {"main.bay.depth": "700 mm"})), [ground("1.3 g", 5)])
    assert not one.texts
    assert one.other == 1


def test_a_walk_tells_the_wind_that_carried_it() -> None:
    flight = replace(entry("flight", about="", went="as planned", walk="300 m"), planned={"drift": (400.0, 500.0, 600.0), "wind": (5.0,)})
    wind = wind_that_carried(flight)
    assert wind
    assert (wind.low, wind.best, wind.high) == pytest.approx((2.5, 3.0, 3.75))
    assert wind_taken(flight) == {}  # it does not say which way
    blown = wind_taken(replace(flight, said=flight.said | {"flight.toward": "north-east"}))
    assert blown == {"flight.wind": "3.75 m/s", "flight.wind_from": "south-west", "rig.measured": "flight.wind flight.wind_from"}
    parse(blown)
    assert wind_that_carried(replace(flight, planned={"drift": (1.0, 2.0, 3.0), "wind": (5.0,)})) is None
    again = Worked(parse(RIG | {"flight.wind": f"{wind.best} m/s"})).descent.main.drift
    first = Worked(parse(RIG | {"flight.wind": "5 m/s"})).descent.main.drift
    assert again.best / first.best == pytest.approx(0.6, rel=1e-9)  # drift goes as the wind


def test_planned_stands_beside_what_happened() -> None:
    told = planned(WORKED)
    rate = WORKED.canopies["main"].rate
    area = WORKED.canopies["main"].drag_area
    flight = replace(entry("flight", about="", went="as planned", apogee="100 m", rate=f"{rate.best} m/s"), planned=told, found={"main": (area.low / 9, area.best / 4, area.high / 4)})
    rows = {one.what: one for one in beside(flight)}
    assert rows["apogee"].outside == -1
    assert rows["rate"].outside == 0
    assert rows["main"].happened.best == pytest.approx(2 * rate.best)
    assert rows["main"].outside == 1
    assert rows["main"].happened.low <= rows["main"].happened.best <= rows["main"].happened.high


def test_flights_are_pooled_and_feed_the_plan_as_measured() -> None:
    area = WORKED.canopies["main"].area
    flights = [replace(entry("flight", day, about="", went="as planned"), found={"main": (0.7 * area, 0.75 * area, 0.8 * area)}) for day in (1, 2, 3)]
    one = sunk(WORKED, flights)["main"]
    assert len(one.entries) == 3
    assert one.taken.fields["rig.measured"]
    assert "last 2026-05-03" in one.taken.fields["main.canopy.cd_measured_from"]
    whole = Worked(parse(RIG | one.taken.fields))
    assert whole.canopies["main"].cd.low <= 0.75 <= whole.canopies["main"].cd.high
    assert not sunk(Worked(parse(RIG | {"main.canopy.size": "2 m"})), flights)


def test_every_kind_is_told_in_one_line_and_in_full() -> None:
    """With every field said, and with only those that must be."""
    texts = {"day": "2026-05-09", "made": "2026-05-09T10:00:00.000Z"}
    for kind in KINDS.values():
        for all_of_it in (True, False):
            said = {}
            for field in kind.fields:
                if field.optional and not all_of_it:
                    continue
                choice = next((one for one in field.choices if one), "")
                middle = {"picture.data": "data:image/png;base64,iVBORw0KGgo=", "drop.high": "60 m", "drop.low": "5 m", "drop.seconds": "11 s", "drop.sure": "5 %"}.get(field.path)
                said[field.path] = middle or choice or (f"{(field.low + field.high) / 2:g} {field.kind.si}".replace("^", "") if field.kind and field.kind.si else "3" if field.kind else "a <b>word</b>")
            about = "" if kind.each == "rig" else "main"
            one = logbook.entry_of(WORKED, RIG, texts | {"kind": kind.name, "about": about, "said": said})
            kept = logbook.record(one)
            assert read_line(kept["line"]) == one
            assert kept["told"]
            html = "".join(map(str, logbook.details(one)))
            assert "<b>word" not in html
            assert not kind.fields or "dl" in html


def test_an_entry_about_a_bay_that_the_rig_has_not_is_refused_with_every_other_fault() -> None:
    one_bay = Worked(parse({"rig.start": "one bay, 54 mm"}))
    with pytest.raises(Refusal) as told:
        logbook.entry_of(one_bay, {}, {"kind": "pull", "day": "x", "made": "2026-05-09T10:00:00.000Z", "about": "forward", "said": {"pull.force": "3"}})
    assert {fault.field for fault in told.value.faults} == {"about", "day", "pull.force"}


def test_what_a_page_found_must_be_numbers() -> None:
    for found in ([], {"main": "x"}, {"main": [True]}, {"main": [None]}, {"main": []}):
        with pytest.raises(Refusal):
            logbook.entry_of(WORKED, RIG, {"kind": "flight", "day": "2026-05-09", "made": "2026-05-09T10:00:00.000Z", "said": {"flight.went": "as planned"}, "found": found})


def test_lines_of_a_request_are_read_as_strictly_as_a_file() -> None:
    hurt = line(bundle("50 g")).replace("50 g", "51 g")
    for lines in ([hurt], [1], "x", [""]):
        with pytest.raises(Refusal):
            logbook.told({"lines": lines})
