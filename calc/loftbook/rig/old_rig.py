"""A rocket and its gear, described once, in the words its owner typed.

A `Rig` keeps every field as text, so a file written from it loses nothing, and the SI values read from those
texts. TOML and JSON files hold the same tables: the part of a path before the dot is the table.
"""

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, cast

import tomli_w

from loftbook.answer import Field
from loftbook.errors import Fault, Refusal
from loftbook.fields import DEFAULTS, DROGUE_MAIN, FIELDS, GROUPS, MEASURED, NOSE_ALONG, TWO_PARTS, TWO_STAGES
from loftbook.quantity import COUNT, LONGEST, System, read, show
from loftbook.physics.wind import read_layers

LARGEST_FILE = 32_768  # characters; a whole rig with every field is about 4,000


@dataclass(frozen=True)
class Rig:
    """`texts`: every field as typed. `values`: SI float, choice or text; None when empty or not relevant."""

    texts: Mapping[str, str]
    values: Mapping[str, float | str | None]
    assumed: tuple[str, ...] = ()

    @property
    def units(self) -> System:
        return cast(System, self.texts["rig.units"])

    def number(self, path: str) -> float:
        """The SI value of a field that is filled in."""
        value = self.values[path]
        if not isinstance(value, float):
            raise KeyError(f"{path} has no number")
        return value

    def optional(self, path: str) -> float | None:
        value = self.values[path]
        return value if isinstance(value, float) else None

    def text(self, path: str) -> str:
        return self.texts[path]


def is_relevant(field: Field, texts: Mapping[str, str]) -> bool:
    """Whether the field matters for what the others say: the one it hangs on has the value, and matters itself."""
    if field.when is None:
        return True
    path, values = field.when
    return texts.get(path) in values and is_relevant(FIELDS[path], texts)


def parse(texts: Mapping[str, str]) -> Rig:
    """A `Rig` from path -> text. Missing fields take their default. Raises `Refusal` with every fault found."""
    full = DEFAULTS | {path: text for path, text in texts.items() if path in FIELDS}
    faults = [_unknown(path) for path in texts if path not in FIELDS]
    system = cast(System, full["rig.units"]) if full["rig.units"] in FIELDS["rig.units"].choices else "metric"
    values: dict[str, float | str | None] = {}
    for path, field in FIELDS.items():
        values[path] = None
        if is_relevant(field, full):
            try:
                values[path] = _value(field, full[path], system)
            except Refusal as refusal:
                faults += refusal.faults
    rig = Rig(full, values, tuple(path for path in FIELDS if path not in texts))
    if not faults:
        faults += _disagreements(rig)
    if faults:
        raise Refusal(*faults)
    return rig


def _value(field: Field, text: str, system: System) -> float | str | None:
    if field.optional and not text.strip():
        return None
    if field.choices:
        if text not in field.choices:
            allowed = ", ".join(field.choices)
            near = get_close_matches(text[:LONGEST], field.choices, 1)
            raise _refusal(
                field, text, f"one of: {allowed}", f"“{text[:LONGEST]}” is not one of the choices", tuple(near)
            )
        return text
    if field.kind is None:
        if not text.strip() or len(text) > field.longest or not _printable(field, text):
            raise _refusal(field, text, f"1 to {field.longest} printable characters", "this text cannot be used")
        return text
    value = read(text, field.kind, field.path, field.label, system)
    if not field.low <= value <= field.high:
        allowed = limits(field, system)
        raise _refusal(field, text, allowed, f"{text.strip()} is outside what is computed here")
    return value


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
    message = f"{field.label}: {reason}. Allowed: {allowed}."
    return Refusal(
        Fault(
            message=message,
            field=field.path,
            label=field.label,
            given=given[: 2 * LONGEST],
            allowed=allowed,
            readings=readings,
        )
    )


