"""The whole plan: a rig goes in, every result and check comes out."""

from collections.abc import Mapping
from dataclasses import dataclass

from loftbook.answer import Answer, Check, Step, Value
from loftbook.calculators import CALCULATORS
from loftbook.physics.spread import Spread
from loftbook.rig.parsing import parse
from loftbook.rig.rig import Rig
from loftbook.worked.worked import SCATTERED, Worked

WORK = ("electronics", "folding", "packing")  # in the order it is done
ORDER = {"fail": 0, "warn": 1, "pass": 2}


@dataclass(frozen=True)
class Plan:
    """All answers in the order of the work, by name: "descent", or "main.folding" where it is about a bay."""

    worked: Worked
    answers: Mapping[str, Answer]

    @property
    def rig(self) -> Rig:
        return self.worked.rig

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every check once, worst first, otherwise in the order of the work."""
        once = {(check.bay, check.name): check for answer in self.answers.values() for check in answer.checks}
        return tuple(sorted(once.values(), key=lambda check: ORDER[check.verdict]))

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every step in the order of the work: electronics, each canopy's folds, each bay's packing."""
        return tuple(step for name in WORK for answer in self.of(name).values() for step in answer.steps)

    @property
    def sound(self) -> bool:
        """Whether no check fails."""
        return all(check.verdict != "fail" for check in self.checks)

    def of(self, name: str) -> dict[str, Answer]:
        """The answers of one calculator by what they are about, in the order of opening."""
        return {
            key: self.answers[joined(key, name)]
            for key in CALCULATORS[name].keys(self.rig.way)
        }

    def title(self, answer: str) -> str:
        """The heading of an answer: what is done, and to which bay where there is more than one."""
        key, name = parted(answer)
        title = CALCULATORS[name].title
        return title if not key or self.rig.way.keys == (key,) else f"{title}: {self.worked.title(key)}"


def joined(key: str, name: str) -> str:
    """The name of an answer about a key."""
    return f"{key}.{name}" if key else name


def parted(answer: str) -> tuple[str, str]:
    """(key, calculator) of an answer's name."""
    key, _, name = answer.rpartition(".")
    return key, name


def plan(rig: Rig | Mapping[str, str]) -> Plan:
    """The recovery plan of a rig, or of path -> text. Raises `Refusal` with every fault of the rig."""
    whole = rig if isinstance(rig, Rig) else parse(rig)
    worked = Worked(whole, SCATTERED)
    return Plan(
        worked,
        {
            joined(key, name): calculator.answer(worked, key)
            for name, calculator in CALCULATORS.items()
            if calculator.in_plan
            for key in calculator.keys(whole.way)
        },
    )


def plain(value: Value | None) -> object:
    """An output as JSON data: SI numbers, a range as low, best, high."""
    return {"low": value.low, "best": value.best, "high": value.high} if isinstance(value, Spread) else value


def data(whole: Plan) -> dict[str, object]:
    """The plan as JSON data, SI units throughout."""
    return {
        "rig": dict(whole.rig.texts),
        "assumed": [path for path in whole.rig.texts if path in whole.rig.assumed],
        "measured": sorted(whole.rig.measured),
        "sound": whole.sound,
        "results": {
            name: {output: plain(value) for output, value in answer.outputs.items()}
            for name, answer in whole.answers.items()
        },
        "checks": [
            {
                "name": check.name,
                "bay": check.bay,
                "verdict": check.verdict,
                "gate": check.gate,
                "title": check.title,
                "reason": check.reason,
                "source": check.source,
            }
            for check in whole.checks
        ],
        "steps": [
            {
                "anchor": step.anchor,
                "title": step.title,
                "do": step.text,
                "see": step.seen,
                "otherwise": step.otherwise,
            }
            for step in whole.steps
        ],
    }
