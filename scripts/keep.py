"""Writes down what the core says of some rigs, so that no figure changes unseen: `python scripts/keep.py`.

It does not say that a figure is right: published values, closed forms and the judge do. It is run when a figure was changed on
purpose; what then differs in tests/judge/kept.json is read before it is committed.
"""

import json
import re
import sys
from pathlib import Path
from zlib import crc32

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "calc"), str(ROOT / "tests" / "judge")]

from good_rigs import GOOD  # noqa: E402
from wild_rigs import rig  # noqa: E402

from loftbook.answer import Answer  # noqa: E402
from loftbook.calculators import CALCULATORS  # noqa: E402
from loftbook.faces.render import answer_parts, html  # noqa: E402
from loftbook.physics.spread import Spread  # noqa: E402
from loftbook.plan import Plan, joined, plan  # noqa: E402
from loftbook.rig.fields import STARTS  # noqa: E402
from loftbook.rig.rig import Rig  # noqa: E402

KEPT = ROOT / "tests" / "judge" / "kept.json"
Said = dict[str, list[str]]


def rigs() -> dict[str, dict[str, str]]:
    """Both starting rigs, every fourth good one, some wild ones: every way down, every family, every charge among them."""
    starts = {name: {"rig.start": name} for name in STARTS}
    wild = {f"wild {number}": rig(number)[1] for number in range(30)}
    return starts | {name: GOOD[name] for name in list(GOOD)[::4]} | wild


def said_of(texts: dict[str, str]) -> Said:
    """Of each answer every output, every verdict, and a mark of all numbers that stand in it, pictures too."""
    whole = plan(texts)
    found = {name: _of(name.rpartition(".")[2], answer, whole.rig) for name, answer in whole.answers.items()}
    return found | {joined(key, name): _of(name, CALCULATORS[name].answer(whole.worked, key), whole.rig) for name, key in _others(whole)}


def _others(whole: Plan) -> list[tuple[str, str]]:
    return [(name, key) for name, one in CALCULATORS.items() if not one.in_plan for key in one.keys(whole.rig.way)]


def _of(name: str, answer: Answer, rig: Rig) -> list[str]:
    outputs = [f"{output} {_written(value)}" for output, value in answer.outputs.items() if value is not None]
    verdicts = [f"{check.name} {check.verdict}" for check in answer.checks]
    numbers = re.findall(r"\d+(?:\.\d+)?", html(*answer_parts(CALCULATORS[name], answer, rig)))
    return [*outputs, *verdicts, f"all numbers {crc32(' '.join(numbers).encode()):08x}"]


def _written(value: object) -> str:
    values = (value.low, value.best, value.high) if isinstance(value, Spread) else (value,)
    return " ".join(f"{one:.10g}" if isinstance(one, float) else str(one) for one in values)


def main() -> None:
    kept = {name: said_of(texts) for name, texts in rigs().items()}
    KEPT.write_text(json.dumps(kept, ensure_ascii=False, indent=0) + "\n", "utf-8")
    print(f"{len(kept)} rigs, {sum(len(one) for said in kept.values() for one in said.values())} figures kept in {KEPT.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
