"""What is due by a logbook: nothing is cleared by what cannot have cleared it, nothing counts for gear that surely was elsewhere.

Entries are made as the page makes them; the words are read from the answers.
"""

import itertools
import json
import random
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from loftbook.errors import Refusal
from loftbook.faces import dues, handout
from loftbook.faces.command import main
from loftbook.faces.live import answer
from loftbook.faces.render import html
from loftbook.log.due import GROUND_TEST, UNDER_LOAD, Due, due
from loftbook.log.entries import STRUCK, Entry, checked, line
from loftbook.log.kinds import ASIDE, DAMAGED, MENDED, OTHERWISE, PARTS, SOUND
from loftbook.plan import plan
from loftbook.rig.bay_fields import PARTED, SHUT, THROWN
from loftbook.rig.files import to_toml
from loftbook.rig.parsing import parse
from loftbook.rig.ways import HELD, NO_DROGUE, ONE_BAY, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS
from loftbook.tables import EVENTS, INSPECTIONS

ONE = {"rig.name": "Curlew", "rig.start": "one bay, 54 mm", "flight.way": ONE_CANOPY}
TWO = {"rig.name": "Curlew", "flight.way": TWO_BAYS}
ALL = {"rig.name": "Curlew", "flight.way": HELD}  # with a release device
TODAY = date(2026, 5, 25)  # within the thirty days that batteries have
_clock = itertools.count()


def at(day: str, kind: str, said: dict[str, str] | None = None, rig: dict[str, str] | None = None, **more: str) -> Entry:
    """An entry of that day, written on it and after every one that was made before."""
    fields = ONE if rig is None else rig
    count = next(_clock)
    when = f"{day}T{10 + count // 60_000:02}:{count // 1000 % 60:02}:00.{count % 1000:03}Z"
    return checked(Entry(**({"made": when, "kind": kind, "day": day, "rig": fields["rig.name"], "said": said or {}, "fields": fields} | more)))  # type: ignore[arg-type]


def flight(day: str, went: str = "as planned", **more: object) -> Entry:
    return at(day, "flight", {"flight.went": went}, **more)  # type: ignore[arg-type]


def looked(day: str, part: str, result: str = SOUND, **more: object) -> Entry:
    return at(day, "inspection", {"inspection.of": part, "inspection.result": result}, **more)  # type: ignore[arg-type]


def mended(day: str, part: str, **more: object) -> Entry:
    return at(day, "repair", {"repair.of": part, "repair.note": "a new one"}, **more)  # type: ignore[arg-type]


def proved(day: str, result: str = THROWN, mass: str = "0.6 g", pins: str = "2", about: str = "main", **more: object) -> Entry:
    return at(day, "test", {"test.mass": mass, "test.pins": pins, "test.result": result}, about=about, **more)  # type: ignore[arg-type]


def all_sound(day: str, **more: object) -> list[Entry]:
    return [looked(day, part, **more) for part in PARTS]


def found(book: list[Entry], rig: dict[str, str] | None = None, today: date = TODAY) -> dict[str, Due]:
    """What is due, by its anchor, but for ground tests."""
    return {one.anchor: one for one in due(parse(ONE if rig is None else rig), book, today) if not one.anchor.startswith("due-ground-test")}


def owed(book: list[Entry], today: date = TODAY, **more: str) -> Due | None:
    """The same of the main's ground test, in a rig whose charge is fired by electronics with two pins."""
    rig = parse(ONE | {"main.charge.kind": "own black powder", "main.joint.pins": "2", "main.charge.tested": "0.6 g", "electronics.units": "1"} | more)
    return {one.anchor: one for one in due(rig, book, today)}.get("due-ground-test-main")


# --- what is there to be looked at -----------------------------------------------------------------------


def test_the_list_is_of_the_logbooks_parts_all_of_them() -> None:
    assert {row.part for row in INSPECTIONS.values()} == set(PARTS)
    assert {event for row in INSPECTIONS.values() for event in row.after} == set(EVENTS)


