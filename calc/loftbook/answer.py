"""The vocabulary of answers: outputs, checks, working, steps, and what a calculator is."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Literal, overload

from loftbook.drawing.svg import Drawing
from loftbook.physics.spread import Spread
from loftbook.quantity import Kind
from loftbook.rig.fields import FIELDS
from loftbook.rig.ways import KEYS, Way, shown
from loftbook.worked.worked import Worked

Verdict = Literal["pass", "warn", "fail"]
Value = float | int | str | Spread
Each = Literal["rig", "canopy", "bay", "cord"]


class Later[T](Sequence[T]):
    """What is made when somebody looks at it, one after another and each once: most askers want the figures, not every picture.

    make: gives them in order. Where it breaks, whoever looks again breaks again: nothing half made is shown.
    """

    def __init__(self, make: Callable[[], Iterable[T]]) -> None:
        self._make = make
        self._made: list[T] = []
        self._rest: Iterator[T] | None = None

    def _first(self, count: int | None) -> list[T]:
        """So many of them at least, or all; fewer if there are no more."""
        if count is None or count > len(self._made):
            try:
                self._rest = iter(self._make()) if self._rest is None else self._rest
                self._made += islice(self._rest, None if count is None else count - len(self._made))
            except BaseException:
                self._made, self._rest = [], None
                raise
        return self._made

    @overload
    def __getitem__(self, at: int) -> T: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[T]: ...
    def __getitem__(self, at: int | slice) -> T | Sequence[T]:
        if isinstance(at, slice):
            return tuple(self._first(None)[at])
        return self._first(at + 1 if at >= 0 else None)[at]

    def __iter__(self) -> Iterator[T]:
        at = 0
        while at < len(self._first(at + 1)):
            yield self._made[at]
            at += 1

    def __len__(self) -> int:
        return len(self._first(None))

    def __bool__(self) -> bool:
        return bool(self._first(1))

    def __eq__(self, other: object) -> bool:
        return tuple(self) == tuple(other) if isinstance(other, Sequence) else NotImplemented

    def __repr__(self) -> str:
        return f"Later({tuple(self)!r})"


@dataclass(frozen=True)
class Output:
    """One answer of a calculator: its name in JSON, its label on a page, its kind (None for text)."""

    name: str
    label: str
    kind: Kind | None
    leads: bool = True  # shown among the key numbers


@dataclass(frozen=True)
class Check:
    """One verdict with its reason in a sentence; `name` is stable; `bay`: which bay, canopy or cord it is about.

    gate: a failure of it is cleared by another rig or another day, never by a sentence.
    """

    name: str
    verdict: Verdict
    title: str
    reason: str
    bay: str = ""
    gate: bool = False
    source: str = ""  # where its limits come from


@dataclass(frozen=True)
class CheckKind:
    """A check that a calculator may make, declared: a stable name, a title, the fields that may mend it.

    `mends` are paths, or paths within the bay it is about; gate: of strength, charge, rate, height or wind, so that nobody
    is talked past it. A calculator says `CORD_LENGTH.fail("…")`.
    """

    name: str
    title: str
    mends: tuple[str, ...]
    gate: bool = False

    def _judged(self, verdict: Verdict, reason: str, source: str) -> Check:
        return Check(self.name, verdict, self.title, reason, gate=self.gate, source=source)

    def hold(self, reason: str, *, source: str = "") -> Check:
        return self._judged("pass", reason, source)

    def warn(self, reason: str, *, source: str = "") -> Check:
        """To be looked at again."""
        return self._judged("warn", reason, source)

    def fail(self, reason: str, *, source: str = "") -> Check:
        return self._judged("fail", reason, source)

    def holds_if(self, held: bool, reason: str, *, source: str = "") -> Check:
        """Holds, or is to be looked at again."""
        return self._judged("pass" if held else "warn", reason, source)


@dataclass(frozen=True)
class Working:
    """One line of working: the formula, the same with the numbers put in, where it comes from."""

    title: str
    formula: str
    numbers: str
    source: str


@dataclass(frozen=True)
class Step:
    """One step a reader carries out: permanent anchor, title, what to do, what should be seen, what to do if not."""

    anchor: str
    title: str
    text: str
    seen: str
    otherwise: str
    drawing: Drawing | None = None


@dataclass(frozen=True)
class Pair:
    """A mistake beside its right way: permanent anchor, title, both pictures, the reason, the check that catches it."""

    anchor: str
    title: str
    wrong: Drawing
    right: Drawing
    reason: str
    caught_by: str


@dataclass(frozen=True)
class Table:
    """Rows of words for reading: the numbers of a chart, a ladder, the eight directions.

    shown: it is the answer itself; first: it stands before the steps.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shown: bool = False
    first: bool = False


