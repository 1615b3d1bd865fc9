"""What the project says to each figure, and whether the two agree.

`result` of a row is what the tests assert and what the published table shows: one computation, two readers. How a row
is computed stands in `ours`; nothing here or there may be changed so that a row agrees.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

from figures import Row, in_unit, inputs, matching, rows
from ours import CARRIED, COMPUTED, EXPLAINED, NOT_COMPUTED, Compute, Explanation, Got

ROUNDING = 1e-12  # relative: a figure that must be the same passes through a unit and back, which rounds its last bits


def _found(computed: Mapping[str, Compute]) -> dict[str, Callable[[], Got]]:
    found: dict[str, Callable[[], Got]] = {}
    for patterns, compute in computed.items():
        for pattern in patterns.split(" | "):
            for row in matching(pattern):
                if row.id in found:
                    raise LookupError(f"{row.id} is computed twice")
                found[row.id] = lambda row=row, compute=compute: _in_unit(compute(inputs(row.inputs)), row.unit)
    return found


@cache
def worked_out() -> Mapping[str, Callable[[], Got]]:
    """Row id -> a function of nothing that gives the core's value (or range) in the row's unit."""
    return _found(COMPUTED)


@cache
def carried() -> Mapping[str, Callable[[], Got]]:
    """The same for rows whose figure the core carries in a table or a constant and repeats, unchanged or as near as it says."""
    return _found(CARRIED)


@cache
def checked() -> Mapping[str, Callable[[], Got]]:
    """All rows that are compared, worked out or carried, in the order of the files."""
    if twice := set(worked_out()) & set(carried()):
        raise LookupError(f"both worked out and carried: {sorted(twice)}")
    both = {**worked_out(), **carried()}
    return {id_: both[id_] for id_ in rows() if id_ in both}


@cache
def left_out() -> Mapping[str, str]:
    """Row id -> why the core does not compute it."""
    found: dict[str, str] = {}
    for patterns, reason in NOT_COMPUTED.items():
        for pattern in patterns.split(" | "):
            for row in matching(pattern):
                if row.id in found or row.id in checked():
                    raise LookupError(f"{row.id} is both checked and left out, or left out twice")
                found[row.id] = reason
    return found


def _in_unit(got: Got, unit: str) -> Got:
    if isinstance(got, tuple):
        return tuple(None if end is None else in_unit(end, unit) for end in got)  # type: ignore[return-value]
    return in_unit(got, unit)


@dataclass(frozen=True)
class Result:
    """A row beside what the core says. difference: of the worse end, in the row's unit or, if `relative`, a share."""

    row: Row
    got: Got
    difference: float
    allowed: float
    relative: bool

    @property
    def agrees(self) -> bool:
        return self.difference <= self.allowed

    @property
    def explanation(self) -> Explanation | None:
        return EXPLAINED.get(self.row.id)


def compared(row: Row, got: Got) -> Result:
    """`got` beside the row, by the row's own kind of tolerance. An end that is None is not compared."""
    kind, tolerance, (low, high) = row.tolerance_kind, float(row.tolerance), row.ends
    ends = got if isinstance(got, tuple) else (got, got)
    if kind == "range":
        outside = max(low - (low if ends[0] is None else ends[0]), (high if ends[1] is None else ends[1]) - high, 0.0)
        return Result(row, got, outside, max(abs(low), abs(high)) * ROUNDING, False)
    apart = max(abs(our - their) for our, their in zip(ends, (low, high), strict=True) if our is not None)
    if kind in ("exact", "none"):  # "none" is a saying of the trade: what is repeated is repeated unchanged
        return Result(row, got, apart / max(abs(low), abs(high)), ROUNDING, True)
    if kind == "relative":
        return Result(row, got, apart / abs(low), tolerance, True)
    if kind == "absolute on each end" and not isinstance(got, tuple):
        raise TypeError(f"{row.id} wants the ends of a range")
    if kind in ("absolute", "absolute on each end"):
        return Result(row, got, apart, tolerance * (1 + ROUNDING), False)
    raise ValueError(f"{row.id} has the tolerance kind {kind!r}")


def result(id_: str) -> Result:
    return compared(rows()[id_], checked()[id_]())
