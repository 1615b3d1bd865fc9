"""What a logbook says is due, as it stands on the card, in the walk-through and in a terminal. Computes nothing: `log.due` does.

Imported only where a logbook is asked about.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.log.due import GROUND_TEST, Due, due, flights_of, unread
from loftbook.log.entries import Entry, day_of, read_line
from loftbook.quantity import counted
from loftbook.rig.rig import Rig

NO_LOGBOOK = "No logbook on this device: nothing is known of what is due."
PAGE = "../inspection/"  # beside the page that a hand-out stands in
_WORDS = {"aside": "Put aside", "failed": "Failed"}  # of what grounds it
_PUT_ASIDE = "Put it aside and write that into the logbook: it does not fly until it is mended or replaced. "


@dataclass(frozen=True)
class Logbook:
    """What is due of a rig; there: whether there is a logbook at all; flights: of this rig that stand in it."""

    dues: tuple[Due, ...] = ()
    there: bool = False
    flights: int = 0

    @property
    def grounding(self) -> tuple[Due, ...]:
        return tuple(one for one in self.dues if one.grounds)

    @property
    def open(self) -> tuple[Due, ...]:
        """What is to be looked at, and keeps nothing on the ground."""
        return tuple(one for one in self.dues if not one.grounds)

    @property
    def words(self) -> tuple[str, ...]:
        """All that is said of it: who looked at the rocket looked at these."""
        return tuple(f"{one.title}: {one.told}" for one in self.dues)

    @property
    def nothing(self) -> str:
        """Where nothing is due."""
        return f"Nothing, by this logbook. It holds {counted(self.flights, 'flight')} of this rig."


def told(rig: Rig, entries: Iterable[Entry], today: date, damaged: int = 0) -> Logbook:
    """What is due by a book. damaged: how many entries of it could not be read."""
    kept = tuple(entries)
    found = due(rig, kept, today)
    return Logbook((*found, *([unread(damaged)] if damaged else [])), True, flights_of(rig, kept))


def asked(rig: Rig, book: object, today: object) -> Logbook:
    """The same of a request. book: lines of JSON, None where there is no logbook. What cannot be read is counted, so that one
    damaged line takes nobody's card away. Raises `Refusal`.
    """
    if book is None:
        return Logbook()
    if not isinstance(book, list) or not all(isinstance(line, str) for line in book):
        raise Refusal(Fault(message="A book is a list of lines, one entry in each."))
    read: list[Entry] = []
    for line in book:
        try:
            read.append(read_line(line))
        except Refusal:
            continue
    return told(rig, read, day(today), len(book) - len(read))


def day(text: object) -> date:
    """A day as it is typed. Raises `Refusal`."""
    if isinstance(text, str) and (found := day_of(text)):
        return found
    raise Refusal(Fault(message="Today is a day: year, month and day, such as 2026-05-09.", label="today", given=str(text)[:60]))


def sign(one: Due) -> str:
    """In a word how it stands: `Due`, `Put aside`, `Failed`."""
    return _WORDS[one.cause] if one.grounds else "Due"


def grouped(dues: Iterable[Due]) -> Iterator[tuple[str, str, tuple[Due, ...]]]:
    """(sign, why, what) with all that is due for the same reason together."""
    by_reason: dict[tuple[str, str], list[Due]] = {}
    for one in dues:
        by_reason.setdefault((sign(one), one.told), []).append(one)
    for (said, why), rows in by_reason.items():
        yield said, why, tuple(rows)


def listed(titles: Sequence[str]) -> str:
    """One behind the other, in one line."""
    return "; ".join(titles)


# --- on the card -------------------------------------------------------------------------------------------


def card_lines(book: Logbook, here: Iterable[str]) -> list[Markup]:
    """What is due of one side's bay, the canopies in it, and of the whole rig."""
    if not book.there:
        return [_line("☐ ", f"Due: {NO_LOGBOOK}")]
    mine = [one for one in book.dues if one.key in ("", *here)]
    lines = [
        _line("✕ " if rows[0].grounds else "☐ ", f"{said}: {listed([one.title for one in rows])}: ", why) for said, why, rows in grouped(mine)
    ]
    return lines or [_line("", "Due: ", book.nothing)]


def _line(box: str, words: str, *more: str) -> Markup:
    mark = element("span", box, class_="loft-box", aria_hidden="true") if box else None
    return element("li", mark, element("strong", words), *more, data_due="yes")


def titles(dues: Iterable[Due]) -> str:
    """`Put aside: Canopy. Failed: Ground test.`"""
    by_sign: dict[str, list[str]] = {}
    for one in dues:
        by_sign.setdefault(sign(one), []).append(one.title)
    return " ".join(f"{said}: {listed(rows)}." for said, rows in by_sign.items())


# --- in the walk-through -------------------------------------------------------------------------------------


def look(one: Due) -> str:
    """Why it is due, and what to look at."""
    return " ".join((one.told, *(row.look for row in one.rows)))


def act(one: Due) -> str:
    """What its button says."""
    return "Looked over" if one.part and not any(row.name == GROUND_TEST for row in one.rows) else "I have seen to it"


def to_list(one: Due) -> Markup:
    """A link to what is bad, and what retires it."""
    where = one.rows[0].name if one.rows else ""
    return element("a", "what is bad, and what retires it", href=f"{PAGE}#{where}" if where else PAGE)


def not_right(one: Due) -> Markup:
    """What to do where it is not sound."""
    if any(row.name == GROUND_TEST for row in one.rows):
        return element("p", "It does not fly before it was tested on the ground: ", element("a", "step by step", href="../separation/"), ".")
    return element("p", _PUT_ASIDE, "Here is ", to_list(one), ".")


# --- in a terminal --------------------------------------------------------------------------------------------


def lines(book: Logbook) -> list[tuple[str, str, str]]:
    """(sign, what, why), as on the card."""
    if not book.there:
        return [("Due", NO_LOGBOOK, "")]
    return [(said, listed([one.title for one in rows]), why) for said, why, rows in grouped(book.dues)] or [("Due", "", book.nothing)]
