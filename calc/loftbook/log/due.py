"""What is due of a rig by its logbook: inspections, ground tests, what was put aside. Pure: a rig, entries and a day in, answers out.

In doubt it is due. A flight, a fault or a mend counts for a part unless it is sure that it was another's; an inspection clears a
part only where it is sure that it was this one's, after the flight, and not written ahead of its day. What nobody wrote down is
told as that, never as all being well.

A part belongs to the rig of its name; a canopy (with its lines) or a cord that has a name of its own is followed into every rig
that names it. On one day, what was written down first counts as first.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from loftbook.log.book import Book, Place, next_day
from loftbook.log.entries import Entry
from loftbook.log.kinds import ASIDE, DAMAGED, MENDED, OTHERWISE, PARTS, SOUND
from loftbook.log.shelf import plain
from loftbook.quantity import counted
from loftbook.rig.bay_fields import FIRED, THROWN
from loftbook.rig.fields import DEFAULTS, STARTS
from loftbook.rig.resting import as_tested, rig_of
from loftbook.rig.rig import Rig
from loftbook.rig.ways import KEYS, WAYS, Way, titled
from loftbook.tables import INSPECTIONS, Inspection

Cause = Literal["aside", "failed", "mended", "damaged", "otherwise", "never", "flights", "days", "untested", "changed", "unread"]
GROUND_TEST = "ground-test"  # its row among the inspections, by its anchor
UNDER_LOAD = ("canopy", "lines", "cord")  # due after a flight that went otherwise, with nothing damaged
_NAMED = {"canopy": "canopy.name", "lines": "canopy.name", "cord": "cord.name"}  # parts of one key of a rig, and what they are called by
_TESTED_ANEW = ("joint", "electronics")  # a mend of these ends a ground test


@dataclass(frozen=True)
class Due:
    """One thing that is due. part: of the logbook's, "" of what belongs to none; key: its canopy, cord or bay, "" of the whole rig.

    title: what it is called here; told: why it is due, a sentence; rows: what is to be looked at; grounds: it does not fly so.
    """

    part: str
    key: str
    cause: Cause
    title: str
    told: str
    rows: tuple[Inspection, ...] = ()
    grounds: bool = False

    @property
    def anchor(self) -> str:
        """The same for the same part and bay of a rig."""
        named = GROUND_TEST if any(row.name == GROUND_TEST for row in self.rows) else self.part or self.cause
        return "-".join(("due", *named.split(), *filter(None, (self.key,))))


def due(rig: Rig, entries: Iterable[Entry], today: date) -> tuple[Due, ...]:
    """What is due of a rig, what grounds it first, then part by part.

    entries: a whole book, those too that others have replaced; today: the reader's own day.
    """
    book = _Book(rig, Book(tuple(entries)), today)
    found = [*(one for part in _gear(rig) if (one := _of_part(book, *part))), *_tests(book)]
    return tuple(sorted(found, key=lambda one: not one.grounds))


def flights_of(rig: Rig, entries: Iterable[Entry]) -> int:
    """How many flights of this very rig stand in a book."""
    return sum(one.kind == "flight" and plain(one.rig) == plain(rig.text("rig.name")) for one in Book(tuple(entries)).standing)


def unread(count: int) -> Due:
    """Of entries that could not be read: what they say may ground it."""
    what = "1 entry of the logbook" if count == 1 else f"{count} entries of the logbook"
    told = f"{what} cannot be read: what {'it says' if count == 1 else 'they say'} of damage or a mend is not known. Look over every part."
    return Due("", "", "unread", "Logbook", told)


# --- whose entry it is --------------------------------------------------------------------------------


def _gear(rig: Rig) -> Iterator[tuple[str, str]]:
    """Every part of a rig that is looked over, with its key where it has one."""
    way = rig.way
    fired = rig.text("electronics.units").strip() != "0" or any(rig.text(f"{bay}.charge.kind") in FIRED for bay in way.bays)
    absent = {"release device": not way.held, "electronics": not fired}
    keys = {"canopy": way.canopies, "lines": way.canopies, "cord": way.keys}
    for part in PARTS:
        if not absent.get(part):
            yield from ((part, key) for key in keys.get(part, ("",)))


@dataclass(frozen=True)
class _Book:
    """A book, and how its entries stand to a rig."""

    rig: Rig
    book: Book
    today: date

    def name(self, part: str, key: str) -> str:
        """What a part of the rig is called by, "" where it has no name."""
        return plain(self.rig.text(f"{key}.{_NAMED[part]}")) if part in _NAMED else ""

    def standing(self, *kinds: str) -> list[Entry]:
        """Entries of these kinds that count."""
        return [one for one in self.book.standing if one.kind in kinds]

    def is_ours(self, one: Entry) -> bool:
        return plain(one.rig) == plain(self.rig.text("rig.name"))

    def is_about(self, one: Entry, part: str, key: str, *, surely: bool) -> bool:
        """Whether an entry tells of this part of the rig. surely: beyond doubt, so that it may clear it."""
        if part not in _NAMED:
            return self.is_ours(one) and (not surely or self._whole(one.about))
        name, ours = self.name(part, key), self.is_ours(one)
        if not (name or ours):
            return False
        flown = self._flown(one, part, surely=surely)
        there = {at: plain(one.fields.get(f"{at}.{_NAMED[part]}", "")) for at in KEYS}
        if name and any(there[at] == name and one.about in ("", at) for at in flown):
            return True
        if not ours or one.about not in ("", key):
            return False
        return there[key] == name and key in flown if surely else not (there[key] and name)

    def _flown(self, one: Entry, part: str, *, surely: bool) -> Sequence[str]:
        """Keys of an entry's rig that its way down has such a part for; all where that is not known and need not be sure."""
        if not one.fields and self.is_ours(one):
            way: Way | None = self.rig.way
        else:
            way = WAYS.get(one.fields.get("flight.way") or STARTS.get(one.fields.get("rig.start", ""), DEFAULTS)["flight.way"])
        if way is None:
            return () if surely else KEYS
        return way.keys if part == "cord" else way.canopies

    def _whole(self, about: str) -> bool:
        """Whether what is said of one bay is said of all of the rig."""
        return not about or self.rig.way.bays == (about,)

    def clear(self, one: Entry) -> Place | None:
        """The place in time of what clears something: `Book.until`.

        None where that is still to come: nothing is cleared by what nobody can have seen yet.
        """
        day, made = self.book.until(one)
        ahead = one.day > self.today.isoformat() or made[:10] > next_day(self.today).isoformat()
        return None if ahead else (day, made)