@dataclass(frozen=True)
class Offer:
    """What a reader may take into the rig at a touch: words for it, and the texts of fields by path."""

    words: str
    texts: Mapping[str, str]


@dataclass(frozen=True)
class Passage:
    """A few sentences about one thing, under a heading of their own with a permanent anchor.

    mended: the name of a failure that another rig might survive.
    """

    anchor: str
    title: str
    text: str
    mended: str = ""


Judged = Verdict | Literal[""]


@dataclass(frozen=True)
class Figure:
    """A number of the rig in a sentence, beside its limit where it has one; whose: which bay, canopy or cord it is of."""

    whose: str
    told: str
    judged: Judged


@dataclass(frozen=True)
class Cause:
    """Why something may have happened: the rig's numbers that bear on it, the worst first, what on the wreck shows it, what to change.

    page: the name of the calculator that shows the change.
    """

    title: str
    figures: tuple[Figure, ...]
    look: str
    change: str
    page: str


@dataclass(frozen=True)
class Seen:
    """What was seen when one came down wrong: permanent anchor, title, what it means, its one picture, its causes, the likeliest first.

    caution: said before anything else of it; before: the anchor that it had once; causes: none where it cannot happen.
    """

    anchor: str
    title: str
    text: str
    drawings: Sequence[Drawing]
    causes: tuple[Cause, ...]
    caution: str = ""
    before: str = ""


@dataclass(frozen=True)
class Answer:
    """What one calculator says about one rig, or about one bay of it. What is not said at once may be made later."""

    outputs: Mapping[str, Value | None]
    summary: str
    checks: Sequence[Check] = ()
    working: Sequence[Working] = ()
    drawings: Sequence[Drawing] = ()
    steps: Sequence[Step] = ()
    notes: Sequence[str] = ()
    tables: Sequence[Table] = ()
    pairs: Sequence[Pair] = ()
    passages: Sequence[Passage] = ()
    offers: Sequence[Offer] = ()
    seen: Sequence[Seen] = ()
    cautions: tuple[str, ...] = ()  # said before any figure


@dataclass(frozen=True)
class Calculator:
    """`compute` takes the worked rig and the key of what it is about: a canopy, a bay, a cord; "" for the whole rig.

    inputs: every field it depends on, as a path ("rocket.mass"), a path within a bay ("canopy.size", stamped for every
    bay) or a group with a dot behind it ("canopy."). It may use nothing of the rig but those.
    asks: the two to four of them that its page is about, in the same way; what else there is stays folded.
    """

    name: str
    title: str
    inputs: tuple[str, ...]
    outputs: tuple[Output, ...]
    compute: Callable[[Worked, str], Answer] = field(repr=False)
    checks: tuple[CheckKind, ...] = ()
    each: Each = "rig"
    in_plan: bool = True
    asks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "inputs", tuple(_expanded(self.inputs)))
        asked = {path for one in self.asks for path in _expanded([one])}
        if not asked <= set(self.inputs):
            raise KeyError(f"{self.name} asks for what it does not depend on: {sorted(asked - set(self.inputs))}")
        object.__setattr__(self, "asks", tuple(path for one in self.asks for path in _expanded([one])))

    def keys(self, way: Way) -> tuple[str, ...]:
        """What it is asked about where a rig comes down that way, in the order of opening."""
        return {"rig": ("",), "canopy": way.canopies, "bay": way.bays, "cord": way.keys}[self.each]

    def shown(self, worked: Worked) -> str:
        """The key that a page shows: the one the rig names, if there is one."""
        if self.each == "rig":
            return ""
        return shown(worked.rig.way, worked.rig.text("rig.bay"), self.keys(worked.rig.way))

    def answer(self, worked: Worked, key: str) -> Answer:
        """Its answer about one key; every check knows which bay it is about."""
        found = self.compute(worked, key)
        return replace(found, checks=Later(lambda: (replace(check, bay=key) for check in found.checks))) if key else found


def _expanded(inputs: Iterable[str]) -> list[str]:
    """Paths for every bay, groups in full, each once, in the order of the declarations. Raises KeyError for an unknown one."""
    wanted: set[str] = set()
    for one in inputs:
        names = (one, *(f"{key}.{one}" for key in KEYS))
        found = {path for path in FIELDS for name in names if path == name or (one[-1] == "." and path.startswith(name))}
        if not found:
            raise KeyError(f"there is no field {one}")
        wanted |= found
    return [path for path in FIELDS if path in wanted]