@pytest.mark.parametrize("way", WAYS)
def test_every_part_of_a_rig_is_asked_about_once(way: str) -> None:
    whole = due(parse({"rig.name": "Curlew", "flight.way": way}), [], TODAY)
    there = WAYS[way]
    assert len({one.anchor for one in whole}) == len(whole)
    keyed = {part: {one.key for one in whole if one.part == part and one.rows[0].name != GROUND_TEST} for part in PARTS}
    assert keyed["canopy"] == keyed["lines"] == set(there.canopies)
    assert keyed["cord"] == set(there.keys)
    assert bool(keyed.pop("release device")) is bool(there.held)
    assert all(keyed.values())
    assert {one.key for one in whole if one.rows[0].name == GROUND_TEST} == set(there.bays)


def test_a_rocket_without_electronics_has_none_to_look_at() -> None:
    motor = ONE | {"electronics.units": "0", "main.charge.kind": "the motor's own charge"}
    parts = {one.part for one in due(parse(motor), [], TODAY)}
    assert "electronics" not in parts
    assert "joint" in parts
    assert owed([], **{"main.charge.kind": "the motor's own charge"}) is None


@pytest.mark.parametrize("name", INSPECTIONS)
def test_every_row_comes_due_by_its_flights_and_by_its_days_and_not_before(name: str) -> None:
    row = INSPECTIONS[name]
    start = date(2026, 1, 1)

    def is_due(flown: int, days: int) -> bool:
        """Flights right behind the inspection, then so many days."""
        book = [*all_sound("2026-01-01", rig=ALL), *(flight("2026-01-01", rig=ALL) for _ in range(flown))]
        if name == GROUND_TEST:
            one = owed([proved("2026-01-01"), *(flight("2026-01-01") for _ in range(flown))], start + timedelta(days))
            return bool(one)
        return any(row in one.rows for one in found(book, ALL, start + timedelta(days)).values())

    assert not is_due(0, 0)
    first = min(other.days for other in INSPECTIONS.values() if other.part == row.part and (name == GROUND_TEST) == (other.name == GROUND_TEST))
    assert not is_due(0, first - 1)
    assert is_due(0, first), "with all of its part"
    assert is_due(0, row.days)
    if row.flights is None:
        assert not is_due(40, 0)
    else:
        assert is_due(row.flights, 0)
        assert not is_due(row.flights - 1, 0)


@pytest.mark.parametrize("name", [name for name, row in INSPECTIONS.items() if row.flights and row.flights > 1])
def test_what_is_due_after_several_flights_is_due_however_often_the_rest_is_looked_over(name: str) -> None:
    row, book = INSPECTIONS[name], []
    asked = []
    for count in range(2 * (row.flights or 0)):
        day = f"2026-04-{count + 1:02}"
        book.append(flight(day, rig=ALL))
        asked.append(any(row in one.rows for one in found([*all_sound("2026-03-01", rig=ALL), *book], ALL, date(2026, 4, 30)).values()))
        book += all_sound(day, rig=ALL)
    assert [count + 1 for count, wanted in enumerate(asked) if wanted] == [row.flights, 2 * (row.flights or 0)]


# --- nothing written is not all well -----------------------------------------------------------------------


def test_nothing_written_is_told_as_that() -> None:
    for one in found([]).values():
        assert one.cause == "never"
        assert "No inspection of it is in this logbook; no flights of it either." in one.told
    for one in found([flight("2026-05-09"), flight("2026-05-10")]).values():
        assert "No inspection of it is in this logbook; 2 flights." in one.told


def test_all_looked_over_after_the_last_flight_leaves_nothing_due() -> None:
    assert found([flight("2026-05-09"), *all_sound("2026-05-10")]) == {}


@pytest.mark.parametrize("part", PARTS)
def test_a_part_is_cleared_by_its_own_inspection_alone(part: str) -> None:
    book = [flight("2026-05-09"), looked("2026-05-10", part)]
    assert {one.part for one in found(book, ALL).values()} == {*PARTS} - {part}


def test_entries_say_when_and_how_many() -> None:
    book = [*all_sound("2026-05-01"), flight("2026-05-09"), flight("2026-05-10"), flight("2026-05-10")]
    assert found(book)["due-canopy-main"].told == "3 flights since it was looked over on 2026-05-01."
    assert found(all_sound("2025-05-01"))["due-cord-main"].told == "Looked over last on 2025-05-01, 389 days ago."


