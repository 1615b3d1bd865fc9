"""The terminal's `measured`: an altimeter's files with the rig that flew them. Words only; the sums are in worked/measured.py."""

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loftbook.errors import Fault, Refusal
from loftbook.faces.flights import (
    BOTH_ZEROS,
    SURE,
    WATCH,
    Opened,
    against_plan,
    holds_for,
    mean_told,
    notes,
    odd_told,
    taken_data,
    watched_one,
)
from loftbook.log.altimeter import HEIGHT_UNITS, LARGEST_LOG, TIME_UNITS, Log, read_log, same_record
from loftbook.log.kinds import UNKNOWN
from loftbook.plan import plain
from loftbook.quantity import AREA, NUMBER, SPEED, TEMPERATURE, read
from loftbook.rig.files import to_toml
from loftbook.rig.ways import KEYS
from loftbook.worked.measured import BEGUN, CLIMB, GROUND, Flight, Found, Once, Taken, flights_told, flown, taken
from loftbook.worked.worked import Worked

_PHASES = ("phase", "from", "to", "sinks at, as shown")


def add_measured(act: argparse.ArgumentParser) -> None:
    """The options of `measured`."""
    act.add_argument("file", type=Path, metavar="RIG", help="file of the rig that flew, as it flew: mass and canopies")
    act.add_argument("logs", type=Path, nargs="*", metavar="FILE", help="an altimeter's file for each flight: columns of time and height")
    act.add_argument("--time-unit", default="", metavar="UNIT", help=f"{' or '.join(TIME_UNITS)}, where the file does not say")
    act.add_argument("--height-unit", default="", metavar="UNIT", help=f"{' or '.join(HEIGHT_UNITS)}, where the file does not say")
    act.add_argument("--time-column", type=int, metavar="N", help="column of the time, counted from 1")
    act.add_argument("--height-column", type=int, metavar="N", help="column of the height, counted from 1")
    act.add_argument("--temperature", action="append", default=[], metavar="TEXT", help="at the field that day, for example 28 °C; once for all files or once for each")
    act.add_argument("--from", dest="start", type=float, metavar="S", help="where a canopy's steady sinking begins, seconds of the file's time")
    act.add_argument("--to", dest="end", type=float, metavar="S", help="where it ends")
    act.add_argument("--of", choices=KEYS, help="which canopy that was, or whose altimeter where two parts come down apart")
    act.add_argument("--when", default="", metavar="TEXT", help="date of the flights, for the source of the measured values")
    act.add_argument("--timed", nargs=4, action="append", default=[], metavar=("CANOPY", "HIGH", "LOW", "SECONDS"), help="a descent by a watch: canopy, heights where it was started and stopped, seconds; may be said again")
    act.add_argument("--begun", choices=BEGUN, default=UNKNOWN, help="how timed descents began")
    act.add_argument("--sure", default=SURE, metavar="TEXT", help=f"how sure the heights of timed descents are, nineteen times of twenty; to start with {SURE}".replace("%", "%%"))
    act.add_argument("--watch", default=WATCH, metavar="TEXT", help=f"within how much each end of the watch is; to start with {WATCH}")
    act.add_argument("--json", action="store_true", help="results as JSON, SI units")


def _log(path: Path, options: argparse.Namespace) -> Log:
    try:
        if path.stat().st_size > 4 * LARGEST_LOG:
            raise Refusal(Fault(message=f"{path} is larger than an altimeter's file can be."))
        text = path.read_text("utf-8", errors="replace")
    except OSError as error:
        raise Refusal(Fault(message=f"{path} cannot be read: {error}")) from None
    return read_log(text, options.time_unit, options.height_unit, options.time_column, options.height_column)


def _days(options: argparse.Namespace) -> list[float | None]:
    """Temperature of each file's day [K]."""
    days: list[float | None] = [read(text, TEMPERATURE, "--temperature", "temperature") for text in options.temperature]
    count = len(options.logs)
    if len(days) not in (0, 1, count):
        allowed = f"none, one for all, or {count}"
        raise Refusal(Fault(message=f"temperature: {len(days)} for {count} files. Allowed: {allowed}.", field="--temperature", given=str(len(days)), allowed=allowed))
    return days * count if len(days) == 1 else days or [None] * count