def _unknown(path: str) -> Fault:
    near = get_close_matches(path[:LONGEST], FIELDS, 1, 0.5)
    hint = f" Did you mean {near[0]}?" if near else ""
    return Fault(
        message=f"{path[:LONGEST]}: a rig has no such field.{hint}",
        field="",
        label=path[:LONGEST],
        given=path[: 2 * LONGEST],
        allowed=near[0] if near else "",
        readings=tuple(near),
    )


def _disagreements(rig: Rig) -> list[Fault]:
    """Fields that are each in range but cannot be true together."""
    found: list[Fault] = []

    def fault(path: str, allowed: str, reason: str) -> None:
        label = FIELDS[path].label
        found.append(
            Fault(
                message=f"{label}: {reason} Allowed: {allowed}.",
                field=path,
                label=label,
                given=rig.texts[path],
                allowed=allowed,
            )
        )

    if rig.number("nose.mass") >= rig.number("rocket.mass"):
        fault(
            "nose.mass",
            f"less than the {rig.texts['rocket.mass']} coming down",
            "the nose cannot weigh as much as all that comes down.",
        )
    if rig.number("nose.length") >= rig.number("rocket.length"):
        fault(
            "nose.length",
            f"less than the rocket's {rig.texts['rocket.length']}",
            "the nose cannot be as long as the rocket.",
        )
    if rig.number("rocket.shoulder") >= rig.number("rocket.bay"):
        fault(
            "rocket.shoulder",
            f"less than the bay's {rig.texts['rocket.bay']}",
            "the shoulder would fill the whole bay.",
        )
    if (rig.optional("pack.beside") or 0.0) > 0.9 * rig.number("rocket.tube"):
        fault(
            "pack.beside",
            f"at most nine tenths of the tube's {rig.texts['rocket.tube']}",
            "this leaves the canopy no room.",
        )
    along = rig.texts["cord.layout"] == NOSE_ALONG
    if along and rig.number("cord.gap") >= rig.number("cord.length"):
        fault("cord.gap", f"less than the cord's {rig.texts['cord.length']}", "the nose cannot hang beyond the anchor.")
    weighed = rig.optional("canopy.mass")
    lines = rig.number("canopy.sides") * rig.number("lines.length") * rig.number("lines.mass")
    if weighed is not None:
        if weighed + rig.number("nose.mass") >= rig.number("rocket.mass"):
            fault(
                "canopy.mass",
                f"less than the {rig.texts['rocket.mass']} coming down, with the nose",
                "canopy and nose together cannot weigh as much as all that comes down.",
            )
        elif weighed <= lines:
            fault(
                "canopy.mass",
                f"more than its lines alone, {show(lines, FIELDS['canopy.mass'].kind, rig.units)}",  # type: ignore[arg-type]
                "canopy and lines weigh less than the lines alone.",
            )
    if rig.texts["canopy.family"] == "cross" and (rig.number("canopy.sides") % 4 or rig.number("canopy.sides") < 8):
        fault(
            "canopy.sides",
            "8, 12, 16 … 32",
            "a cross has the same number of lines, at least two, on each of four arms.",
        )
    if rig.texts["canopy.family"] == MEASURED and rig.number("canopy.cd_low") > rig.number("canopy.cd_high"):
        fault("canopy.cd_low", f"at most {rig.texts['canopy.cd_high']}", "the least Cd is above the greatest.")
    if rig.texts["flight.recovery"] == TWO_PARTS and rig.number("second.mass") >= rig.number("rocket.mass"):
        fault(
            "second.mass",
            f"less than the {rig.texts['rocket.mass']} coming down",
            "one part cannot weigh as much as all.",
        )
    if rig.texts["flight.recovery"] == DROGUE_MAIN and rig.number("flight.apogee") <= rig.number("flight.release"):
        fault("flight.release", f"below the apogee, {rig.texts['flight.apogee']}", "the main opens below the drogue.")
    measured = rig.texts["second.family"] == MEASURED and rig.texts["flight.recovery"] in TWO_STAGES
    if measured and rig.number("second.cd_low") > rig.number("second.cd_high"):
        fault("second.cd_low", f"at most {rig.texts['second.cd_high']}", "the least Cd is above the greatest.")
    layers = rig.texts["flight.layers"]
    if layers.strip():
        try:
            read_layers(layers, "flight.layers", FIELDS["flight.layers"].label)
        except Refusal as refusal:
            found += refusal.faults
    top = max(rig.number("flight.release"), rig.optional("flight.apogee") or 0.0)
    if rig.number("site.elevation") + top > 20_000:
        fault(
            "flight.release",
            "site elevation and release height together at most 20 km",
            "this is above the air used here.",
        )
    return found


