"""No figure changes unseen: what the core said of some rigs when defaults froze, and says still.

This holds no figure to be right, only the same; one that is changed on purpose is written down anew by scripts/keep.py.
"""

import json

import pytest

from keep import KEPT, rigs, said_of

RIGS = rigs()


def test_what_is_kept_is_of_these_rigs() -> None:
    assert list(json.loads(KEPT.read_text("utf-8"))) == list(RIGS)


@pytest.mark.parametrize("name", RIGS)
def test_no_figure_changes_unseen(name: str) -> None:
    kept, now = json.loads(KEPT.read_text("utf-8"))[name], said_of(RIGS[name])
    assert list(now) == list(kept)
    changed = [f"{answer}: {new}, was {old}" for answer in now for old, new in zip(kept[answer], now[answer], strict=False) if old != new]
    assert not changed
    assert {answer: len(lines) for answer, lines in now.items()} == {answer: len(lines) for answer, lines in kept.items()}
