"""How often a stated 95 % interval holds the true drag: flights made up with a known one, measured by `worked/measured.py`.

    PYTHONPATH=calc python scripts/trials.py [--count 1000] [--processes 2] [--seed 1]

Each flight is a full motion (mass, filling canopies, gusts of air) on a day of its own, seen by an altimeter of its own:
noise, lag, steps of its display, samples that fail, blasts in the bay. All of it is drawn anew for every flight; what is
drawn, and between which ends, stands in `drawn` and is our choice. No record of a real flight is in it: none was to be had.
Counted with seeds 1 to 1000, as drawn: 95.3 % of the drogue's intervals hold the truth and 97.2 % of the main's. In calm air all of
150 did: the air is never taken for calmer than a tenth of a metre a second.
"""

import argparse
import random
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from math import exp, sqrt

from loftbook.errors import Refusal
from loftbook.log.altimeter import read_log
from loftbook.rig.parsing import parse
from loftbook.worked.measured import Found, flown
from loftbook.worked.worked import Worked

G, R = 9.80665, 287.05287
CANOPIES = ("drogue", "main")


@dataclass(frozen=True)
class Day:
    """A flight, its air and its altimeter. SI; drags are Cd S [m^2], gust: spread [m/s], memory [s]."""

    drogue: float
    main: float
    mass: float
    top: float
    low: float
    elevation: float
    warmer: float
    gust: float
    memory: float
    noise: float
    lag: float
    step: float
    display: float
    lost: int
    blasts: int


def drawn(rng: random.Random, **fixed: float) -> Day:
    """A day of those that people fly on; gusts of 0.1 to 0.7 m/s up and down that last 0.5 to 2.5 s."""
    even = rng.uniform
    day = {
        "drogue": even(0.08, 0.2), "main": even(1.6, 3.0), "mass": 5.6, "top": even(700, 1800), "low": even(180, 300),
        "elevation": 120.0, "warmer": even(-10, 20), "gust": even(0.1, 0.7), "memory": even(0.5, 2.5),
        "noise": even(0.1, 0.6), "lag": even(0.0, 0.6), "step": rng.choice((0.05, 0.1, 0.2)),
        "display": rng.choice((0.0, 0.1, 0.3048)), "lost": rng.randrange(4), "blasts": rng.randrange(6),
    }  # fmt: skip
    return Day(**(day | fixed))  # type: ignore[arg-type]


def _temperature(height: float, warmer: float) -> float:
    return 288.15 - 0.0065 * height + warmer


def _density(height: float, warmer: float) -> float:
    """Standard pressure and the day's temperature, as the package takes the air; heights below 11 km."""
    return float(101325 * (1 - 0.0065 * height / 288.15) ** (G / R / 0.0065)) / (R * _temperature(height, warmer))


def _motion(day: Day, rng: random.Random) -> list[tuple[float, float]]:
    """True heights above the field at every step of time: pad, climb, drogue, main, ground."""
    rows: list[tuple[float, float]] = []
    time, dt = 0.0, day.step
    climb = 4 + sqrt(2 * day.top / G) * 0.7
    while time < climb:
        rows.append((time, 0.0 if time < 3 else day.top * (1 - ((climb - time) / (climb - 3)) ** 2)))
        time += dt
    height, speed, drag, air = day.top, 0.0, 0.0, rng.gauss(0, day.gust)
    density = [_density(day.elevation + 10 * i, day.warmer) for i in range(int(day.top / 10) + 3)]
    parts = max(1, round(dt / 0.025))
    fine = dt / parts
    fade = exp(-fine / day.memory)
    while height > 0:
        wanted = day.drogue if height > day.low else day.main
        for _ in range(parts):
            drag += (wanted - drag) * min(1.0, fine / 0.3)
            through = speed + air  # the air goes up with `air`
            speed += fine * (G - density[max(0, int(height / 10))] * through * abs(through) * drag / (2 * day.mass))
            height -= fine * speed
            air = fade * air + day.gust * sqrt(1 - fade * fade) * rng.gauss(0, 1)
        time += dt
        rows.append((time, max(0.0, height)))
    return rows + [(time + dt * i, 0.0) for i in range(1, int(25 / dt))]


