"""The whole plan: a rig goes in, every result and check comes out."""

from collections.abc import Mapping
from dataclasses import dataclass

from loftbook.calculators import CALCULATORS
from loftbook.case import Case
from loftbook.answer import Answer, Check, Value
from loftbook.rig import Rig, parse
from loftbook.physics.spread import Spread

SCATTERED = (
    1_000  # descents drawn for a plan, so that it keeps up with typing; the landing page draws ten times as many
)


@dataclass(frozen=True)
class Plan:
    """All answers by calculator name, in the order of the work."""

    rig: Rig
    answers: Mapping[str, Answer]

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every check once, worst first, otherwise in the order of the work."""
        once = {check.name: check for answer in self.answers.values() for check in answer.checks}
        order = {"fail": 0, "warn": 1, "pass": 2}
        return tuple(sorted(once.values(), key=lambda check: order[check.verdict]))

    @property
    def sound(self) -> bool:
        """Whether no check fails."""
        return all(check.verdict != "fail" for check in self.checks)


def plan(rig: Rig | Mapping[str, str]) -> Plan:
    """The recovery plan of a rig, or of path -> text. Raises `Refusal` with every fault of the rig."""
    whole = rig if isinstance(rig, Rig) else parse(rig)
    case = Case(whole, SCATTERED)
    return Plan(whole, {name: c.compute(case) for name, c in CALCULATORS.items() if c.in_plan})


def plain(value: Value | None) -> object:
    """An output as JSON data: SI numbers, a range as low, best, high."""
    return {"low": value.low, "best": value.best, "high": value.high} if isinstance(value, Spread) else value


def data(whole: Plan) -> dict[str, object]:
    """The plan as JSON data, SI units throughout."""
    return {
        "rig": dict(whole.rig.texts),
        "assumed": list(whole.rig.assumed),
        "sound": whole.sound,
        "results": {
            name: {output: plain(value) for output, value in answer.outputs.items()}
            for name, answer in whole.answers.items()
        },
        "checks": [
            {"name": check.name, "verdict": check.verdict, "title": check.title, "reason": check.reason}
            for check in whole.checks
        ],
        "steps": [
            {
                "anchor": stage.anchor,
                "title": stage.title,
                "do": stage.text,
                "see": stage.seen,
                "otherwise": stage.otherwise,
            }
            for answer in whole.answers.values()
            for stage in answer.stages
        ],
    }
