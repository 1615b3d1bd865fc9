"""What a field of a rig is. A field is declared once; from that come the form, the command's option, the reference
table, the rig file's check and the property tests.
"""

from dataclasses import dataclass, replace

from loftbook.quantity import Kind
from loftbook.rig.ways import KEYS, MAIN, WAYS, Belongs

Condition = tuple[str, tuple[str, ...]]  # a path, and the choices of it under which a field matters


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
    when: tuple[Condition, ...] = ()  # matters only while each of these fields has one of these values
    bay: str = ""  # the bay or canopy that it was stamped for

    @property
    def group(self) -> str:
        """Its table in a rig file: the path without its last part."""
        return self.path.rpartition(".")[0]

    @property
    def full(self) -> str:
        """Its label where no heading says which bay it is of."""
        return f"{self.label} ({self.bay})" if self.bay and self.bay != MAIN else self.label


@dataclass(frozen=True, kw_only=True)
class BayField(Field):
    """A field of every bay: path, and the paths in `when`, are relative to the bay. `belongs`: what must be there for it."""

    belongs: Belongs
    defaults: tuple[tuple[str, str], ...] = ()  # of single bays, where they differ

    def stamped(self, key: str) -> Field | None:
        """The same for one bay; None where no way down has it there."""
        ways = tuple(name for name, way in WAYS.items() if way.has(key, self.belongs))
        if not ways:
            return None
        conditions = tuple((f"{key}.{path}", values) for path, values in self.when)
        always: tuple[Condition, ...] = () if len(ways) == len(WAYS) else (("flight.way", ways),)
        given = {name: getattr(self, name) for name in Field.__dataclass_fields__}
        made = Field(**given)
        return replace(
            made,
            path=f"{key}.{self.path}",
            default=dict(self.defaults).get(key, self.default),
            when=always + conditions,
            bay=key,
        )


def stamp(fields: tuple[BayField, ...]) -> tuple[Field, ...]:
    """Every field of a bay for every bay."""
    made = (one.stamped(key) for key in KEYS for one in fields)
    return tuple(one for one in made if one)