# --- files ------------------------------------------------------------------------------------------


def load(text: str) -> dict[str, str]:
    """Path -> text from a TOML or JSON rig file, or from a link. Raises `Refusal` with all faults.

    Values may be texts or plain numbers. A field that a file must say and does not is a fault; a link is flat JSON,
    path -> text, and carries only what differs from the defaults.
    """
    data = _parsed(text)
    texts = _flattened(data)
    is_link = text.lstrip().startswith("{") and not any(isinstance(value, dict) for value in data.values())
    faults = (
        []
        if is_link
        else [
            Fault(
                message=f"{field.label}: the file does not say {path}.",
                field=path,
                label=field.label,
                allowed=f'{path.split(".")[1]} = "{field.default}" under [{path.split(".")[0]}], for example',
            )
            for path, field in FIELDS.items()
            if field.required and path not in texts and is_relevant(field, DEFAULTS | texts)
        ]
    )
    if faults:
        raise Refusal(*faults)
    return texts


def _parsed(text: str) -> dict[str, Any]:
    if len(text) > LARGEST_FILE:
        raise Refusal(Fault(message=f"The file is larger than a rig can be ({LARGEST_FILE} characters)."))
    stripped = text.lstrip("\ufeff \t\r\n")
    is_json = stripped.startswith("{")
    try:
        data: dict[str, Any] = json.loads(stripped) if is_json else tomllib.loads(text.lstrip("\ufeff"))
    except (ValueError, RecursionError) as error:
        kind = "JSON" if is_json else "TOML"
        raise Refusal(Fault(message=f"The file cannot be read as {kind}: {error}", given=text[:LONGEST])) from None
    return data


def _flattened(data: Mapping[str, Any]) -> dict[str, str]:
    texts: dict[str, str] = {}
    faults: list[Fault] = []
    for key, value in data.items():
        rows = {f"{key}.{name}": row for name, row in value.items()} if isinstance(value, dict) else {key: value}
        for path, row in rows.items():
            if path not in FIELDS:
                faults.append(_unknown(path))
            elif isinstance(row, bool) or not isinstance(row, str | int | float):
                label = FIELDS[path].label
                faults.append(
                    Fault(
                        message=f'{label}: a text such as "{FIELDS[path].default}" is wanted.',
                        field=path,
                        label=label,
                        given=f"a {type(row).__name__}",
                        allowed="a text or a number",
                    )
                )
            else:
                texts[path] = row if isinstance(row, str) else repr(row)
    if faults:
        raise Refusal(*faults)
    return texts


def _tables(texts: Mapping[str, str]) -> dict[str, dict[str, str]]:
    tables: dict[str, dict[str, str]] = {group: {} for group in GROUPS}
    for path in FIELDS:
        if path in texts:
            group, name = path.split(".")
            tables[group][name] = texts[path]
    return {group: table for group, table in tables.items() if table}


def to_toml(texts: Mapping[str, str]) -> str:
    """A rig file; what is written is what was typed, sound or not."""
    return tomli_w.dumps(_tables(texts))


def to_json(texts: Mapping[str, str]) -> str:
    return json.dumps(_tables(texts), ensure_ascii=False, indent=2) + "\n"
