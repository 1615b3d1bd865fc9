"""From what was typed to a `Rig`: each field read by itself, then all of them against the rules; every fault at once."""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import cache, lru_cache
from itertools import islice
from typing import cast

from loftbook.errors import Fault, Refusal
from loftbook.quantity import COUNT, LONGEST, System, read, show
from loftbook.rig.field import Field
from loftbook.rig.fields import DEFAULTS, FIELDS, STARTS
from loftbook.rig.rig import Rig
from loftbook.rig.rules import broken_rules

MOST_UNKNOWN = 20  # unknown names that are told one by one, each with a near one that is looked for


def is_relevant(field: Field, texts: Mapping[str, str]) -> bool:
    """Whether a field matters for what the others say: all it hangs on have such values, and matter themselves."""
    for path, values in field.when:
        if texts.get(path) not in values or not is_relevant(FIELDS[path], texts):
            return False
    return True


@cache
def _decisive() -> tuple[str, ...]:
    """The fields that others hang on."""
    return tuple(dict.fromkeys(path for field in FIELDS.values() for path, _ in field.when))


@lru_cache(maxsize=64)
def _relevant(decisive: tuple[str, ...]) -> tuple[str, ...]:
    """The fields that matter where the decisive ones say this; remembered, because they change rarely."""
    said = dict(zip(_decisive(), decisive, strict=True))
    return tuple(path for path, field in FIELDS.items() if is_relevant(field, said))


def completed(texts: Mapping[str, str]) -> dict[str, str]:
    """The same with every field that is not said taken from the starting rig that the texts name."""
    start = STARTS.get(texts.get("rig.start", ""), DEFAULTS)
    return start | {path: text for path, text in texts.items() if path in FIELDS}


def parse(texts: Mapping[str, str]) -> Rig:
    """A `Rig` from path -> text. Missing fields come from the starting rig. Raises `Refusal` with every fault found."""
    full = completed(texts)
    faults = list(unknown_fields(path for path in texts if path not in FIELDS))
    system = cast(System, full["rig.units"]) if full["rig.units"] in FIELDS["rig.units"].choices else "metric"
    values: dict[str, float | str | None] = dict.fromkeys(FIELDS)
    for path in _relevant(tuple([full[path] for path in _decisive()])):
        try:
            values[path] = _value(path, full[path], system)
        except Refusal as refusal:
            faults += refusal.faults
    rig = Rig(full, values, frozenset(FIELDS.keys() - texts.keys()))
    if not faults:
        faults += broken_rules(rig)
    if faults:
        raise Refusal(*faults)
    return rig


@lru_cache(maxsize=4096)
def _value(path: str, text: str, system: System) -> float | str | None:
    """The same of a rig's field; remembered, because of a whole rig one field changes at a time."""
    return value_of(FIELDS[path], text, system)


def value_of(field: Field, text: str, system: System = "metric") -> float | str | None:
    """What a text says of a field: SI, a choice, a text; None where it may be empty and is. Raises `Refusal` naming the field."""
    if field.optional and not text.strip():
        return None
    if field.choices:
        return _choice(field, text)
    if field.kind is None:
        if not text.strip() or len(text) > field.longest or not _printable(field, text):
            raise _refusal(field, text, f"1 to {field.longest} printable characters", "this text cannot be used")
        return text
    value = read(text, field.kind, field.path, field.full, system)
    if not field.low <= value <= field.high:
        raise _refusal(field, text, limits(field, system), f"{text.strip()} is outside what is computed here")
    return value


def _choice(field: Field, text: str) -> str:
    if text not in field.choices:
        near = get_close_matches(text[:LONGEST], field.choices, 1)
        reason = f"“{text[:LONGEST]}” is not one of the choices"
        raise _refusal(field, text, f"one of: {', '.join(field.choices)}", reason, tuple(near))
    return text


def _printable(field: Field, text: str) -> bool:
    """Whether a text can be shown; only long fields may have several lines."""
    return (text.replace("\n", " ") if field.longest > LONGEST else text).isprintable()


def limits(field: Field, system: System) -> str:
    """The allowed range of a numeric field, written in `system`."""
    assert field.kind is not None
    if field.kind is COUNT:
        return f"{field.low:.0f} to {field.high:.0f}"
    return f"{_limit(field, field.low, system)} to {_limit(field, field.high, system)}"


def _limit(field: Field, value: float, system: System) -> str:
    """A limit as it is written, or, where rounding would put it outside, the nearest whole unit inside."""
    assert field.kind is not None
    text = show(value, field.kind, system)
    if field.low <= read(text, field.kind) <= field.high:
        return text
    inward = 1e-3 if value == field.low else -1e-3
    for step in range(1, 60):
        text = show(value + inward * step * abs(value), field.kind, system)
        if field.low <= read(text, field.kind) <= field.high:
            return text
    return show(value, field.kind, "metric")


def _refusal(field: Field, given: str, allowed: str, reason: str, readings: tuple[str, ...] = ()) -> Refusal:
    return Refusal(
        Fault(
            message=f"{field.full}: {reason}. Allowed: {allowed}.",
            field=field.path,
            label=field.full,
            given=given[: 2 * LONGEST],
            allowed=allowed,
            readings=readings,
        )
    )


def unknown_fields(paths: Iterator[str]) -> Iterator[Fault]:
    """A fault for each name that no rig has, with the name that may have been meant; of many for the first few, and one for the rest."""
    for path in islice(paths, MOST_UNKNOWN):
        near = get_close_matches(path[:LONGEST], FIELDS, 1, 0.5)
        hint = f" Did you mean {near[0]}?" if near else ""
        yield Fault(
            message=f"{path[:LONGEST] if path.strip() else 'A name without letters'}: a rig has no such field.{hint}",
            field="",
            label=path[:LONGEST],
            given=path[: 2 * LONGEST],
            allowed=near[0] if near else "",
            readings=tuple(near),
        )
    if more := sum(1 for _ in paths):
        yield Fault(message=f"{more} more names are fields of no rig.", given=str(more))