# --- the enemy's dates -----------------------------------------------------------------------------------------


def test_an_inspection_of_a_day_before_the_flight_clears_nothing_whenever_it_was_written() -> None:
    early = looked("2026-05-08", "canopy", made="2026-05-20T10:00:00.000Z")
    assert found([flight("2026-05-09"), early])["due-canopy-main"].cause == "flights"


def test_on_one_day_what_was_written_first_was_first() -> None:
    assert "due-canopy-main" not in found([flight("2026-05-09"), looked("2026-05-09", "canopy")])
    assert "due-canopy-main" in found([looked("2026-05-09", "canopy"), flight("2026-05-09")])
    same = "2026-05-09T10:00:00.000Z"
    assert "due-canopy-main" in found([flight("2026-05-09", made=same), looked("2026-05-09", "canopy", made=same)])


def test_an_inspection_corrected_in_the_evening_is_still_the_morning_s() -> None:
    morning = looked("2026-05-09", "canopy")
    fault = flight("2026-05-09", DAMAGED)
    again = replace(looked("2026-05-09", "canopy"), said=dict(morning.said) | {"inspection.note": "gore 3"}, replaces=morning.name)
    assert found([morning, fault, again])["due-canopy-main"].cause == "damaged"


def test_a_flight_corrected_after_the_inspection_is_still_the_flight_before_it() -> None:
    first = flight("2026-05-09")
    look = looked("2026-05-09", "canopy")
    again = replace(flight("2026-05-09"), said=dict(first.said) | {"flight.note": "412 m"}, replaces=first.name)
    assert "due-canopy-main" not in found([first, look, again])
    moved = replace(flight("2026-05-20"), replaces=first.name)
    assert "due-canopy-main" in found([first, look, moved]), "moved to a later day"


def test_what_is_still_to_come_clears_nothing_and_what_went_wrong_in_it_counts() -> None:
    ahead = looked("2026-07-01", "canopy")
    assert found([flight("2026-05-09"), ahead])["due-canopy-main"].cause == "never"
    assert found([*all_sound("2026-05-10"), flight("2027-05-09", DAMAGED)])["due-airframe"].cause == "damaged"
    assert found([*all_sound("2026-05-10"), looked("2027-01-01", "cord", ASIDE)])["due-cord-main"].grounds


def test_an_inspection_written_ahead_of_its_day_is_of_the_day_it_was_written() -> None:
    ahead = looked("2026-05-20", "canopy", made="2026-05-01T10:00:00.000Z")
    assert "due-canopy-main" in found([flight("2026-05-09"), ahead])
    assert "due-canopy-main" not in found([flight("2026-05-01"), looked("2026-05-02", "canopy", made="2026-05-01T23:00:00.000Z")]), "it is tomorrow somewhere"


def test_an_inspection_by_a_clock_that_runs_ahead_clears_nothing() -> None:
    assert "due-canopy-main" in found([looked("2026-05-09", "canopy", made="2031-05-09T10:00:00.000Z")])


def test_the_order_of_a_book_s_lines_says_nothing() -> None:
    book = [*all_sound("2026-05-01"), flight("2026-05-09", OTHERWISE), looked("2026-05-10", "cord"), mended("2026-05-11", "joint"), looked("2026-05-12", "lines", ASIDE)]
    wanted = found(book)
    for seed in range(5):
        mixed = book[:]
        random.Random(seed).shuffle(mixed)
        assert found(mixed) == wanted


def test_the_last_day_there_is_breaks_nothing() -> None:
    assert found([flight("9999-12-31"), looked("9999-12-31", "canopy", made="9999-12-31T10:00:00.000Z")], today=date.max) is not None
    assert found([flight("0001-01-01"), looked("0001-01-01", "canopy", made="0001-01-01T10:00:00.000Z")], today=date.min) is not None


# --- what was struck ------------------------------------------------------------------------------------------


