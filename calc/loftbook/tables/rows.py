"""What a row of the tables is: frozen, SI floats, and each number with the source it was taken from."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from loftbook.physics.spread import Spread
from loftbook.quantity import Kind, System, at_least, at_most, read, show


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from, and how it was had; a fact that nobody published has no text."""

    text: str
    how: str

    @property
    def cited(self) -> str:
        """`text (how)`, or only how."""
        return f"{self.text} ({self.how})" if self.text else self.how


@dataclass(frozen=True, slots=True)
class Sourced:
    """One number of a table: low <= best <= high in SI, all three the same where the source names one figure.

    `best` is the middle where the source names the two ends only. `printed` is the figure as it stands in the table,
    `row` says which row of the source it is, or how it was chosen there.
    """

    low: float
    best: float
    high: float
    kind: Kind
    printed: str
    source: Source
    row: str = ""

    @property
    def value(self) -> float:
        """The best value, the only one where one figure is known."""
        return self.best

    @property
    def spread(self) -> Spread:
        """Low, best and high."""
        return Spread(self.low, self.best, self.high)

    @property
    def cited(self) -> str:
        """`text, row (how)`."""
        text = ", ".join(part for part in (self.source.text, self.row) if part)
        return Source(text, self.source.how).cited

    def show(self, system: System) -> str:
        """The number as text in the reader's system."""
        return spanned(show(self.low, self.kind, system), show(self.high, self.kind, system))


@dataclass(frozen=True, slots=True)
class Family:
    """A shape of canopy: drag and opening-force coefficients on S0, filling constant n, inflated over nominal diameter."""

    name: str
    cd: Sourced
    cx: Sourced
    filling: Sourced
    inflated: Sourced


@dataclass(frozen=True, slots=True)
class Cloth:
    """Mass [kg/m^2] of the piece before seams; breaking strength [N/m], None where it is not known."""

    name: str
    mass: Sourced
    strength: Sourced | None = None


@dataclass(frozen=True, slots=True)
class Strand:
    """A line or cord: least breaking strength [N], stretch at break as a share."""

    name: str
    strength: Sourced
    stretch: Sourced


@dataclass(frozen=True, slots=True)
class End:
    """A knot or seam: share of the strength that is left, the low end of what is published."""

    name: str
    efficiency: Sourced


@dataclass(frozen=True, slots=True)
class Seam:
    """How cloth is sewn: what each edge is cut longer beyond the seam's middle or the finished edge, in finished widths (None:
    nothing); layers of cloth that lie on each other in it; rows of stitches that carry the pull.
    """

    name: str
    layers: Sourced
    rows: Sourced
    allowance: Sourced | None = None

    def allowed(self, width: float) -> float:
        """Cloth beyond the finished edge [m] at a finished width [m]."""
        return self.allowance.value * width if self.allowance else 0.0


@dataclass(frozen=True, slots=True)
class Thread:
    """A sewing thread: least breaking strength [N], mass per length [kg/m]."""

    name: str
    strength: Sourced
    mass: Sourced


@dataclass(frozen=True, slots=True)
class Pin:
    """A nylon screw: diameter [m], pitch [m] of a metric thread or threads per inch of a unified one, shear strength [Pa]."""

    name: str
    diameter: Sourced
    shear: Sourced
    pitch: Sourced | None = None
    threads_per_inch: Sourced | None = None

    def __post_init__(self) -> None:
        if (self.pitch is None) == (self.threads_per_inch is None):
            raise LookupError(f"pin {self.name!r}: wants either a pitch or threads per inch")


@dataclass(frozen=True, slots=True)
class Hardware:
    """A part by open specification: rating along its axis [N]."""

    name: str
    rating: Sourced


@dataclass(frozen=True, slots=True)
class Inspection:
    """What is looked at of a part, by its anchor: how, what is seen when it is bad, what retires it for good.

    flights: flights after which it is due, None where they do not count; days: days after which it is, flown or not;
    after: what else makes it due at once; picture: the name of one in `drawing.wear`, "" without.
    """

    name: str
    part: str
    title: str
    look: str
    bad: str
    retire: str
    flights: int | None
    days: int
    after: tuple[str, ...]
    picture: str
    source: Source


@dataclass(frozen=True, slots=True)
class Practice:
    """A fact that is not physics: a sentence with named numbers, and its standing."""

    key: str
    template: str
    source: Source
    numbers: Mapping[str, tuple[float, Kind]]

    def number(self, name: str) -> float:
        """The number of that name in SI; LookupError where the fact holds none."""
        if name not in self.numbers:
            raise LookupError(f"practice.toml, {self.key}: no number {name!r}")
        return self.numbers[name][0]

    @property
    def low(self) -> float:
        """The lower limit or the lower end, SI; LookupError where there is none."""
        return self.number("low")

    @property
    def high(self) -> float:
        """The upper limit or the upper end, SI; LookupError where there is none."""
        return self.number("high")

    def sentence(self, system: System) -> str:
        """The fact in the reader's units, without its standing; what nobody published in two digits, no more sure than it is.

        A published limit is never told wider than it is.
        """
        told = {
            name: show(value, self._sided(name, kind), system)
            if self.source.text
            else show(rounded(value, kind, system), kind, system)
            for name, (value, kind) in self.numbers.items()
        }
        if "low" in told and "high" in told:
            told["range"] = spanned(told["low"], told["high"])
        return self.template.format(**told)

    def _sided(self, name: str, kind: Kind) -> Kind:
        """How a limit is written: the only one from above never above itself, the only one from below never below."""
        if name == "high" and "low" not in self.numbers:
            return at_most(kind)
        return at_least(kind) if name == "low" and "high" not in self.numbers else kind

    @property
    def cited(self) -> str:
        """Its standing: `source; how`, or only how."""
        return "; ".join(part for part in (self.source.text, self.source.how) if part)


@cache
def rounded(value: float, kind: Kind, system: System) -> float:
    """A value [SI] to two digits in the unit that is offered for its kind."""
    unit = read(f"1 {kind.offered(system)}", kind)
    return float(f"{value / unit:.1e}") * unit


def spanned(low: str, high: str) -> str:
    """`15 to 20 ft/s`: two written quantities as one range, the unit once where it is the same."""
    number, _, unit = low.partition(" ")
    if low == high:
        return low
    return f"{number if unit and ' ' not in unit and high.partition(' ')[2] == unit else low} to {high}"
