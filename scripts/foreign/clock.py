"""When rows are read, and what the stamp says of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .draw import Draw

CLOCKS = ["steady", "slewing", "rounded", "coarse", "packets", "bursts"]


@dataclass
class Clock:
    """A loop and its stamps. `step_s` is the true period."""

    kind: str
    period_s: float
    jitter: float  # share of the period, standard deviation
    quantum_s: float = 0.0

    @staticmethod
    def drawn(draw: Draw, rate_hz: float, kind="steady") -> "Clock":
        """A clock of this kind at this rate."""
        period = 1 / rate_hz
        quantum = {"rounded": 0.001 if rate_hz <= 200 else 0.0001, "coarse": 0.010, "packets": 0.004}.get(kind, 0)
        if kind == "packets" and rate_hz < 200:
            quantum = 0.8 * period
        jitter = draw.choose([0.002, 0.01, 0.015, 0.005])
        return Clock(kind, period, 0.002 if kind in ("packets", "bursts") else jitter, quantum)

    def rows(self, draw: Draw, span_s: float) -> tuple[np.ndarray, np.ndarray]:
        """(true times of reading from 0 on, stamps) of an episode of this length."""
        n = max(int(span_s / self.period_s), 4)
        due = np.arange(n) * self.period_s
        true = due + np.abs(draw.normal(self.jitter * self.period_s, n))
        true = np.clip(true, 0, None)
        stamp = true.copy()
        if self.kind == "slewing":
            # A disciplined clock: up to 500 ppm fast or slow, changing every few seconds.
            knots = np.arange(0, span_s + 4, 3.0)
            rate = 1 + draw.between(-500e-6, 500e-6, len(knots))
            warped = np.concatenate([[0], np.cumsum(np.diff(knots) * rate[:-1])])
            stamp = np.interp(true, knots, warped)
        elif self.kind in ("rounded", "coarse"):
            stamp = np.round(true / self.quantum_s) * self.quantum_s
        elif self.kind == "packets":
            stamp = np.ceil((true + 1e-9) / self.quantum_s) * self.quantum_s
        elif self.kind == "bursts":
            # Two rows a transfer: both are stamped when it comes, the second a moment later.
            last = true[np.minimum(np.arange(n) // 2 * 2 + 1, n - 1)]
            stamp = last + 0.02 * self.period_s * (np.arange(n) % 2)
        return true, stamp