def test_a_struck_flight_does_not_count_and_a_struck_inspection_clears_nothing() -> None:
    one, look = flight("2026-05-09"), looked("2026-05-10", "canopy")
    gone = [at("2026-05-11", STRUCK, replaces=each.name) for each in (one, look)]
    before = all_sound("2026-05-01")
    assert found([*before, one, gone[0]]) == {}
    assert found([*before, one, look, gone[1]])["due-canopy-main"].cause == "flights"


def test_a_struck_putting_aside_grounds_nothing() -> None:
    aside = looked("2026-05-10", "cord", ASIDE)
    struck = at("2026-05-11", STRUCK, replaces=aside.name)
    assert found([*all_sound("2026-05-01"), aside])["due-cord-main"].grounds
    assert found([*all_sound("2026-05-01"), aside, struck]) == {}


# --- what went wrong --------------------------------------------------------------------------------------------


def test_damage_makes_every_part_due_and_what_went_otherwise_what_it_pulled_at() -> None:
    sound = all_sound("2026-05-01", rig=ALL)
    for one in found([*sound, flight("2026-05-09", DAMAGED, rig=ALL)], ALL).values():
        assert one.cause == "damaged"
        assert one.rows == tuple(row for row in INSPECTIONS.values() if row.part == one.part and row.name != GROUND_TEST)
    assert {one.part for one in found([*sound, flight("2026-05-09", DAMAGED, rig=ALL)], ALL).values()} == set(PARTS)
    odd = found([*sound, flight("2026-05-09", OTHERWISE, rig=ALL)], ALL)
    assert {one.part for one in odd.values() if one.cause == "otherwise"} == set(UNDER_LOAD)


def test_damage_without_any_inspection_is_told_before_that_nothing_is_written() -> None:
    for one in found([flight("2026-05-09", DAMAGED)]).values():
        assert one.cause == "damaged"
        assert "2026-05-09" in one.told


def test_damage_stays_due_under_later_flights_that_went_well() -> None:
    book = [*all_sound("2026-05-01"), flight("2026-05-09", DAMAGED), *(flight(f"2026-05-{day}") for day in range(10, 14))]
    assert {one.cause for one in found(book).values()} == {"damaged"}


# --- put aside, mended ----------------------------------------------------------------------------------------


def test_what_is_put_aside_stays_there_until_it_is_mended_and_is_then_looked_over_anew() -> None:
    book = [*all_sound("2026-05-01"), looked("2026-05-10", "cord", ASIDE)]
    assert found(book)["due-cord-main"].grounds
    for later in (flight("2026-05-11"), looked("2026-05-12", "cord"), mended("2026-05-13", "canopy")):
        book.append(later)
        assert found(book)["due-cord-main"].grounds, later
    book.append(mended("2026-05-14", "cord"))
    one = found(book)["due-cord-main"]
    assert (one.grounds, one.cause) == (False, "mended")
    book.append(looked("2026-05-15", "cord"))
    assert "due-cord-main" not in found(book)


def test_mended_and_looked_over_in_one_entry_is_enough() -> None:
    assert "due-cord-main" not in found([*all_sound("2026-05-01"), looked("2026-05-10", "cord", ASIDE), looked("2026-05-11", "cord", MENDED)])


@pytest.mark.parametrize("part", PARTS)
def test_a_mend_is_looked_over_anew(part: str) -> None:
    book = [*all_sound("2026-05-01", rig=ALL), mended("2026-05-10", part, rig=ALL)]
    assert {one.part for one in found(book, ALL).values()} == {part}
    assert {one.cause for one in found(book, ALL).values()} == {"mended"}
    assert found([*book, looked("2026-05-11", part, rig=ALL)], ALL) == {}


def test_a_mend_that_is_still_to_come_lets_nothing_fly() -> None:
    aside = looked("2026-05-10", "cord", ASIDE)
    assert found([aside, mended("2026-12-01", "cord")])["due-cord-main"].grounds
    assert found([aside, mended("2026-05-20", "cord", made="2026-05-01T10:00:00.000Z")])["due-cord-main"].grounds, "written before it was put aside"


def test_what_grounds_it_is_told_first() -> None:
    whole = due(parse(ONE), [looked("2026-05-10", "protector", ASIDE)], TODAY)
    assert [one.grounds for one in whole] == [True, *[False] * (len(whole) - 1)]
    assert whole[0].part == "protector"


