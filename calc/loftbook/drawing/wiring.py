"""What electronics breathe through and what they fire: ports round the tube; who shares a battery or a switch. Not to scale."""

from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.drawing.markup import rectangle, straight
from loftbook.drawing.svg import Drawing, Paper, Point
from loftbook.physics.elementary import PI, cosine, sine

_MIDDLE, _TUBE, _PORT = (66.0, 68.0), 52.0, 6.0
_BATTERY, _SWITCH, _UNIT = 36.0, 130.0, 232.0  # middles of the columns
WIDEST = 37  # letters in a line
_ROW, _LINE = 36.0, 17.0


@dataclass(frozen=True)
class Unit:
    """An altimeter in words: what it is called, and what it fires when, a line each."""

    name: str
    fires: tuple[str, ...]


def wiring(
    ports: int, breathing: Sequence[str], units: Sequence[Unit], batteries: int, switches: int, name: str, told: str
) -> Drawing:
    """The tube seen from its end with its ports, and beneath it each unit with the battery and the switch it lives by.

    breathing: words beside the tube; no ports: no tube. Units without a battery or a switch of their own share the last; 0: none is
    drawn.
    """
    paper = Paper(2 * _MIDDLE[1] if ports else 0)
    if ports:
        _ports(paper, ports)
    for row, words in enumerate(breathing):
        paper.words((142, _MIDDLE[1] + 5 + (row - (len(breathing) - 1) / 2) * (_LINE + 2)), words, "start", "dim-text" if row else "strong")
    top = paper.height + 22
    for middle, words in ((_BATTERY, "battery"), (_SWITCH, "switch"), (_UNIT, "altimeter")):
        if units:
            paper.words((middle, top), words)
    rows = [top + 28 + i * _ROW for i in range(len(units))]
    _leads(paper, rows, batteries, switches)
    for unit, at in zip(units, rows, strict=True):
        paper.put(rectangle("airframe", (_UNIT - 44, at - 13), 88, 26))
        paper.words((_UNIT, at + 5), unit.name)
    y = top + 28 + len(units) * _ROW if units else paper.height + 12
    for unit in filter(lambda unit: unit.fires, units):
        paper.words((8, y), unit.name, "start", "strong")
        for line, words in enumerate(unit.fires, 1):
            paper.words((8, y + line * _LINE), words, "start", "dim-text")
        y += (len(unit.fires) + 1) * _LINE + 5
    paper.height = y - 12
    return paper.drawing(name, told)


def _ports(paper: Paper, count: int) -> None:
    """The wall of the tube, open at each port, and the air that goes in there."""
    paper.spot("tube-wall", _MIDDLE, _TUBE)
    for i in range(count):
        turn = 2 * PI * i / count - PI / 2

        def at(radius: float, turn: float = turn) -> Point:
            return _MIDDLE[0] + radius * cosine(turn), _MIDDLE[1] + radius * sine(turn)

        paper.spot("port", at(_TUBE), _PORT)
        paper.arrow(at(_TUBE + 12), at(_TUBE - 22))


def _leads(paper: Paper, rows: Sequence[float], batteries: int, switches: int) -> None:
    """From battery to switch to unit; what is shared has more than one lead."""
    power, keys = rows[:batteries], rows[:switches]
    for i, at in enumerate(rows):
        battery = power[min(i, len(power) - 1)] if power else None
        key = keys[min(i, len(keys) - 1)] if keys else None
        if battery is not None and key is not None:
            paper.rule("cord", (_BATTERY + 17, battery), (_SWITCH - 12, key))
            paper.rule("cord", (_SWITCH + 12, key), (_UNIT - 44, at))
    for at in power:
        paper.put(rectangle("bundle", (_BATTERY - 17, at - 9), 34, 18))
        paper.put(straight("sign", _BATTERY + 10, at - 4, _BATTERY + 10, at + 4), straight("sign", _BATTERY + 6, at, _BATTERY + 14, at))
    for at in keys:
        paper.rule("cord", (_SWITCH - 12, at), (_SWITCH + 9, at - 13))  # open, as it stays until the pad
        for end in (-12, 12):
            paper.spot("corner", (_SWITCH + end, at), 3)
