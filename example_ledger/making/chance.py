"""Chance that falls the same way on every machine and every version of Python."""

from __future__ import annotations

import random
from collections.abc import Iterable
from typing import TypeVar

T = TypeVar("T")


class Chance:
    """Draws from `random()` alone: the one sequence that Python promises to keep."""

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed).random

    def happens(self, share: float) -> bool:
        """Return True for this share of all calls."""
        return self._random() < share

    def below(self, limit: int) -> int:
        """Return a whole number from 0 to one less than a limit."""
        return int(self._random() * limit)

    def pick(self, weighted: Iterable[tuple[T, int]]) -> T:
        """Return one of some things, each as often as its weight says."""
        pairs = list(weighted)
        left = self.below(sum(weight for _, weight in pairs))
        for thing, weight in pairs:
            left -= weight
            if left < 0:
                return thing
        raise AssertionError("weights that add up to nothing")