# --- whose it is --------------------------------------------------------------------------------------------


def test_another_rig_s_flights_inspections_and_faults_are_its_own() -> None:
    other = ONE | {"rig.name": "Stint"}
    sound = all_sound("2026-05-01")
    assert found([*sound, flight("2026-05-09", DAMAGED, rig=other), looked("2026-05-10", "cord", ASIDE, rig=other)]) == {}
    assert found([flight("2026-05-09"), *all_sound("2026-05-10", rig=other)])["due-canopy-main"].cause == "never"


def test_a_name_is_the_same_however_its_blanks_and_capitals_are_typed() -> None:
    assert found([*all_sound("2026-05-01"), flight("2026-05-09", rig=ONE | {"rig.name": " curlew "})])["due-joint"].cause == "flights"


def test_a_name_is_the_same_whichever_signs_a_machine_writes_a_letter_with() -> None:
    one, other = "M\u00f6we", "Mo\u0308we"
    assert one != other
    sound = all_sound("2026-05-01", rig=ONE | {"main.canopy.name": one})
    left = found([*sound, flight("2026-05-09", rig=TWO | {"rig.name": "Stint", "main.canopy.name": other})], ONE | {"main.canopy.name": one})
    assert left["due-canopy-main"].cause == "flights"


OURS = ONE | {"main.canopy.name": "No. 7", "main.cord.name": "red"}
THEIRS = TWO | {"rig.name": "Stint", "drogue.canopy.name": "no.  7", "main.cord.name": "RED"}


def test_a_named_canopy_and_cord_are_followed_into_another_rig() -> None:
    sound = all_sound("2026-05-01", rig=OURS)
    left = found([*sound, flight("2026-05-09", DAMAGED, rig=THEIRS)], OURS)
    assert {one.part for one in left.values()} == set(UNDER_LOAD)
    assert "“No. 7”" in left["due-canopy-main"].title
    assert "“red”" in left["due-cord-main"].title
    assert found([*sound, flight("2026-05-09", rig=THEIRS), *(looked("2026-05-10", part, rig=THEIRS) for part in UNDER_LOAD)], OURS) == {}
    assert found([*sound, looked("2026-05-09", "canopy", ASIDE, rig=THEIRS)], OURS)["due-canopy-main"].grounds
    assert found([*sound, mended("2026-05-09", "cord", rig=THEIRS)], OURS)["due-cord-main"].cause == "mended"


def test_a_canopy_that_did_not_fly_in_another_rig_s_way_down_was_neither_flown_nor_looked_at() -> None:
    bare = THEIRS | {"flight.way": ONE_CANOPY}  # its drogue stays at home
    sound = all_sound("2026-05-01", rig=OURS)
    assert "due-canopy-main" not in found([*sound, flight("2026-05-09", rig=bare)], OURS)
    assert "due-canopy-main" in found([*sound, flight("2026-05-09", rig=OURS), looked("2026-05-10", "canopy", rig=bare)], OURS)


def test_another_canopy_in_the_same_rig_is_another_canopy() -> None:
    other = OURS | {"main.canopy.name": "No. 8"}
    sound = all_sound("2026-05-01", rig=OURS)
    left = {one.part for one in found([*sound, flight("2026-05-09", rig=other)], OURS).values()}
    assert "canopy" not in left
    assert "lines" not in left
    assert "cord" in left
    assert found([flight("2026-05-09", rig=OURS), looked("2026-05-10", "canopy", rig=other)], OURS)["due-canopy-main"].cause == "never"
    assert "due-canopy-main" not in found([*sound, looked("2026-05-10", "canopy", ASIDE, rig=other)], OURS)


def test_where_it_is_not_known_which_canopy_it_was_a_flight_counts_and_an_inspection_does_not() -> None:
    """A canopy that is named later, or whose name was taken away."""
    for then, now in ((ONE, OURS), (OURS, ONE)):
        assert found([*all_sound("2026-05-01", rig=now), flight("2026-05-09", rig=then)], now)["due-canopy-main"].cause == "flights"
        assert found([flight("2026-05-09", rig=now), looked("2026-05-10", "canopy", rig=then)], now)["due-canopy-main"].cause == "never"
        assert found([*all_sound("2026-05-01", rig=now), looked("2026-05-10", "canopy", ASIDE, rig=then)], now)["due-canopy-main"].grounds


