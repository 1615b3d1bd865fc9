"""QR codes (ISO/IEC 18004), the symbol by segno, the picture on our own terms: dark on white in every theme."""

import itertools
from collections.abc import Iterator, Sequence

import segno
from segno.encoder import DataOverflowError

from loftbook.drawing.markup import element
from loftbook.drawing.svg import Drawing, picture
from loftbook.errors import Fault, Refusal

QUIET = 4  # modules of white round the symbol, as the standard asks


def qr_code(text: str, name: str) -> Drawing:
    """A link (ASCII) as a QR code, error level L, smallest version that holds it. Refuses what no symbol can hold."""
    if not (text and text.isascii() and text.isprintable()):
        allowed = "an address of plain ASCII characters"
        raise Refusal(
            Fault(message=f"This is no link for a QR code. Allowed: {allowed}.", given=text[:60], allowed=allowed)
        )
    try:
        symbol = segno.make_qr(text, error="l", boost_error=True)
    except DataOverflowError:
        raise Refusal(
            Fault(message="This link is too long for a QR code: share the file instead.", given=text[:60])
        ) from None
    rows = list(symbol.matrix)
    size = len(rows) + 2 * QUIET
    paper = element("rect", width=str(size), height=str(size), fill="#fff")
    ink = element("path", d="".join(_runs(rows)), fill="#000", shape_rendering="crispEdges")
    return picture(name, "QR code of a link.", (size, size), (paper, ink), "loft-qr")


def _runs(rows: Sequence[bytearray]) -> Iterator[str]:
    """Dark modules in a row as one rectangle each."""
    for y, row in enumerate(rows, QUIET):
        x = QUIET
        for dark, modules in itertools.groupby(row):
            run = len(list(modules))
            if dark:
                yield f"M{x} {y}h{run}v1h-{run}z"
            x += run
