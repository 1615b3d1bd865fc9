"""Results that are kept: of a whole rig one field changes at a time, so most of what an answer asks was asked before.

Only of functions that hang on nothing but their arguments, all of them hashable.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import cast

_CLEARS: list[Callable[[], None]] = []


def remembered[**P, T](count: int) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Keep the last `count` results of a function; what it is called with is still checked as without."""

    def keeping(made: Callable[P, T]) -> Callable[P, T]:
        """The same function, its results kept."""
        kept = lru_cache(count)(made)
        _CLEARS.append(kept.cache_clear)
        return cast(Callable[P, T], kept)

    return keeping


def forget() -> None:
    """Begin anew, with nothing kept."""
    for clear in _CLEARS:
        clear()