def record(day: Day, rng: random.Random) -> str:
    """What the altimeter writes: pressure heights in metres over seconds."""
    shown = [0.0]  # dH = dz T_std / T from the field up, every 10 m
    for i in range(int(day.top / 10) + 2):
        middle = day.elevation + 10 * i + 5
        shown.append(shown[-1] + 10 * _temperature(day.elevation + shown[-1] + 5, 0.0) / _temperature(middle, day.warmer))
    seen, lines = 0.0, ["time (s),altitude (m)"]
    rows = _motion(day, rng)
    lost = [(start, start + rng.uniform(0.5, 3)) for start in (rng.uniform(0, rows[-1][0]) for _ in range(day.lost))]
    blasts = [rng.uniform(0, rows[-1][0]) for _ in range(day.blasts)]
    for time, height in rows:
        place = int(height / 10)
        true = shown[place] + (height / 10 - place) * (shown[place + 1] - shown[place])
        seen += (true - seen) * ((1 - exp(-day.step / day.lag)) if day.lag else 1.0)
        told = seen + rng.gauss(0, day.noise)
        if any(abs(time - blast) < min(0.1, day.step) for blast in blasts):
            told += rng.choice((-1, 1)) * rng.uniform(30, 200)
        if day.display:
            told = round(told / day.display) * day.display
        if not any(start < time < end for start, end in lost):
            lines.append(f"{time:.3f},{told:.3f}")
    return "\n".join(lines)


def rig() -> Worked:
    """The rig that all of them fly, at 5.6 kg; each day's warmth is said."""
    return Worked(parse({"rocket.mass": "5.6 kg", "site.elevation": "120 m"}))


def found_in(day: Day, rng: random.Random) -> dict[str, Found]:
    """What was measured of a day; nothing where the file is refused."""
    ground = 288.15 - 0.0065 * day.elevation + day.warmer
    try:
        return flown(rig(), read_log(record(day, rng)), ground).found
    except Refusal:
        return {}


def held(seed: int, **fixed: float) -> tuple[tuple[str, bool, float], ...]:
    """Of each canopy that was found whether its interval holds the truth, and half the interval's width as a share."""
    rng = random.Random(seed)
    day = drawn(rng, **fixed)
    found = found_in(day, rng)
    told = []
    for key in CANOPIES:
        true = getattr(day, key)
        if key in found:
            area = found[key].drag_area
            told.append((key, area.low <= true <= area.high, (area.high - area.low) / 2 / true))
    return tuple(told)


CASES: dict[str, dict[str, float]] = {
    "as drawn": {},
    "calm air": {"gust": 0.0},
    "short gusts": {"gust": 0.5, "memory": 0.7},
    "long gusts": {"gust": 0.5, "memory": 4.0},
    "one sample a second": {"step": 1.0},
}


def main() -> None:
    """Print the shares."""
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--count", type=int, default=1000)
    said.add_argument("--processes", type=int, default=1)
    said.add_argument("--seed", type=int, default=1)
    said.add_argument("--case", choices=CASES, action="append")
    options = said.parse_args()
    with ProcessPoolExecutor(options.processes) as pool:
        for name in options.case or CASES:
            seeds = range(options.seed, options.seed + options.count)
            told = [row for rows in pool.map(partial(held, **CASES[name]), seeds, chunksize=8) for row in rows]
            for key in CANOPIES:
                own = [(hit, width) for one, hit, width in told if one == key]
                share, width = sum(hit for hit, _ in own) / len(own), sorted(width for _, width in own)[len(own) // 2]
                print(f"{name}, {key}: found in {len(own)} of {options.count}; {share:.1%} of the intervals hold it; half their width {width:.1%}, middle of all", flush=True)


if __name__ == "__main__":
    main()