@dataclass(frozen=True)
class Told:
    """What the files say, ready to be printed or written as data."""

    worked: Worked
    flights: tuple[Flight, ...]
    found: tuple[dict[str, Found], ...]
    watched: tuple[Opened, ...]
    taken: dict[str, Taken]

    def data(self) -> dict[str, object]:
        """As plain data, SI."""
        return {
            "flights": [
                {
                    "columns": flight.log.told,
                    "spikes": len(flight.log.spikes),
                    "gaps": [list(gap) for gap in flight.log.gaps],
                    "phases": [{"name": part.name, "from": part.stretch.start, "to": part.stretch.end, "rate": part.stretch.rate} for part in flight.parts],
                    "canopies": {key: {"from": one.start, "to": one.end, "drag_area": plain(one.drag_area), "cd": plain(one.cd)} for key, one in found.items()},
                }
                for flight, found in zip(self.flights, self.found, strict=True)
            ],
            "timed": [one.data() for one in self.watched],
            "canopies": {key: taken_data(one) for key, one in self.taken.items()},
        }

    def print(self, console: Console) -> None:
        """Flight by flight, then each canopy over all of them, then the fields."""
        console.print(Text(self.worked.rig.text("rig.name"), "bold"))
        for number, (flight, found) in enumerate(zip(self.flights, self.found, strict=True), 1):
            self._print_flight(number, flight, found, console)
        for number, watched in enumerate(self.watched, 1):
            for key, timed in watched.found.items():
                console.print(Text(f"\nTimed {number}, {self.worked.title(key)}: Cd·S {self.worked.range(timed.drag_area, AREA)}, held at least 95 times of 100."))
        for key, one in self.taken.items():
            self._print_canopy(key, one, console)
        for note in notes(self.worked, any(flight.warmer is None for flight in self.flights) or any(one.unknown_day for one in self.watched)):
            console.print(Text(f"Note: {note}"))
        fields: dict[str, str] = {}
        for one in self.taken.values():
            both = " ".join(sorted({*fields.get("rig.measured", "").split(), *one.fields.get("rig.measured", "").split()}))
            fields |= one.fields | ({"rig.measured": both} if both else {})
        if fields:
            console.print(Text("\nTo take over into the rig's file:", "bold"))
            console.print(Text(to_toml(fields)))

    def _names(self, key: str) -> list[str]:
        """What each that measured a canopy is called, in the order in which they are put together."""
        flights = [f"Flight {number}" for number, found in enumerate(self.found, 1) if key in found]
        return flights + [f"Timed {number}" for number, one in enumerate(self.watched, 1) if key in one.found]

    def _print_flight(self, number: int, flight: Flight, found: dict[str, Found], console: Console) -> None:
        show = self.worked.show
        console.print(Text(f"\nFlight {number}: {len(flight.log.times)} samples; {flight.log.told}.", "bold"))
        if flight.log.spikes:
            count = len(flight.log.spikes)
            console.print(f"{count} sample{'s' if count > 1 else ''} that no fall could make: left out of the fit.", markup=False)
        if len(flight.zeros) > 1:
            console.print(BOTH_ZEROS)
        for start, end in flight.log.gaps:
            console.print(f"No sample from {start:g} s to {end:g} s.", markup=False)
        grid = Table()
        for head in _PHASES:
            grid.add_column(Text(head))
        for part in flight.parts:
            rate = "" if part.name in (CLIMB, GROUND) else show(part.stretch.rate, SPEED)
            grid.add_row(*map(Text, (part.name, f"{part.stretch.start:.1f} s", f"{part.stretch.end:.1f} s", rate)))
        console.print(grid)
        for key, one in found.items():
            console.print(
                Text.assemble(
                    (f"{self.worked.title(key)}: ", "bold"),
                    f"Cd·S {self.worked.range(one.drag_area, AREA)}, 95 % sure, from {one.start:.1f} s to {one.end:.1f} s; standard error {show(one.sunk.error, AREA)}.",
                )
            )

    def _print_canopy(self, key: str, one: Taken, console: Console) -> None:
        ranged = self.worked.range
        count = len(one.flights)
        console.print(Text(f"\n{self.worked.title(key)}, {flights_told(one.flights)}", "bold underline"))
        grid = Table(show_header=False, box=None, pad_edge=False)
        grid.add_row("Cd·S", ranged(one.pooled.planned, AREA))
        grid.add_row("Cd on its area S0", ranged(one.cd, NUMBER))
        grid.add_row("sinks at the field at", ranged(one.rate, SPEED))
        grid.add_row("the rig says now", ranged(one.canopy.rate, SPEED))
        console.print(grid)
        if count > 1:
            console.print(mean_told(self.worked, one), markup=False)
        for place in one.pooled.odd:
            console.print(odd_told(self._names(key)[place]), markup=False)
        if apart := against_plan(self.worked, one):
            console.print(Text(apart, "bold red" if one.rate.low > one.canopy.rate.high else "yellow"))
        if one.why:
            console.print(Text(f"Not to be taken over: {one.why}", "yellow"))
        console.print(holds_for(self.worked, one), markup=False)


