"""Sheets of a sewing pattern as Chromium prints them, read back from the PDF: true size, on every paper, and nothing lost."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from pypdf import PageObject, PdfReader, Transformation
from pypdf.generic import ContentStream
from shapely import LineString, Polygon, affinity, unary_union

from conftest import until
from loftbook.drawing.pattern import FULL, LOOKS, MODEL, Part, Point
from loftbook.errors import Refusal
from loftbook.faces import cutting
from loftbook.faces.sheets import EDGE, MARGIN, OVERLAP, PAPERS, printed, tiles
from loftbook.rig.parsing import parse
from loftbook.worked.worked import Worked

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
STYLES = ROOT / "docs" / "assets" / "style"
Box = tuple[float, float, float, float]
MM = 25.4 / 72  # millimetres in a point
TRUE = 0.1  # mm: how true a print must be


@dataclass
class Drawn:
    """What was stroked on a page: rows of points [mm from its upper left corner], each with the width of its line [mm]."""

    lines: list[tuple[float, list[Point]]] = field(default_factory=list)

    def wide(self, width: float) -> list[list[Point]]:
        return [run for one, run in self.lines if one == pytest.approx(width, abs=0.02)]


def matrix(numbers: list[float]) -> Transformation:
    a, b, c, d, e, f = map(float, numbers)
    return Transformation((a, b, c, d, e, f))


def strokes(page: PageObject) -> Drawn:
    """The straight lines that a page strokes, through the matrices of its content; refuses what it cannot follow."""
    drawn, high = Drawn(), float(page.mediabox.height)
    walk(page, page.get_contents(), Transformation(), high, drawn)
    return drawn


def walk(page: PageObject, content: ContentStream | None, at: Transformation, high: float, drawn: Drawn) -> None:
    assert content is not None
    kept: list[tuple[Transformation, float, Box]] = []
    width, seen, runs = 1.0, (-1e9, -1e9, 1e9, 1e9), list[list[Point]]()
    for operands, operator in content.operations:
        numbers = [float(one) for one in operands] if all(isinstance(one, int | float) for one in operands) else []
        match operator:
            case b"q":
                kept.append((at, width, seen))
            case b"Q":
                at, width, seen = kept.pop()
            case b"cm":
                at = matrix(numbers).transform(at)
            case b"w":
                width = numbers[0]
            case b"gs":  # Chromium sets the width of lines in a state of its own
                state = page["/Resources"]["/ExtGState"][operands[0]].get_object()  # type: ignore[index]
                width = float(state.get("/LW", width))
            case b"m":
                runs.append([placed(at, numbers, high)])
            case b"l":
                runs[-1].append(placed(at, numbers, high))
            case b"c":
                runs[-1].append(placed(at, numbers[4:], high))  # a ring: only its ends are kept
            case b"h":
                runs[-1].append(runs[-1][0])
            case b"re":
                x, y, across, down = numbers
                corners = ((x, y), (x + across, y), (x + across, y + down), (x, y + down), (x, y))
                runs.append([placed(at, list(corner), high) for corner in corners])
            case b"W" | b"W*":
                seen = LineString(runs[-1]).bounds
            case b"S":
                # what is cut off by the edge of its picture is not drawn
                assert all(seen[0] - TRUE < x < seen[2] + TRUE and seen[1] - TRUE < y < seen[3] + TRUE for run in runs for x, y in run)
                (a, b, *_) = at.ctm
                drawn.lines += [(width * (a * a + b * b) ** 0.5 * MM, run) for run in runs]
                runs = []
            case b"s" | b"B" | b"b" | b"v" | b"y":
                raise AssertionError(f"unforeseen: {operator!r}")
            case b"f" | b"f*" | b"n":
                runs = []
            case b"Do":
                form = page["/Resources"]["/XObject"][operands[0]].get_object()  # type: ignore[index]
                assert form["/Subtype"] != "/Form", "drawn in a form"


def placed(at: Transformation, spot: list[float], high: float) -> Point:
    x, y = at.apply_on((spot[0], spot[1]))
    return x * MM, (high - y) * MM


# --- what is printed ----------------------------------------------------------------------------------


def gore(across: float, down: float, folded: bool = False) -> Part:
    """Curved sides, not the same from left to right, so that a mirrored print is seen."""
    steps = [at / 80 for at in range(81)]
    left = [(-across * (1 - step**2) ** 0.5 * 0.4 - 0.02, down * step) for step in steps]
    right = [(0.0, down), (0.0, 0.0)] if folded else [(across * 0.6 * (1 - 0.9 * step**3), down * step) for step in reversed(steps)]
    finished = [*left, *right]
    cut = list(Polygon(finished).buffer(0.0 if folded else 0.012, join_style="mitre").exterior.coords)[:-1]
    notches = ((-0.4 * across - 0.01, 0.01), (-0.4 * across, 0.01))
    grain = (-0.1 * across, 0.2 * down), (-0.1 * across, 0.7 * down)
    return Part("main", "gore", 8, tuple(finished), tuple(cut), (notches,), grain, ("seams 12 mm", "hem 20 mm"), layers=1 + folded, folds=(((0.0, 0.0), (0.0, 1.0)),) if folded else ())


MAIN, DROGUE, HALF = gore(0.91, 1.1), gore(0.12, 0.3), gore(0.8, 0.7, folded=True)


def theme() -> list[Path]:
    import material

    return sorted((Path(material.__path__[0]) / "templates/assets/stylesheets").glob("*.css"))


def page_of(inside: str, guide: bool) -> str:
    """The sheets in a page with their own styles alone, or as a page of the guide has them."""
    files = [*theme(), *sorted(STYLES.glob("*.css"))] if guide else [STYLES / "pattern.css"]
    styles = "".join(f"<style>{file.read_text()}</style>" for file in files)
    body = f"<body>{inside}</body>"
    if guide:
        body = (
            '<body data-md-color-scheme="slate"><div class="md-container"><main class="md-main"><div class="md-main__inner md-grid">'
            f'<div class="md-content"><article class="md-content__inner md-typeset"><p>Before.</p><div><div>{inside}</div></div><p>After.</p></article></div></div></main></div></body>'
        )
    return f"<!doctype html><html lang=en><head><meta charset=utf-8>{styles}</head>{body}</html>"


def pdf(chromium: Browser, parts: tuple[Part, ...], paper: str, per: int = FULL, guide: bool = False) -> PdfReader:
    page = chromium.new_page()
    page.set_content(page_of(printed(parts, PAPERS[paper], per), guide))
    made = page.pdf(prefer_css_page_size=True)
    page.close()
    return PdfReader(io.BytesIO(made))


@pytest.fixture(scope="module", params=list(PAPERS))
def print_of_main(request: pytest.FixtureRequest, chromium: Browser) -> tuple[str, PdfReader]:
    return request.param, pdf(chromium, (MAIN,), request.param)


def squares(drawn: Drawn) -> Iterator[tuple[float, float]]:
    """Width and height of every upright box whose sides are at least 5 mm and end where they began."""
    for run in drawn.wide(0.5):
        if len(run) == 5 and run[0] == run[-1]:
            assert all(min(abs(x1 - x0), abs(y1 - y0)) < 0.01 for (x0, y0), (x1, y1) in pairwise(run))
            (x0, y0), (x1, y1) = run[0], run[2]
            yield abs(x1 - x0), abs(y1 - y0)


def diagonals(drawn: Drawn) -> list[float]:
    return [LineString(run).length for run in drawn.wide(0.5) if len(run) == 2]


# --- true size ----------------------------------------------------------------------------------------


def test_the_square_and_its_diagonal_are_true(print_of_main: tuple[str, PdfReader]) -> None:
    _paper, document = print_of_main
    first = strokes(document.pages[0])
    (size,) = squares(first)
    assert size == pytest.approx((100, 100), abs=TRUE)
    (diagonal,) = diagonals(first)
    assert diagonal == pytest.approx(141.42, abs=TRUE)


def test_every_page_is_one_sheet_of_its_paper(print_of_main: tuple[str, PdfReader]) -> None:
    paper, document = print_of_main
    tiling = tiles(MAIN, PAPERS[paper])
    for page in document.pages:
        size = float(page.mediabox.width) * MM, float(page.mediabox.height) * MM
        assert size == pytest.approx((PAPERS[paper].width, PAPERS[paper].height), abs=0.3)  # the browser rounds to its own dots
    assert len(document.pages) == 1 + len(tiling.sheets)


def test_nothing_is_drawn_where_a_printer_cannot_print(print_of_main: tuple[str, PdfReader]) -> None:
    paper, document = print_of_main
    for page in document.pages:
        for _, run in strokes(page).lines:
            for x, y in run:
                assert MARGIN - 0.5 < x < PAPERS[paper].width - MARGIN + 0.5
                assert MARGIN - 0.5 < y < PAPERS[paper].height - MARGIN + 0.5


# --- nothing lost -------------------------------------------------------------------------------------


def rebuilt(document: PdfReader, part: Part, paper: str, width: float, per: int = FULL) -> list[LineString]:
    """The lines of that width on every sheet, laid where its printed name says: row by letter, column by number [mm].

    A sheet's window begins EDGE inside its margin; from sheet to sheet it is a window less the overlap.
    """
    step = tiles(part, PAPERS[paper], per=per).step
    found = []
    for page in document.pages[-len(tiles(part, PAPERS[paper], per=per).sheets) :]:
        name = re.search(rf"([A-P])(\d+)\s+{part.title}; cut", page.extract_text())
        assert name, page.extract_text()
        x = (int(name[2]) - 1) * step[0] - MARGIN - EDGE
        y = (ord(name[1]) - ord("A")) * step[1] - MARGIN - EDGE
        found += [LineString([(x + px, y + py) for px, py in run]) for run in strokes(page).wide(width)]
    return found


def wanted(part: Part, turned: bool, lines: list[LineString], per: int = FULL) -> LineString:
    """The cut outline as this test draws it [mm], y down, moved (never turned over) onto the lines found."""
    size = 1000 / per
    outline = LineString([(size * x, -size * y) for x, y in (*part.cut, part.cut[0])])
    if turned:
        outline = affinity.rotate(outline, 90, origin=(0, 0))
    whole = unary_union(lines).bounds
    return affinity.translate(outline, whole[0] - outline.bounds[0], whole[1] - outline.bounds[1])


def agree(outline: LineString, lines: list[LineString]) -> None:
    """Every point of an outline lies on a line that was found, and no line beside it, to a tenth of a millimetre."""
    found = unary_union(lines)
    assert outline.difference(found.buffer(TRUE)).length == 0
    assert found.difference(outline.buffer(TRUE)).length == 0
    assert found.length > 0.99 * outline.length


CASES = {"main": MAIN, "drogue": DROGUE}


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", CASES)
def test_the_outline_is_whole_on_the_glued_sheets(chromium: Browser, name: str, paper: str) -> None:
    part = CASES[name]
    lines = rebuilt(pdf(chromium, (part,), paper), part, paper, LOOKS["cut"][0])
    agree(wanted(part, tiles(part, PAPERS[paper]).turned, lines), lines)


def test_of_a_half_the_fold_is_printed_too(chromium: Browser) -> None:
    document = pdf(chromium, (HALF,), "a4")
    cut, fold = (rebuilt(document, HALF, "a4", LOOKS[kind][0]) for kind in ("cut", "fold"))
    turned = tiles(HALF, PAPERS["a4"]).turned
    agree(wanted(HALF, turned, [*cut, *fold]), [*cut, *fold])
    assert unary_union(fold).length == pytest.approx(700, abs=0.5)


def test_a_sheet_that_is_missing_is_noticed(chromium: Browser) -> None:
    """The search for what is lost finds what is lost."""
    lines = rebuilt(pdf(chromium, (MAIN,), "a4"), MAIN, "a4", LOOKS["cut"][0])
    outline = wanted(MAIN, tiles(MAIN, PAPERS["a4"]).turned, lines)
    longest = max(lines, key=lambda one: one.length)
    with pytest.raises(AssertionError):
        agree(outline, [one for one in lines if one is not longest])
    with pytest.raises(AssertionError):
        agree(affinity.scale(outline, -1, 1), lines)


def test_sheets_overlap_as_they_say(chromium: Browser) -> None:
    """What is drawn on the strip that is glued over is drawn on the neighbour too: together longer than the outline."""
    lines = rebuilt(pdf(chromium, (MAIN,), "a4"), MAIN, "a4", LOOKS["cut"][0])
    twice = sum(one.length for one in lines) - unary_union([one.buffer(0.05) for one in lines]).area / 0.1
    joints = 2 * (tiles(MAIN, PAPERS["a4"]).rows - 1)  # an outline crosses each joint of rows twice at least
    assert twice > 0.9 * joints * OVERLAP


def test_a_paper_model_is_a_tenth(chromium: Browser) -> None:
    document = pdf(chromium, (MAIN,), "a4", MODEL)
    thin = LOOKS["cut"][0] / 2
    lines = rebuilt(document, MAIN, "a4", thin, MODEL)
    agree(wanted(MAIN, False, lines, MODEL), lines)
    small, large = sorted(squares(strokes(document.pages[0])))
    assert (*small, *large) == pytest.approx((10, 10, 100, 100), abs=TRUE)


# --- in the guide -------------------------------------------------------------------------------------


def test_the_guides_other_styles_do_not_scale_it(chromium: Browser) -> None:
    for paper in PAPERS:
        document = pdf(chromium, (DROGUE,), paper, guide=True)
        sheets = 1 + len(tiles(DROGUE, PAPERS[paper]).sheets)
        assert len(document.pages) == sheets  # what stands before and after them is not printed with them
        (size,) = squares(strokes(document.pages[0]))
        assert size == pytest.approx((100, 100), abs=TRUE)
        lines = rebuilt(document, DROGUE, paper, LOOKS["cut"][0])
        agree(wanted(DROGUE, tiles(DROGUE, PAPERS[paper]).turned, lines), lines)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("scripts", [True, False], ids=["live", "static"])
def test_the_page_itself_prints_true_sheets_and_nothing_else(chromium: Browser, site_url: str, paper: str, scripts: bool) -> None:
    """Of the demo rig's main, as a reader prints it; without scripts on the first paper alone."""
    page = chromium.new_page(java_script_enabled=scripts)
    page.goto(f"{site_url}pattern/")
    if scripts:
        until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")
        page.locator(f"[aria-label=paper] button[data-value={paper}]").click()
        until(page, f"document.querySelector('.loft-sheets').dataset.paper === '{paper}' && !document.querySelector('[aria-busy=true]')")
    elif paper != next(iter(PAPERS)):
        page.close()
        return
    document = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    page.close()
    (part,) = cutting.parts(Worked(parse({})), "main", folding=True)
    (made,) = cutting.pattern(Worked(parse({})), "main", paper, "full")
    assert len(document.pages) == made.count('class="loft-sheet"') > len(tiles(part, PAPERS[paper]).sheets)
    (size,) = squares(strokes(document.pages[0]))
    assert size == pytest.approx((100, 100), abs=TRUE)
    lines = rebuilt(document, part, paper, LOOKS["cut"][0])
    agree(wanted(part, tiles(part, PAPERS[paper]).turned, lines), lines)
    assert all("Demo rig, not yours" in sheet.extract_text() for sheet in document.pages)


