"""What a refusal carries: facts first (field, given, allowed), the sentence second."""

from dataclasses import asdict, dataclass


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing wrong with one field.

    `field` is the rig path ("" for the whole file), `readings` are texts the reader may have meant.
    """

    message: str
    field: str = ""
    label: str = ""
    given: str = ""
    allowed: str = ""
    readings: tuple[str, ...] = ()

    def data(self) -> dict[str, object]:
        """The fault as plain data, ready for JSON."""
        return asdict(self) | {"readings": list(self.readings)}


class Refusal(ValueError):
    """Input that Loftbook will not compute with; `faults` holds everything found, not only the first."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__("; ".join(fault.message for fault in faults))
        self.faults = faults
