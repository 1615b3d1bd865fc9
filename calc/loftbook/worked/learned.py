"""What a logbook knows of this rig: what its entries measured of each canopy and joint, and what that would put into the rig. SI."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import pi, sqrt

from loftbook.errors import Refusal
from loftbook.log.book import Book, Place
from loftbook.log.entries import Entry, is_drag
from loftbook.log.kinds import DROP, MENDED
from loftbook.log.shelf import Kept, fitted, plain
from loftbook.physics.spread import Spread
from loftbook.physics.wind import POINTS
from loftbook.quantity import FORCE, MASS, PACK_DENSITY, WIND, at_least, at_most, counted, show
from loftbook.rig.bay_fields import THROWN
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.resting import as_tested, rig_of, says_same, taken_back
from loftbook.rig.rig import Rig
from loftbook.rig.ways import KEYS
from loftbook.worked.canopy import Canopy
from loftbook.worked.measured import Once, Taken, Timed, rate_of, taken
from loftbook.worked.worked import Worked

# What a canopy, a joint is known by beside its name: with another of these it is another one, and what was measured of it says nothing.
_SHAPE = ("family", "sides", "across", "size", "slope", "height_ratio", "panel_ratio", "hole_ratio", "vent", "area", "cloth", "seam")
_CANOPY = (*(f"canopy.{name}" for name in _SHAPE), "lines.length")
_JOINT = ("bay.tube", "bay.shoulder")
LEAST_DRIFT = 5.0  # m that a plan must have told, or the walk says nothing of the wind (our choice)


@dataclass(frozen=True)
class Learned:
    """One thing that entries say of a part of this rig.

    what: "density", "pull" or "test"; key: the canopy or bay; low, high: SI; entries: that it rests on, the newest first; texts: what
    takes it over, `rig.measured` with it; other: how many entries of the same kind are of another canopy or joint, and were left out.
    """

    what: str
    key: str
    low: float
    high: float
    entries: tuple[Entry, ...]
    texts: dict[str, str]
    other: int = 0

    @property
    def told_of(self) -> str:
        """`3 bundles, last 2026-05-09`."""
        return entries_told(self.entries, _CALLED[self.what])


_CALLED = {"density": "bundle", "pull": "pull", "test": "ground test"}


def entries_told(entries: Sequence[Entry], called: str) -> str:
    """How many, and the day of the last."""
    return f"{counted(len(entries), called)}, last {max(one.day for one in entries)}"


def _same(worked: Worked, then: Rig | None, here: str, there: str, paths: Iterable[str]) -> bool:
    """Whether what a rig had at its key `there` is what this rig has at its key `here`: all that it is known by says the same."""
    return then is not None and all(says_same(worked.rig, f"{here}.{path}", then, f"{there}.{path}") for path in paths)


def _rig(one: Entry | Worked) -> str:
    """What its rig is called."""
    return plain(one.rig if isinstance(one, Entry) else one.rig.text("rig.name"))


def of_canopy(worked: Worked, entries: Iterable[tuple[Entry, str]], key: str) -> tuple[list[tuple[Entry, str]], int]:
    """Of entries, each with the key of a canopy in its rig, those of this very canopy: of its name where it has one, else of this
    rig's at the same place; and how many are of what it was before.

    A name follows a canopy into another rig; but with another shape, size or cloth it is another canopy all the same.
    """
    name, mine, others = plain(worked.rig.texts[f"{key}.canopy.name"]), [], 0
    for one, there in entries:
        theirs = plain(one.fields.get(f"{there}.canopy.name", ""))
        named = theirs == name if name or theirs else _rig(one) == _rig(worked) and there == key
        if named and _same(worked, rig_of(one.fields), key, there, _CANOPY):
            mine.append((one, there))
        else:
            others += named
    return mine, others


def _of_joint(worked: Worked, book: Book, kind: str, key: str) -> list[Entry]:
    """Entries of a kind that tell of a bay of this rig by its name, or do not say of which."""
    return [one for one in book.standing if one.kind == kind and _rig(one) == _rig(worked) and one.about in ("", key)]


def _mended(worked: Worked, book: Book, key: str, parts: tuple[str, ...]) -> Place:
    """When a joint was mended last, or another of these parts of it, as soon as it may have been; ("", "") where nobody wrote so."""
    found = [one for one in _of_joint(worked, book, "repair", key) if one.said.get("repair.of") in parts]
    looks = _of_joint(worked, book, "inspection", key)
    found += [one for one in looks if one.said.get("inspection.of") in parts and one.said.get("inspection.result") == MENDED]
    return max((book.since(one) for one in found), default=("", ""))


def _measured(worked: Worked, texts: dict[str, str], paths: Iterable[str]) -> dict[str, str]:
    return texts | {"rig.measured": " ".join(sorted({*worked.rig.measured, *paths}))}


def _inside(path: str, text: str, value: float) -> bool:
    """Whether a field can carry it."""
    field = FIELDS[path]
    return bool(text) and field.low <= value <= field.high


# --- bundles and pulls ------------------------------------------------------------------------------------


def density(one: Entry) -> float:
    """Density of a bundle [kg/m^3]: its mass over a slab's volume, or over a round one's. Source: definition."""
    mass, long, wide = (one.amount(f"bundle.{name}") for name in ("mass", "length", "width"))
    thick = one.number("bundle.thickness")
    return mass / (long * wide * thick if thick else long * pi * wide * wide / 4)


def _range(worked: Worked, what: str, key: str, rows: tuple[list[Entry], int], of: Callable[[Entry], float], path: str) -> Learned | None:
    """The least and the most of several, and what takes them over: one value where they read the same."""
    entries, others = rows
    if not entries:
        return Learned(what, key, 0.0, 0.0, (), {}, others) if others else None
    kind = PACK_DENSITY if what == "density" else FORCE
    values = [of(one) for one in entries]
    low, high = min(values), max(values)
    least, most = show(low, at_most(kind)), show(high, at_least(kind))
    paths = [path, f"{path}_most"]
    texts = {path: least, f"{path}_most": most, f"{path}_from": entries_told(entries, _CALLED[what])}
    fits = _inside(path, least, low) and _inside(path, most, high)
    return Learned(what, key, low, high, tuple(entries), _measured(worked, texts, paths) if fits else {}, others)


def densities(worked: Worked, book: Book) -> list[Learned]:
    """Of each canopy whose bundles were measured."""
    bundles, made = [(one, one.about) for one in book.standing if one.kind == "bundle"], []
    for key in worked.canopies:
        mine, others = of_canopy(worked, bundles, key)
        made.append(_range(worked, "density", key, ([one for one, _ in mine], others), density, f"{key}.pack.density"))
    return [one for one in made if one]


def pulls(worked: Worked, book: Book) -> list[Learned]:
    """Of each joint that was pulled apart by hand since it was mended last."""
    made = []
    for key in worked.joints:
        pulled = _of_joint(worked, book, "pull", key)
        last = _mended(worked, book, key, ("joint",))
        mine = [one for one in pulled if book.until(one) > last and _same(worked, rig_of(one.fields), key, key, _JOINT)]
        made.append(_range(worked, "pull", key, (mine, len(pulled) - len(mine)), lambda one: one.amount("pull.force"), f"{key}.joint.friction"))
    return [one for one in made if one]


# --- how a canopy sank ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class DragLearned:
    """A canopy over all entries that measured its drag: as what to plan with, and the entries, the newest first."""

    taken: Taken
    entries: tuple[Entry, ...]
    other: int


def drags_learned(worked: Worked, book: Book) -> dict[str, DragLearned]:
    """Of each canopy of this rig what flights and timed descents found of it, pooled, wherever it flew with the same canopies beside it."""
    rows = [(one, key) for one in book.standing for key in one.found if key in KEYS and is_drag(one.found[key])]
    found = {}
    for key, canopy in worked.canopies.items():
        mine, others = of_canopy(worked, rows, key)
        alike = [row for row in mine if _beside(worked, key, *row)]
        once = [_once(canopy, one, there) for one, there in alike]
        if once:
            newest = max(one.day for one, _ in alike)
            found[key] = DragLearned(taken(worked, once, f"last {newest}"), tuple(one for one, _ in alike), others + len(mine) - len(alike))
    return found


def _beside(worked: Worked, key: str, one: Entry, there: str) -> bool:
    """Whether what hung open beside a canopy when it was measured hangs beside it in this rig too: its drag was measured with the rest."""
    then = rig_of(one.fields)
    if then is None or there not in then.way.canopies:
        return False
    keys = then.way.canopies[: then.way.canopies.index(there)] if then.way.tied else ()
    here = [other.key for other in worked.opened_before(key)]
    return len(keys) <= len(here) and all(_same(worked, then, mine, theirs, _CANOPY) for mine, theirs in zip(here, keys, strict=False))


def _once(canopy: Canopy, one: Entry, there: str) -> Once:
    """What an entry found of a canopy; how fast it sank then goes by what its own plan said, at the mass and in the air of then."""
    area, rate, planned = Spread(*one.found[there]), one.planned.get(f"{there}.rate"), one.planned.get(f"{there}.area")
    told = rate_of(canopy, area)
    sank = rate[1] * sqrt(planned[1] / area.best) if rate and planned and len(rate) == len(planned) == 3 else told.best
    return Timed(canopy, area, sank, told) if one.kind == DROP else Once(canopy, area, sank)


# --- planned beside what happened -------------------------------------------------------------------------


def planned(worked: Worked) -> dict[str, tuple[float, ...]]:
    """What a plan says that a flight may tell otherwise, SI: heights [m], times [s], rates [m/s], drag areas [m^2], wind [m/s]."""
    fall = worked.descent.main
    rows = {"apogee": (worked.descent.top,), "wind": (worked.sky.launch_wind,), "time": _row(fall.time), "drift": _row(fall.drift), "rate": _row(fall.touchdown_rate)}
    areas = {f"{key}.area": _row(one.drag_area) for key, one in worked.canopies.items()}
    return rows | areas | {f"{key}.rate": _row(one.rate) for key, one in worked.canopies.items()}


def _row(spread: Spread) -> tuple[float, float, float]:
    return spread.low, spread.best, spread.high


@dataclass(frozen=True)
class Beside:
    """One figure, planned and as it happened, SI. what: "apogee", "time", "rate", "drift" or a canopy's key, of its steady rate."""

    what: str
    planned: Spread
    happened: Spread

    @property
    def outside(self) -> int:
        """-1 where all that happened lies below all that was planned, 1 above, else 0."""
        return (self.happened.low > self.planned.high) - (self.happened.high < self.planned.low)