def test_a_canopy_moved_to_the_other_bay_takes_its_book_along() -> None:
    then, now = TWO | {"drogue.canopy.name": "small"}, ONE | {"main.canopy.name": "small"}
    assert "due-canopy-main" not in found([flight("2026-05-09", rig=then), looked("2026-05-10", "canopy", rig=then)], now)
    assert found([looked("2026-05-10", "canopy", rig=then), flight("2026-05-11", rig=then)], now)["due-canopy-main"].cause == "flights"


def test_what_is_said_of_one_canopy_is_not_said_of_the_other() -> None:
    book = [flight("2026-05-09", rig=TWO), looked("2026-05-10", "canopy", rig=TWO, about="main"), looked("2026-05-10", "joint", rig=TWO, about="main")]
    left = found(book, TWO)
    assert "due-canopy-main" not in left
    assert {"due-canopy-drogue", "due-joint"} <= set(left), "one joint of two"
    aside = found([*all_sound("2026-05-01", rig=TWO), looked("2026-05-10", "cord", ASIDE, rig=TWO, about="drogue")], TWO)
    assert [one.anchor for one in aside.values() if one.grounds] == ["due-cord-drogue"]


def test_an_entry_that_does_not_say_its_rig_s_fields_is_taken_by_the_rig_s_name() -> None:
    bare = [replace(one, fields={}) for one in (flight("2026-05-09"), *all_sound("2026-05-10"))]
    assert found(bare) == {}
    assert "due-canopy-main" in found(bare, OURS), "which canopy it was is not said"


def test_a_way_down_that_nobody_knows_counts_and_clears_nothing() -> None:
    odd = THEIRS | {"flight.way": "sideways"}
    book = [*all_sound("2026-05-01", rig=OURS), flight("2026-05-09", rig=odd)]
    assert found(book, OURS)["due-canopy-main"].cause == "flights"
    assert "due-canopy-main" in found([*book, looked("2026-05-10", "canopy", rig=odd)], OURS)


# --- ground tests -----------------------------------------------------------------------------------------------


def test_a_ground_test_is_due_until_one_threw_everything_clear() -> None:
    assert owed([]).cause == "untested"  # type: ignore[union-attr]
    assert owed([proved("2026-05-01")]) is None
    assert owed([proved("2026-05-01", rig=ONE | {"rig.name": "Stint"})]).cause == "untested"  # type: ignore[union-attr]
    assert owed([proved("2026-05-01", about="drogue")]).cause == "untested"  # type: ignore[union-attr]
    assert owed([proved("2026-07-01")]).cause == "untested", "still to come"  # type: ignore[union-attr]


@pytest.mark.parametrize("later", [mended("2026-05-02", "joint"), mended("2026-05-02", "electronics"), at("2026-05-02", "repack", about="main")])
def test_a_test_older_than_a_mend_or_a_repack_is_due_anew(later: Entry) -> None:
    one = owed([proved("2026-05-01"), later])
    assert one
    assert one.cause == "changed"
    assert not one.grounds
    assert "2026-05-01" in one.told
    assert "2026-05-02" in one.told
    assert owed([proved("2026-05-03"), later]) is None
    assert owed([proved("2026-05-01"), mended("2026-05-02", "canopy"), at("2026-05-02", "repack", about="drogue")]) is None


def test_a_test_with_other_pins_is_no_test_of_this_joint() -> None:
    assert owed([proved("2026-05-01", pins="3")]).cause == "changed"  # type: ignore[union-attr]


@pytest.mark.parametrize("result", [PARTED, SHUT])
def test_a_failed_test_with_what_is_loaded_keeps_it_on_the_ground(result: str) -> None:
    assert owed([proved("2026-05-01"), proved("2026-05-02", result)]).grounds  # type: ignore[union-attr]
    assert owed([proved("2026-05-01"), proved("2026-05-02", result, mass="0.5 g")]) is None, "less than what threw it clear"
    assert owed([proved("2026-05-01", result), proved("2026-05-02")]) is None
    assert owed([proved("2026-05-01", result)]).grounds, "no other test is written down"  # type: ignore[union-attr]
    assert not owed([proved("2026-05-01", result, mass="0.3 g")]).grounds  # type: ignore[union-attr]
    assert owed([proved("2026-05-02", result, about="")]).grounds, "of whichever bay"  # type: ignore[union-attr]


