"""Rig files and links: TOML and JSON hold the same nested tables, `[main.canopy]` for instance; a link is flat JSON."""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import tomli_w

from loftbook.errors import Fault, Refusal
from loftbook.quantity import LONGEST
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.parsing import completed, is_relevant, unknown_fields
from loftbook.rig.texts import read_json, whole

LARGEST_FILE = 65_536  # characters; a whole rig with every field is about 9,000
DEEPEST = 3  # parts of a path
LONGEST_KEY = 50  # parts: the time that tomllib takes for a key grows with the square of them
MOST_BITS = 64  # of a whole number; one in hexadecimal may have any number of digits
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')[ \t]*+"""
_LONG_KEY = re.compile(rf"(?:^|[\n\[{{,])[ \t]*+(?:{_PART}\.[ \t]*+){{{LONGEST_KEY}}}")


def load(text: str) -> dict[str, str]:
    """Path -> text from a TOML or JSON rig file, or from a link. Raises `Refusal` with all faults.

    Values may be texts or plain numbers. A file says its required fields, or names the starting rig that they come from;
    what is missing is a fault. A link is flat JSON, path -> text, and carries only what was typed.
    """
    text = whole(text)
    data = _parsed(text)
    texts = _flattened(data)
    is_link = _bare(text).startswith("{") and not any(isinstance(value, dict) for value in data.values())
    begun = is_link or "rig.start" in texts
    full = completed(texts)
    faults = [
        Fault(
            message=f"{field.full}: the file does not say {path}.",
            field=path,
            label=field.full,
            allowed=f'{path.rpartition(".")[2]} = "{field.default}" under [{field.group}], for example',
        )
        for path, field in FIELDS.items()
        if not begun and field.required and path not in texts and is_relevant(field, full)
    ]
    if faults:
        raise Refusal(*faults)
    return texts


def _bare(text: str) -> str:
    """Without the mark and the white space that may stand before it."""
    return text.lstrip("\ufeff \t\r\n")


def _parsed(text: str) -> dict[str, Any]:
    if len(text) > LARGEST_FILE:
        raise Refusal(Fault(message=f"The file is larger than a rig can be ({LARGEST_FILE} characters)."))
    stripped = _bare(text)
    is_json = stripped.startswith("{")
    if not is_json and (key := _LONG_KEY.search(text)):
        line = text.count("\n", 0, key.end()) + 1
        raise Refusal(Fault(message=f"Line {line} of the file: a name in it has more than {LONGEST_KEY} parts. A field's has {DEEPEST}.", given=key[0].strip()[:LONGEST]))
    try:
        data: dict[str, Any] = read_json(stripped) if is_json else tomllib.loads(text.lstrip("\ufeff"))
    except (ValueError, RecursionError) as error:
        kind = "JSON" if is_json else "TOML"
        raise Refusal(Fault(message=f"The file cannot be read as {kind}: {error}", given=text[:LONGEST])) from None
    return data


def _leaves(data: Mapping[str, Any], above: str = "", depth: int = 1) -> Iterator[tuple[str, Any]]:
    """Every value with its path; a table nested deeper than a path goes counts as a value."""
    for key, value in data.items():
        if isinstance(value, dict) and depth < DEEPEST:
            yield from _leaves(value, f"{above}{key}.", depth + 1)
        else:
            yield f"{above}{key}", value


def _is_said(row: object) -> bool:
    """Whether it is a text, or a number that can be written as one."""
    if isinstance(row, int):
        return not isinstance(row, bool) and row.bit_length() <= MOST_BITS
    return isinstance(row, str | float)


def _flattened(data: Mapping[str, Any]) -> dict[str, str]:
    rows = dict(_leaves(data))
    faults = list(unknown_fields(path for path in rows if path not in FIELDS))
    texts: dict[str, str] = {}
    for path, row in rows.items():
        if path not in FIELDS:
            continue
        if not _is_said(row):
            field = FIELDS[path]
            faults.append(
                Fault(
                    message=f'{field.full}: a text such as "{field.default}" is wanted.',
                    field=path,
                    label=field.full,
                    given=f"a {type(row).__name__}",
                    allowed="a text or a number",
                )
            )
        else:
            texts[path] = row if isinstance(row, str) else repr(row)
    if faults:
        raise Refusal(*faults)
    return texts


def _tables(texts: Mapping[str, str]) -> dict[str, Any]:
    """The same as nested tables, in the order of the declarations."""
    tables: dict[str, Any] = {}
    for path in FIELDS:
        if path in texts:
            table = tables
            *groups, name = path.split(".")
            for group in groups:
                table = table.setdefault(group, {})
            table[name] = texts[path]
    return tables


def to_toml(texts: Mapping[str, str]) -> str:
    """A rig file; what is written is what was typed, sound or not."""
    return tomli_w.dumps(_tables(texts))


def starting_file(start: str) -> str:
    """A rig file to begin with: it says only which starting rig it comes from, so nothing in it counts as the reader's yet.

    Every field that matters for its way down stands in it as a comment; it counts when the sign before it is taken away.
    """
    texts = STARTS[start]
    rows = to_toml({path: text for path, text in texts.items() if is_relevant(FIELDS[path], texts)}).splitlines()
    lines = [row if not row or row[0] == "[" or row.startswith("start = ") else f"# {row}" for row in rows]
    head = ("# Take the # away before what you measured or change; all else stays the starting rig's.", "")
    return "\n".join((*head, *lines)) + "\n"


def to_json(texts: Mapping[str, str]) -> str:
    """The same as JSON."""
    return json.dumps(_tables(texts), ensure_ascii=False, indent=2) + "\n"
