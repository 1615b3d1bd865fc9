"""The vocabulary of declarations: what a rig field, an output, a check and a calculator are.

A field is declared once; from that come the form, the command's option, the reference table, the rig file's
check and the property tests.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from loftbook.quantity import Kind
from loftbook.physics.spread import Spread

if TYPE_CHECKING:
    from loftbook.case import Case
    from loftbook.drawing.svg import Drawing

Verdict = Literal["pass", "warn", "fail"]
Value = float | int | str | Spread


@dataclass(frozen=True, kw_only=True)
class Field:
    """One thing a rig says. `low` and `high` are SI and inclusive; text fields and choices have no kind."""

    path: str
    label: str
    help: str
    default: str
    kind: Kind | None = None
    low: float = 0.0
    high: float = 0.0
    choices: tuple[str, ...] = ()
    required: bool = False  # a rig file must say it: there is no sensible value for every rocket
    optional: bool = False  # may be left empty
    longest: int = 60  # characters, of a text field
    when: tuple[str, tuple[str, ...]] | None = None  # matters only while that field has one of these values


@dataclass(frozen=True)
class Output:
    """One answer of a calculator: its name in JSON, its label on a page, its kind (None for text)."""

    name: str
    label: str
    kind: Kind | None
    main: bool = True  # shown among the key numbers


@dataclass(frozen=True)
class Check:
    """One verdict with its reason in a sentence; `name` is stable and used by tests and JSON."""

    name: str
    verdict: Verdict
    title: str
    reason: str


@dataclass(frozen=True)
class Working:
    """One line of working: the formula, the same with the numbers put in, where it comes from."""

    title: str
    formula: str
    numbers: str
    source: str


@dataclass(frozen=True)
class Stage:
    """One step a reader carries out: permanent anchor, title, what to do, what should be seen, what to do if not."""

    anchor: str
    title: str
    text: str
    seen: str
    otherwise: str
    drawing: "Drawing | None" = None


@dataclass(frozen=True)
class Pair:
    """A mistake beside its right way: permanent anchor, title, both pictures, the reason, the check that catches it."""

    anchor: str
    title: str
    wrong: "Drawing"
    right: "Drawing"
    reason: str
    caught_by: str


@dataclass(frozen=True)
class Table:
    """Rows of words for reading: the numbers of a chart, a ladder, the eight directions."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Answer:
    """What one calculator says about one rig."""

    outputs: Mapping[str, Value | None]
    summary: str
    checks: tuple[Check, ...] = ()
    working: tuple[Working, ...] = ()
    drawings: "tuple[Drawing, ...]" = ()
    stages: tuple[Stage, ...] = ()
    notes: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    pairs: tuple[Pair, ...] = ()
    cautions: tuple[str, ...] = ()  # said before any figure


@dataclass(frozen=True)
class Calculator:
    """Inputs are rig paths; `compute` may use nothing of the rig but those."""

    name: str
    title: str
    inputs: tuple[str, ...]
    outputs: tuple[Output, ...]
    compute: Callable[["Case"], Answer] = field(repr=False)
    in_plan: bool = True