# --- on the card, in the walk-through, in a terminal ----------------------------------------------------------------


def asked(do: str, **more: object) -> dict[str, str]:
    return json.loads(answer(json.dumps({"do": do, "fields": ONE, **more})))  # type: ignore[no-any-return]


BOOK = [*all_sound("2026-05-01"), proved("2026-05-01", mass="0.9 g"), flight("2026-05-09"), looked("2026-05-10", "cord", ASIDE)]
LINES = [line(one) for one in BOOK]


@pytest.mark.parametrize("do", ["card", "walk"])
def test_a_request_that_says_nothing_of_a_logbook_is_answered_as_ever(do: str) -> None:
    whole = plan(ONE)
    assert asked(do)["html"] == html(*(handout.card(whole) if do == "card" else handout.walk(whole)))
    assert "ogbook" not in asked(do)["html"].replace("../logbook/#flight", "").replace("into the logbook", "")


@pytest.mark.parametrize("do", ["card", "walk"])
def test_where_there_is_no_logbook_that_is_said_when_asked(do: str) -> None:
    assert dues.NO_LOGBOOK in asked(do, book=None)["html"]


@pytest.mark.parametrize("do", ["card", "walk"])
def test_card_and_walk_say_what_is_due_and_what_is_put_aside(do: str) -> None:
    told = asked(do, book=LINES, today="2026-05-25")["html"]
    for one in due(parse(ONE), BOOK, TODAY):
        assert one.told in told, one
        assert one.title in told
    assert handout.GROUNDED in told
    assert "Put aside: Cord" in told
    assert "✕ " in told or do == "walk"


def test_what_is_put_aside_closes_the_walk_as_a_failed_gate_does() -> None:
    good = asked("walk", book=[line(one) for one in BOOK[:-1]], today="2026-05-25")["html"]
    bad = asked("walk", book=LINES, today="2026-05-25")["html"]
    assert asked("walk")["html"].count("data-gate=") == good.count("data-gate=")
    assert bad.count('data-gate="due-cord-main"') == 1
    assert 'id="walk-grounded"' in bad
    assert bad.count('data-closed="yes"') == bad.count("loft-closed") > 3
    assert bad.count('data-item="due-cord-main"') == 0, "nothing to tick"
    for part in ("canopy-main", "joint", "airframe"):
        assert bad.count(f'data-item="due-{part}"') == good.count(f'data-item="due-{part}"') == 1
    before, after = good.index('data-item="due-canopy-main"'), good.index("main-prep-")
    assert before < after, "looked over before the first fold"


def test_an_item_is_ticked_for_the_words_it_has() -> None:
    def mark(book: list[Entry]) -> str:
        told = asked("walk", book=[line(one) for one in book], today="2026-05-25")["html"]
        place = told.index('data-item="due-canopy-main"')
        return told[place : told.index(">", place)]

    assert mark(BOOK) != mark([*BOOK, flight("2026-05-20")])


def test_who_looked_at_the_rocket_looked_at_what_was_due() -> None:
    def marks(do: str, book: list[Entry] | None) -> set[str]:
        told = asked(do, **({} if book is None else {"book": [line(one) for one in book], "today": "2026-05-25"}))["html"]
        place = told.index('data-name="looked-by"')
        return {told[place : place + 60].split('data-words="')[1][:8]}

    assert marks("card", BOOK) == marks("walk", BOOK) != marks("card", BOOK[:-1])
    assert marks("card", None) == marks("walk", None)


def test_nothing_due_is_said_with_what_it_rests_on() -> None:
    rig = ONE | {"electronics.units": "0", "main.charge.kind": "the motor's own charge"}
    sound = [line(one) for one in (flight("2026-05-09", rig=rig), *all_sound("2026-05-10", rig=rig))]
    for do in ("card", "walk"):
        told = json.loads(answer(json.dumps({"do": do, "fields": rig, "book": sound, "today": "2026-05-25"})))["html"]
        assert "Nothing, by this logbook. It holds 1 flight of this rig." in told