def beside(one: Entry) -> list[Beside]:
    """What an entry's plan said beside what it tells. A steady rate goes as one over the root of the drag area, at the planned mass and air."""
    said = {"apogee": one.number("flight.apogee"), "time": one.number("flight.time"), "rate": one.number("flight.rate"), "drift": one.number("flight.walk")} if one.kind == "flight" else {}
    rows = []
    for what, value in said.items():
        if value is None and what in one.found:
            value = one.found[what][0]
        if value is not None and what in one.planned:
            rows.append(Beside(what, _spread(one.planned[what]), Spread(value, value, value)))
    for key in one.found:
        then, area = one.planned.get(f"{key}.rate"), one.planned.get(f"{key}.area")
        if key in KEYS and then and area and len(one.found[key]) == 3:
            rates = sorted(then[1] * sqrt(area[1] / found) for found in one.found[key] if found > 0)
            rows += [Beside(key, _spread(then), Spread(rates[0], rates[1], rates[2]))] if len(rates) == 3 else []
    return rows


def _spread(row: Sequence[float]) -> Spread:
    return Spread(min(row), row[len(row) // 2], max(row))


# --- ground tests -----------------------------------------------------------------------------------------


def running(tests: Sequence[Entry]) -> tuple[Entry, ...]:
    """Of ground tests, the last first, those in a row that did what the last did, with its mass and its pins."""
    last = tests[0]
    alike = (last.value("test.result"), last.number("test.pins"), last.number("test.mass"))
    row = []
    for one in tests:
        if (one.value("test.result"), one.number("test.pins"), one.number("test.mass")) != alike:
            break
        row.append(one)
    return tuple(row)


def ground_tests(worked: Worked, book: Book) -> list[Learned]:
    """Of each bay that was tested on the ground: the last test's mass, pins and result, and how many in a row did the same.

    A test that threw everything clear counts where all that it rests on is still as it was: `resting.as_tested`, and no mend of joint or
    electronics since. One that did not takes back what earlier ones allowed, whatever was changed since. low, high: pressure that the
    mass gives by the model in the least and the largest free volume [Pa].
    """
    found = []
    for key, joint in worked.joints.items():
        tests, mended = _of_joint(worked, book, "test", key), _mended(worked, book, key, ("joint", "electronics"))
        mine = [one for one in tests if _failed(one) or (one.about and book.until(one) > mended and (then := rig_of(one.fields)) and as_tested(worked.rig, then, key))]
        others = len(tests) - len(mine)
        if not mine:
            found += [Learned("test", key, 0.0, 0.0, (), {}, others)] if others else []
            continue
        row = running(mine)
        said = _test_said(row, book.until(row[0])[0])
        texts = {path: text for name, text in said.items() if is_relevant(FIELDS[path := f"{key}.charge.{name}"], worked.rig.texts)}
        low, high = joint.model_pressure(row[0].amount("test.mass"))
        found.append(Learned("test", key, low, high, row, _measured(worked, texts, [path for path, text in texts.items() if text]) if texts else {}, others))
    return found


def _failed(one: Entry) -> bool:
    return one.value("test.result") != THROWN


def _test_said(row: Sequence[Entry], day: str) -> dict[str, str]:
    """What a row of like tests says in the fields of a charge: only one that threw everything clear allows anything."""
    last, threw = row[0], not _failed(row[0])
    return {
        "tested": last.said["test.mass"] if threw else "",
        "repeats": str(len(row) if threw else 0),
        "test_date": day,
        "test_pins": last.said["test.pins"],
        "test_result": last.said["test.result"],
    }


# --- the wind that carried it -----------------------------------------------------------------------------


def wind_that_carried(one: Entry) -> Spread | None:
    """Wind at ten metres [m/s] that would have carried a flight as far as it lay, from what the plan said of its drift.

    Drift grows as the wind does, so the walk over the planned drift is the wind over the planned one; the range is that of the
    drag, its upper end as much higher as the flight fell short of the height that was planned. None where walk or drift was not
    said. Source: physics/descent.py; what the ascent leaned into the wind is left out.
    """
    walk, drift, wind = one.number("flight.walk") if one.kind == "flight" else None, one.planned.get("drift"), one.planned.get("wind")
    if walk is None or drift is None or wind is None or len(drift) != 3 or drift[0] < LEAST_DRIFT:
        return None
    low, best, high = drift
    rose, told = _rose(one), one.planned.get("apogee")
    short = min(1.0, rose / told[0]) if rose and told and told[0] > 0 else 1.0
    return Spread(walk * wind[0] / high, walk * wind[0] / best, walk * wind[0] / (low * short))


def _rose(one: Entry) -> float | None:
    """How high a flight went [m], by what it carried or by what was said."""
    said = one.number("flight.apogee")
    return said if said is not None else one.found["apogee"][0] if "apogee" in one.found else None


def wind_taken(one: Entry) -> dict[str, str]:
    """That wind as a rig's fields, the harder end of it and no less than was measured at the pad, from the side opposite to where the
    flight lay; nothing where the entry does not say which."""
    wind, toward = wind_that_carried(one), one.value("flight.toward") if one.kind == "flight" else None
    if wind is None or toward not in POINTS:
        return {}
    hardest = max(wind.high, one.number("flight.wind") or 0.0)
    if not _inside("flight.wind", "told", hardest):
        return {}
    opposite = POINTS[(POINTS.index(str(toward)) + len(POINTS) // 2) % len(POINTS)]
    texts = {"flight.wind": show(hardest, at_least(WIND)), "flight.wind_from": opposite}
    return texts | {"rig.measured": " ".join(texts)}


def learned(worked: Worked, book: Book) -> list[Learned]:
    """All that a book says of this rig, but how its canopies sank."""
    return [*densities(worked, book), *pulls(worked, book), *ground_tests(worked, book)]


# --- a part of the shelf, fitted ----------------------------------------------------------------------------


def fit(worked: Worked, kept: Kept, key: str) -> dict[str, str]:
    """The texts that put a canopy or cord of the shelf into this rig at a key, with what follows: it is as much heavier as its gear is, and
    ground tests that rest on what is changed count no more."""
    rig, texts = worked.rig, fitted(kept, worked.rig.texts, key)
    said = {path: text for path, text in rig.texts.items() if path not in rig.assumed}
    changed = [path for path, text in texts.items() if text != rig.texts.get(path)]
    try:
        added = Worked(parse(said | texts)).gear - worked.gear
    except Refusal:
        return texts | taken_back(rig, [*changed, "rocket.mass"], 1.0)  # it does not go together: the plan says why
    if added > 0:
        masses = ["rocket.mass"] if rig.way.tied or key == rig.way.bays[0] else ["rocket.mass", "nose.mass"]
        texts |= {path: show(rig.number(path) + added, at_least(MASS), rig.units) for path in masses}
        changed += masses
    return texts | taken_back(rig, changed, added / rig.number("rocket.mass"))
