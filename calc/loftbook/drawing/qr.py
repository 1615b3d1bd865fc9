"""QR codes (ISO/IEC 18004), the symbol by segno, the picture on our own terms: dark on white in every theme."""

from xml.etree import ElementTree

import segno
from segno.encoder import DataOverflowError

from loftbook.drawing.svg import Drawing
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
    root = ElementTree.Element(
        "svg",
        {
            "viewBox": f"0 0 {size} {size}",
            "role": "img",
            "class": "loft-qr",
            "xmlns": "http://www.w3.org/2000/svg",
            "shape-rendering": "crispEdges",
        },
    )
    ElementTree.SubElement(root, "title").text = f"{name}. QR code of a link."
    ElementTree.SubElement(root, "rect", {"width": str(size), "height": str(size), "fill": "#fff"})
    path = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            run = 1
            while x + run < len(row) and row[x + run] == row[x]:
                run += 1
            if row[x]:
                path.append(f"M{x + QUIET} {y + QUIET}h{run}v1h-{run}z")
            x += run
    ElementTree.SubElement(root, "path", {"d": "".join(path), "fill": "#000"})
    return Drawing(name, "QR code of a link.", ElementTree.tostring(root, encoding="unicode"))