@pytest.mark.parametrize("do", ["card", "walk"])
def test_a_damaged_line_is_told_and_takes_nobodys_card_away(do: str) -> None:
    told = asked(do, book=[*LINES, LINES[-1].replace("2026-05-10", "2026-05-11"), "{"], today="2026-05-25")["html"]
    assert "2 entries of the logbook cannot be read" in told
    assert "Put aside: Cord" in told


@pytest.mark.parametrize(("book", "today"), [
    ("x", "2026-05-25"), ([1], "2026-05-25"), ({}, "2026-05-25"), (LINES, None), (LINES, "tomorrow"), (LINES, "2026-02-30"), (LINES, 20260525), (LINES, "20260525"),
])  # fmt: skip
def test_a_book_or_a_day_that_is_none_is_refused(book: object, today: object) -> None:
    for do in ("card", "walk"):
        reply = asked(do, book=book, today=today)
        assert not reply["ok"]
        assert reply["faults"]


def test_each_side_of_the_card_says_what_is_due_of_its_bay() -> None:
    whole = plan(TWO)
    book = dues.told(whole.rig, [looked("2026-05-01", "canopy", ASIDE, rig=TWO, about="drogue")], TODAY)
    drogue, main_ = (html(side) for side in handout.card(whole, book=book))
    assert "✕ " in drogue
    assert "✕ " not in main_
    for side in (drogue, main_):
        assert "Put aside: Canopy of the drogue" in side, "one bay does not fly without the other"


def test_the_terminal_says_the_same_as_the_card(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig, book = tmp_path / "rig.toml", tmp_path / "book.jsonl"
    rig.write_text(to_toml(ONE), "utf-8")
    book.write_text("\n".join(LINES), "utf-8")
    assert main(["due", str(rig), str(book), "--today", "2026-05-25"]) == 1
    told = capsys.readouterr().out
    card = asked("card", book=LINES, today="2026-05-25")["html"]
    for one in due(parse(ONE), BOOK, TODAY):
        assert one.told in told
        assert one.told in card
    assert told.splitlines()[1].startswith("Put aside: Cord: ")
    book.write_text("\n".join(LINES[:-1]), "utf-8")
    assert main(["due", str(rig), str(book), "--today", "2026-05-25"]) == 0
    book.write_text("", "utf-8")
    assert main(["due", str(rig), str(book)]) == 0
    assert "No inspection of it is in this logbook" in capsys.readouterr().out
    for wrong in (["--today", "soon"], []):
        book.write_text("nonsense", "utf-8")
        assert main(["due", str(rig), str(book), *wrong]) == 2
    assert main(["due", str(rig), str(tmp_path / "none")]) == 2


def test_a_day_is_typed_as_a_day() -> None:
    assert dues.day("2026-11-26") == date(2026, 11, 26)
    with pytest.raises(Refusal):
        dues.day("2026-W01-1")


@pytest.mark.parametrize("way", [TWO_BAYS, TWO_PARTS, NO_DROGUE, HELD, ONE_BAY])
def test_titles_say_which_where_there_are_several(way: str) -> None:
    whole = due(parse({"rig.name": "Curlew", "flight.way": way}), [], TODAY)
    assert len({one.title for one in whole}) == len(whole)


def test_a_long_book_is_quick() -> None:
    """Ten years of flying every week, each flight with all its inspections: no sum grows with the square of it."""
    import time

    days = [date(2016, 1, 1) + timedelta(7 * i) for i in range(500)]
    book = [one for day in days for one in (flight(day.isoformat(), rig=OURS), *all_sound(day.isoformat(), rig=OURS))]
    start = time.process_time()
    short = due(parse(OURS), book[: len(book) // 4], TODAY)
    quarter = time.process_time() - start
    start = time.process_time()
    assert len(due(parse(OURS), book, TODAY)) <= len(short) + 1
    assert time.process_time() - start < 8 * max(quarter, 0.02)