def test_another_canopy_another_scale_and_one_picture(chromium: Browser, site_url: str) -> None:
    page = chromium.new_page(accept_downloads=True)
    page.goto(f"{site_url}pattern/")
    until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")
    page.locator(".loft-bays button[data-bay=drogue]").click()
    until(page, "document.querySelector('.loft-sheets').textContent.includes('drogue · wedge')")
    page.locator("[aria-label=scale] button[data-value=model]").click()
    until(page, "document.querySelectorAll('.loft-sheet').length === 2")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as one picture").click()
    assert download.value.suggested_filename.endswith(".svg")
    page.close()


@pytest.mark.parametrize("width", [360, 1280])
def test_on_a_screen_sheets_are_small_and_side_by_side(chromium: Browser, width: int) -> None:
    page = chromium.new_page(viewport={"width": width, "height": 800})
    page.set_content(page_of(printed((MAIN,), PAPERS["a4"]), guide=True))
    boxes = page.evaluate("[...document.querySelectorAll('.loft-sheet')].map(s => s.getBoundingClientRect().toJSON())")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert boxes[0]["top"] == boxes[1]["top"]
    assert all(box["width"] < 260 for box in boxes)
    assert page.evaluate("[...document.querySelectorAll('.loft-sheet')].map(s => getComputedStyle(s).backgroundColor)")[0] == "rgb(255, 255, 255)"
    page.close()


def test_a_piece_of_fifteen_metres_is_refused_in_words() -> None:
    with pytest.raises(Refusal, match="more sheets of A4 paper than can be glued true"):
        printed((gore(15, 15),), PAPERS["a4"])