# --- parts ----------------------------------------------------------------------------------------------


def _of_part(book: _Book, part: str, key: str) -> Due | None:
    """The gravest that is due of one part, None where nothing is.

    An inspection is of the whole part, and what is looked at after every flight makes one every time: so what is due after five
    is due with every fifth flight that the book knows, not after five without an inspection.
    """
    looks = [one for one in book.standing("inspection") if one.said.get("inspection.of") == part]
    mends = [one for one in book.standing("repair") if one.said.get("repair.of") == part]
    rows = tuple(row for row in INSPECTIONS.values() if row.part == part and row.name != GROUND_TEST)

    def latest(found: Iterable[Entry], *, mends: bool = False) -> Place:
        """When last something surely cleared this part, ("", "") where nothing did."""
        times = (book.book.since(one) if mends and one.kind == "repair" else book.clear(one) for one in found if book.is_about(one, part, key, surely=True))
        return max((time for time in times if time), default=("", ""))

    def open_(found: Iterable[Entry], cleared: Place) -> list[Entry]:
        """What was not cleared, the newest first."""
        kept = [one for one in found if book.is_about(one, part, key, surely=False) and book.book.since(one) >= cleared]
        return sorted(kept, key=book.book.since, reverse=True)

    def made(cause: Cause, told: str, of: tuple[Inspection, ...] = rows, *, grounds: bool = False) -> Due:
        return Due(part, key, cause, _title(book.rig, part, key), told, of, grounds)

    aside = open_([one for one in looks if _result(one) == ASIDE], latest([*(one for one in looks if _result(one) == MENDED), *_until(book, mends)], mends=True))
    if aside:
        told = f"Put aside on {aside[0].day}. It does not fly until it is mended or replaced, that is written down, and it is looked over anew."
        return made("aside", told, grounds=True)
    cleared = latest(one for one in looks if _result(one) in (SOUND, MENDED))
    flights = open_(book.standing("flight"), cleared)
    if mended := open_(mends, cleared):
        return made("mended", f"Mended or replaced on {mended[0].day}, and not looked over since.")
    if damaged := [one for one in flights if _went(one) == DAMAGED]:
        return made("damaged", f"Something was damaged in the flight of {damaged[0].day}; not looked over since.")
    odd = [one for one in flights if _went(one) == OTHERWISE]
    if odd and part in UNDER_LOAD:
        return made("otherwise", f"The flight of {odd[0].day} went otherwise than planned; not looked over since.")
    if not cleared[0]:
        return made("never", f"No inspection of it is in this logbook; {counted(len(flights), 'flight')}{'' if flights else ' of it either'}.")
    before = sum(book.is_about(one, part, key, surely=False) for one in book.standing("flight")) - len(flights)
    if of := tuple(row for row in rows if row.flights and (before + len(flights)) // row.flights > before // row.flights):
        return made("flights", f"{counted(len(flights), 'flight').capitalize()} since it was looked over on {cleared[0]}.", of)
    if (passed := _passed(cleared[0], book.today)) >= min(row.days for row in rows):
        return made("days", f"Looked over last on {cleared[0]}, {passed} days ago.")
    return None


def _until(book: _Book, mends: Iterable[Entry]) -> list[Entry]:
    """Mends that are not still to come, nor written ahead of their day."""
    return [one for one in mends if (time := book.clear(one)) and time[0] == one.day]


def _result(one: Entry) -> str:
    """What is not said is not sound."""
    return one.said.get("inspection.result", ASIDE)


def _went(one: Entry) -> str:
    """What is not said went otherwise."""
    return one.said.get("flight.went", OTHERWISE)


def _passed(day: str, today: date) -> int:
    return (today - date.fromisoformat(day)).days


def _title(rig: Rig, part: str, key: str) -> str:
    """`Cord “7” of the drogue`: the name where it has one, the bay where there are several."""
    own = rig.text(f"{key}.{_NAMED[part]}").strip() if key else ""
    several = len(rig.way.keys if part == "cord" else rig.way.canopies) > 1
    called = f"{part.capitalize()} “{own}”" if own else part.capitalize()
    return f"{called} of the {titled(rig.way, key)}" if key and several else called


# --- ground tests -----------------------------------------------------------------------------------------


def _tests(book: _Book) -> Iterator[Due]:
    """Of every bay that electronics fire a charge in."""
    for bay in book.rig.way.bays:
        if book.rig.text(f"{bay}.charge.kind") in FIRED and (found := _test(book, bay)):
            yield found


def _test(book: _Book, bay: str) -> Due | None:
    rig, row = book.rig, INSPECTIONS[GROUND_TEST]
    whose = f" of the {titled(rig.way, bay).removesuffix(' bay')} bay" if len(rig.way.bays) > 1 else ""

    def made(cause: Cause, told: str, *, grounds: bool = False) -> Due:
        return Due("joint", bay, cause, f"Ground test{whose}", told, (row,), grounds)

    tests = [one for one in book.standing("test") if book.is_ours(one) and one.about in ("", bay)]
    good = {one.name: time for one in tests if one.said.get("test.result") == THROWN and one.about and (time := book.clear(one))}
    last = max((one for one in tests if one.name in good), key=lambda one: good[one.name], default=None)
    said, loaded = (last.number("test.mass") if last else None), rig.optional(f"{bay}.charge.tested")
    least = min((mass for mass in (said, loaded) if mass is not None), default=0.0)
    since = good[last.name] if last else ("", "")
    for one in tests:
        if one.said.get("test.result") != THROWN and book.book.since(one) >= since and (one.number("test.mass") or _MOST) >= least:
            told = f"The test of {one.day} did not throw everything clear, with as much powder as is loaded or more. Find out why, and test anew."
            return made("failed", told, grounds=True)
    if last is None:
        return made("untested", "No ground test of it that threw everything clear is in this logbook.")
    if changed := _changed(book, bay, last, since):
        return made("changed", changed)
    if _passed(since[0], book.today) >= row.days:
        return made("days", f"Tested last on {last.day}, {_passed(since[0], book.today)} days ago: test anew.")
    return None


def _changed(book: _Book, bay: str, last: Entry, since: Place) -> str:
    """What is no longer as it was in the last ground test of a bay that threw everything clear; "" where all is."""
    rig, loaded, then = book.rig, book.rig.optional(f"{bay}.charge.tested"), rig_of(last.fields)
    if last.number("test.pins") != rig.optional(f"{bay}.joint.pins"):
        return f"Tested on {last.day} with other pins than will fly: test anew."
    if loaded is not None and loaded != last.number("test.mass") and rig.origin(f"{bay}.charge.tested") != "start":
        return f"Tested on {last.day} with another charge than is loaded: test anew."
    if then is None or not as_tested(rig, then, bay):
        return f"Tested on {last.day} before bay, joint, canopy, cord, charge or masses of this rig were typed as they are now: test anew."
    for one in book.standing("repair", "repack", "inspection"):
        if not book.is_ours(one) or one.about not in ("", bay) or book.book.since(one) < since:
            continue
        part = one.said.get("repair.of") if one.kind == "repair" else one.said.get("inspection.of") if _result(one) == MENDED else ""
        if part in _TESTED_ANEW:
            return f"The {part} was mended on {one.day}, after the test of {last.day}: test anew."
        if one.kind == "repack":
            return f"Packed anew on {one.day}, after the test of {last.day}: test anew, unless all of it lies as it was tested."
    return ""


_MOST = float("inf")  # of a mass that is not said
