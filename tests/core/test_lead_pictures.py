"""The pictures that lead a page: the canopy that is needed over the one there is, the chain, the failures' ways down.

Read back from their text and compared with what they were made from, or with what the answer says elsewhere.
"""

import re
from xml.etree import ElementTree

import pytest
from rigs import worked

from loftbook.calculators import CALCULATORS
from loftbook.drawing.failing import Way, ways_down
from loftbook.drawing.links import Link, links
from loftbook.quantity import LENGTH, SPEED, at_least, read
from loftbook.rig.ways import MAIN
from loftbook.worked.failures import Failures
from loftbook.worked.sewn import Sewn

SVG = "{http://www.w3.org/2000/svg}"
FAMILIES = ("flat polygon", "flat circular", "annular", "cross", "conical", "hemispherical", "semi-ellipsoid")


def shapes(svg: str, class_: str) -> list[ElementTree.Element]:
    return [one for one in ElementTree.fromstring(svg).iter() if class_ in one.attrib.get("class", "").split()]


def spots(shape: ElementTree.Element) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in shape.attrib["points"].split())]


def extent(found: list[ElementTree.Element]) -> tuple[float, float]:
    """Width and height over several outlines."""
    xs, ys = zip(*(spot for one in found for spot in spots(one)), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("mass", ["3.5 kg", "5.6 kg", "9 kg"])
def test_the_canopy_needed_is_drawn_to_the_scale_of_yours(family: str, mass: str) -> None:
    one = worked({"rocket.mass": mass, "main.canopy.family": family}).canopies[MAIN]
    assert one.wanted_size
    drawing = CALCULATORS["canopy"].answer(worked({"rocket.mass": mass, "main.canopy.family": family}), MAIN).drawings[0]
    yours = extent([shape for shape in shapes(drawing.svg, "cloth") if shape.tag == f"{SVG}polygon"])
    needed = extent([shape for shape in shapes(drawing.svg, "wanted") if shape.tag == f"{SVG}polygon"])
    for mine, wanted in zip(yours, needed, strict=True):
        assert wanted / mine == pytest.approx(one.wanted_size.high / one.size, rel=0.02)


@pytest.mark.parametrize("across", ["flat to flat", "corner to corner"])
def test_the_sentence_asks_for_a_size_that_is_slow_enough(across: str) -> None:
    """Typed as it stands, as the reader measures, the size that is needed comes down no faster than wanted in its worst corner."""
    said = {"main.canopy.across": across, "main.canopy.size": "1.5 m"}
    match = re.search(r"needs (.+?) (?:flat to flat|corner to corner) for (.+?); yours, (.+?), gives", CALCULATORS["canopy"].answer(worked(said), MAIN).summary)
    assert match
    assert read(match[3], LENGTH) == pytest.approx(1.5)
    again = worked(said | {"main.canopy.size": match[1]})
    assert again.canopies[MAIN].rate.high <= read(match[2], SPEED) * (1 + 1e-9)
    wanted = Sewn(worked(said).canopies[MAIN]).wanted_size
    assert wanted
    assert match[1] == again.show(wanted.high, at_least(LENGTH))  # never the optimistic end


def test_something_of_a_known_size_stands_beside_a_canopy() -> None:
    large, small = (CALCULATORS["canopy"].answer(worked({"main.canopy.size": size}), MAIN).drawings[0].svg for size in ("2.2 m", "400 mm"))
    assert shapes(large, "person")
    assert not shapes(large, "scale")
    assert shapes(small, "scale")
    assert not shapes(small, "person")
    (rule,) = shapes(small, "scale")
    wide = extent([shape for shape in shapes(small, "cloth") if shape.tag == f"{SVG}polygon"])[0]
    assert float(rule.attrib["height"]) / wide == pytest.approx(0.3 / 0.4, rel=0.02)


def test_a_chain_has_a_link_for_every_part_and_its_weakest_is_the_thinnest_and_stands_out() -> None:
    for key, chain in worked({}).chains.items():
        drawing = CALCULATORS["loads"].answer(worked({}), key).drawings[0]
        drawn = shapes(drawing.svg, "chain-link")
        assert len(drawn) == len(chain.parts) == len(chain.along)
        thick = [float(one.attrib["stroke-width"]) for one in drawn]
        (weakest,) = (i for i, one in enumerate(drawn) if "weakest" in one.attrib["class"])
        assert thick[weakest] == min(thick)
        assert chain.along[weakest].margin == chain.parts[0].margin
        for one, other in zip(chain.along, thick, strict=True):
            assert all(other >= t for part, t in zip(chain.along, thick, strict=True) if part.margin <= one.margin)


def test_links_are_thicker_the_more_they_bear() -> None:
    drawn = shapes(links(tuple(Link("x", margin, "y") for margin in (0.2, 1, 2, 4, 100)), 0, "n", "d").svg, "chain-link")
    thick = [float(one.attrib["stroke-width"]) for one in drawn]
    assert thick == sorted(thick)
    assert thick[2] == 2 * thick[1]
    assert thick[0] > 0


@pytest.mark.parametrize("start", ["two bays, 98 mm", "one bay, 75 mm"])
def test_a_way_down_goes_from_the_top_to_the_ground_and_never_up(start: str) -> None:
    for one in Failures(worked({"rig.start": start})).all:
        for body in one.bodies:
            times, heights = zip(*body.way, strict=True)
            assert heights[-1] == 0
            assert list(times) == sorted(times)
            assert list(heights) == sorted(heights, reverse=True)
            # never later than the slowest way that is told, except where something begins slowly
            assert body.way[-1][0] <= body.time.high * 1.05 + 1


def test_the_failures_that_this_rig_decides_come_first() -> None:
    answer = CALCULATORS["failures"].answer(worked({}), "")
    found = {one.title: one.verdict for one in Failures(worked({})).all}
    words = [one.text or "" for one in ElementTree.fromstring(answer.drawings[0].svg).iter(f"{SVG}text")]
    rows = words[::2]
    assert [found[title] for title in rows] == sorted((found[title] for title in rows), key=("breaks", "lands hard", "falls", "holds").index)
    assert {title for title, verdict in found.items() if verdict in ("breaks", "lands hard")} <= set(rows)
    assert len(shapes(answer.drawings[0].svg, "crossed")) == sum(found[title] != "holds" for title in rows)


def test_ways_down_have_one_scale() -> None:
    drawn = shapes(ways_down("n", "d", [Way("a", "x", True, ((0, 100), (10, 0))), Way("b", "y", False, ((0, 50), (20, 0)))]).svg, "path")
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = ([float(n) for n in re.findall(r"[\d.]+", one.attrib["d"])] for one in drawn)
    assert bx1 - bx0 == pytest.approx(2 * (ax1 - ax0), abs=0.2)
    assert ay1 - ay0 == pytest.approx(2 * (by1 - by0), abs=0.2)


@pytest.mark.parametrize(("units", "batteries", "switches", "ports"), [(2, 2, 2, 3), (2, 1, 2, 4), (3, 2, 1, 1), (1, 1, 1, 8), (2, 0, 2, 2), (0, 1, 1, 3)])
def test_the_wiring_shows_every_port_and_who_shares_what(units: int, batteries: int, switches: int, ports: int) -> None:
    said = {f"electronics.{name}": str(count) for name, count in (("units", units), ("batteries", batteries), ("switches", switches), ("ports", ports))}
    answer = CALCULATORS["electronics"].answer(worked(said), "")
    drawing = answer.drawings[0]
    assert len(shapes(drawing.svg, "port")) == len(shapes(drawing.svg, "arrow-head")) == ports
    assert len(shapes(drawing.svg, "airframe")) == units
    own = min(units, batteries)
    assert len(shapes(drawing.svg, "bundle")) == own
    from_battery = [one.attrib["y1"] for one in shapes(drawing.svg, "cord") if float(one.attrib["x1"]) < 60]
    assert len(from_battery) == (units if own and switches else 0)
    assert len(set(from_battery)) == (own if switches else 0), "a shared battery has more than one lead"
    assert len(answer.steps) == (4 if units else 0)
    assert all(step.drawing for step in answer.steps)
