"""A whole logbook: which of its entries count, and in what order they happened. An entry that corrects another stands where that stood."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from loftbook.log.entries import STRUCK, Entry
from loftbook.log.kinds import AS_PLANNED, ASIDE
from loftbook.rig.bay_fields import THROWN

_GOOD = {"flight": ("flight.went", AS_PLANNED), "test": ("test.result", THROWN)}

Place = tuple[str, str]  # in time: a day, and when that was written


@dataclass(frozen=True)
class Book:
    """entries: all of it, those too whose place others have taken."""

    entries: tuple[Entry, ...]

    @cached_property
    def _named(self) -> Mapping[str, Entry]:
        return {one.name: one for one in self.entries}

    @cached_property
    def standing(self) -> tuple[Entry, ...]:
        """Those whose place no other has taken, what happened last first; of one that was corrected in several ways the last way.

        Who strikes a correction strikes what it corrected too.
        """
        gone = {one.replaces for one in self._named.values()}
        left = [one for name, one in self._named.items() if name not in gone and one.kind != STRUCK]
        last = {self.first(one): one for one in sorted(left, key=lambda one: (one.made, is_trouble(one), one.name))}
        return tuple(sorted(last.values(), key=lambda one: (self.place(one), is_trouble(one), one.name), reverse=True))

    def before(self, one: Entry) -> Iterator[Entry]:
        """An entry and those whose place it took, back to the first."""
        seen: Entry | None = one
        while seen:
            yield seen
            seen = self._named.get(seen.replaces)

    def first(self, one: Entry) -> str:
        """The name of what an entry was before it was corrected at all, whether that is in the book or not."""
        *_, first = self.before(one)
        return first.replaces or first.name

    def since(self, one: Entry) -> Place:
        """The place in time of what makes something due: its day, and when that was first written."""
        made = one.made
        for older in self.before(one):
            if (older.day, older.kind) != (one.day, one.kind):
                break
            made = min(made, older.made)
        return one.day, made

    def until(self, one: Entry) -> Place:
        """The place in time of what clears something: when it was first written, and its day, but not a day after that."""
        made = min(each.made for each in self.before(one))
        return min(one.day, next_day(date.fromisoformat(made[:10])).isoformat()), made  # somewhere it is tomorrow already

    def place(self, one: Entry) -> Place:
        """The later of these of trouble, the earlier of the rest."""
        return self.since(one) if is_trouble(one) else self.until(one)


def is_trouble(one: Entry) -> bool:
    """Whether an entry tells of what did not go well, or was mended: what is not said did not."""
    if one.kind in _GOOD:
        path, good = _GOOD[one.kind]
        return one.said.get(path) != good
    return one.kind == "repair" or (one.kind == "inspection" and one.said.get("inspection.result", ASIDE) == ASIDE)


def next_day(day: date) -> date:
    return day if day == date.max else day + timedelta(1)
