"""Random draws of a session, one half of the choices for each parity of the seed.

A list of choices (a rate, a hold length, a width) is split: even entries for the tune half, odd ones
for the report half. A limit that was set on one half so meets other values on the other.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field

import numpy as np


@dataclass
class Draw:
    """A seeded source of draws for one kind of session."""

    kind: str
    seed: int
    half: str | None = None
    rng: np.random.Generator = field(init=False)

    def __post_init__(self) -> None:
        """Seeds the generator by kind and seed, so that kinds do not depend on their order."""
        self.rng = np.random.default_rng([self.seed, zlib.crc32(self.kind.encode())])
        if self.half is None:
            self.half = "tune" if self.seed % 2 == 0 else "report"

    def choose(self, choices: list):
        """One of this half's choices."""
        mine = choices[0 if self.half == "tune" else 1 :: 2] or choices
        return mine[int(self.rng.integers(len(mine)))]

    def between(self, low: float, high: float, size=None):
        """Uniform."""
        return self.rng.uniform(low, high, size)

    def normal(self, std: float, size=None):
        """Normal about zero."""
        return self.rng.normal(0.0, std, size)

    def order(self, n: int) -> np.ndarray:
        """The numbers below n in random order."""
        return self.rng.permutation(n)
