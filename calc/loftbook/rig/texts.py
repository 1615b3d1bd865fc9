"""Texts from outside before they are read: half a sign, which JSON can spell and no file can hold, is read as browsers write it."""

import json
import re
from typing import Any

_LONE = re.compile("[\ud800-\udfff]")
_HALF = re.compile(r"\\u[dD][89a-fA-F]")  # a pair of halves is a sign, so this finds more than is wrong


def whole(text: str) -> str:
    """The same text, each half of a sign (a lone surrogate) as U+FFFD: so it can be written to a file, a terminal or a page.

    Domain: any text. Errors: none. Source: the conversion to scalar values of the Encoding Standard.
    """
    return _LONE.sub("\ufffd", text)  # codecs of other widths are not in the browser's memory image


def read_json(text: str) -> Any:
    """What a text of JSON says, every text in it whole.

    Domain: any text. Errors: ValueError for what is no JSON, RecursionError for what is nested too deeply. Source: RFC 8259, section 8.2,
    which leaves open what becomes of half a sign.
    """
    data = json.loads(whole(text))
    return json.loads(whole(json.dumps(data, ensure_ascii=False))) if _HALF.search(text) else data
