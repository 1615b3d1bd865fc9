"""Texts from outside before they are read: half a sign, which JSON can spell and no file can hold, is read as browsers write it."""

import json
import re
from typing import Any

_LONE = re.compile("[\ud800-\udfff]")
_HALF = re.compile(r"\\u[dD][89a-fA-F]")  # a pair of halves is a sign, so this finds more than is wrong
_STRING = re.compile(r'"(?:[^"\\]++|\\.)*+"?', re.DOTALL)
_BRACKET = re.compile(r"[\[\]{}]")
MOST_NESTED = 50  # ours goes five deep; a browser's stack ends far earlier than Python's own limit thinks


def _nested(text: str) -> int:
    """How deep brackets stand in each other outside of its strings, at the deepest; what is not deep for sure is not looked at."""
    if text.count("[") + text.count("{") <= MOST_NESTED:
        return 0
    depth = deepest = 0
    for bracket in _BRACKET.finditer(_STRING.sub("", text)):
        depth += 1 if bracket[0] in "[{" else -1
        deepest = max(deepest, depth)
    return deepest


def whole(text: str) -> str:
    """The same text, each half of a sign (a lone surrogate) as U+FFFD: so it can be written to a file, a terminal or a page.

    Domain: any text. Errors: none. Source: the conversion to scalar values of the Encoding Standard.
    """
    return _LONE.sub("\ufffd", text)  # codecs of other widths are not in the browser's memory image


def read_json(text: str) -> Any:
    """What a text of JSON says, every text in it whole.

    Domain: any text. Errors: ValueError for what is no JSON or is nested too deeply. Source: RFC 8259, section 8.2,
    which leaves open what becomes of half a sign.
    """
    if _nested(text) > MOST_NESTED:
        raise ValueError(f"it is nested more than {MOST_NESTED} deep")
    data = json.loads(whole(text))
    return json.loads(whole(json.dumps(data, ensure_ascii=False))) if _HALF.search(text) else data