def _watched(worked: Worked, options: argparse.Namespace) -> tuple[Opened, ...]:
    """Every descent by a watch, on the one day that was told; raises Refusal of the first that is wrong."""
    more = {"begun": options.begun, "sure": options.sure, "watch": options.watch, "temperature": options.temperature[0] if len(options.temperature) == 1 else ""}
    found = tuple(watched_one(worked, {"of": key, "high": high, "low": low, "seconds": seconds} | more) for key, high, low, seconds in options.timed)
    for one in found:
        if one.faults:
            raise Refusal(*one.faults)
    return found


def _found(path: Path, flight: Flight) -> dict[str, Found]:
    """What is found in a file for sure. Refuses one in which nothing is, by its name, with how to say it."""
    try:
        return flight.found
    except Refusal as refusal:
        raise Refusal(*(replace(fault, message=f"{path}: {fault.message} With this file alone: --from, --to and --of.") for fault in refusal.faults)) from None


def measured(worked: Worked, options: argparse.Namespace) -> Told:
    """Every file read, every canopy found in it or said to be in it. Raises Refusal for what cannot be read or fitted."""
    if not options.logs and not options.timed:
        raise Refusal(Fault(message="measured: there is neither a file nor a descent by a watch. Allowed: FILE, or --timed.", field="--timed", label="measured", allowed="FILE, or --timed"))
    by_hand = options.start is not None or options.end is not None
    if by_hand and (options.start is None or options.end is None or options.of is None or len(options.logs) > 1):
        allowed = "--from, --to and --of together, with one file"
        raise Refusal(Fault(message=f"phase: it is not said whole. Allowed: {allowed}.", field="--from", label="phase", allowed=allowed))
    if by_hand and not options.start < options.end:
        raise Refusal(Fault(message="phase: it ends before it begins. Allowed: --from before --to.", field="--from", label="phase", given=f"{options.start:g} to {options.end:g} s", allowed="--from before --to"))
    if options.of and not by_hand and worked.rig.way.tied:
        raise Refusal(Fault(message="phase: --of alone does not say when. Allowed: with --from and --to.", field="--of", label="phase", given=options.of, allowed="with --from and --to"))
    flights = tuple(flown(worked, _log(path, options), day, options.of) for path, day in zip(options.logs, _days(options), strict=True))
    for i, flight in enumerate(flights):
        if (first := next((j for j in range(i) if same_record(flights[j].log, flight.log)), None)) is not None:
            allowed = "each flight once"
            raise Refusal(Fault(message=f"{options.logs[i]} holds the samples of {options.logs[first]}: one flight counts once. Allowed: {allowed}.", field="file", label="file", given=str(options.logs[i]), allowed=allowed))
    found = tuple(
        {options.of: flight.fitted(options.of, options.start, options.end)} if by_hand else _found(path, flight) for path, flight in zip(options.logs, flights, strict=True)
    )
    watched = _watched(worked, options)
    every: list[Mapping[str, Once]] = [*found, *(one.found for one in watched)]
    keys = [key for key in worked.canopies if any(key in one for one in every)]
    return Told(worked, flights, found, watched, {key: taken(worked, [one[key] for one in every if key in one], options.when) for key in keys})
