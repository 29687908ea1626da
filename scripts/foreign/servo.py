"""A follower: dead time, a second-order loop, slop, droop, an object between the jaws, a sensor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from .draw import Draw


@dataclass
class Servo:
    """One arm's servos. Angles in rad."""

    dead_s: float
    natural: np.ndarray  # rad/s per joint
    damping: np.ndarray
    slop: np.ndarray  # full width
    offset: np.ndarray
    gain: np.ndarray
    droop: np.ndarray  # rad at a horizontal link
    noise: float
    count: float  # 0: not quantised

    @staticmethod
    def hobby(draw: Draw, joints: int) -> "Servo":
        """A small arm of bus servos."""
        return Servo(
            draw.between(0.008, 0.03),
            draw.between(22, 38, joints),
            draw.between(0.8, 1.0, joints),
            np.radians(draw.between(0.1, 0.4, joints)),
            np.radians(draw.normal(0.25, joints)),
            1 + draw.normal(0.004, joints),
            np.radians(draw.between(0.0, 0.4, joints)),
            np.radians(0.01),
            2 * np.pi / 4096,
        )

    @staticmethod
    def industrial(draw: Draw, joints: int, lookahead_s: float) -> "Servo":
        """A stiff arm that follows a planned point after a fixed lookahead."""
        return Servo(
            lookahead_s,
            np.full(joints, 60.0),
            np.full(joints, 1.0),
            np.zeros(joints),
            np.zeros(joints),
            np.ones(joints),
            np.radians(draw.between(0.0, 0.02, joints)),
            np.radians(0.002),
            0.0,
        )

    def follow(self, command: np.ndarray, step_s: float) -> np.ndarray:
        """The true angles of the follower for this command on the fine grid."""
        ahead = int(round(self.dead_s / step_s))
        late = np.vstack([np.repeat(command[:1], ahead, 0), command[: len(command) - ahead]]) if ahead else command
        out = np.empty_like(late)
        for j in range(late.shape[1]):
            wn, z = self.natural[j], self.damping[j]
            # wn² / (s² + 2 z wn s + wn²) by the bilinear rule, s = k (1 - 1/z) / (1 + 1/z).
            k = 2 / step_s
            a = [k * k + 2 * z * wn * k + wn * wn, 2 * (wn * wn - k * k), k * k - 2 * z * wn * k + wn * wn]
            start = late[0, j]
            out[:, j] = lfilter([wn * wn, 2 * wn * wn, wn * wn], a, late[:, j] - start) + start
            out[:, j] = slack(out[:, j], self.slop[j])
        sag = self.droop * np.cos(out + np.arange(late.shape[1]) * 0.7)
        return out * self.gain + self.offset - sag

    def read(self, draw: Draw, true: np.ndarray) -> np.ndarray:
        """What the encoder says of sampled true values."""
        noisy = true + draw.normal(self.noise, true.shape)
        return quantised(noisy, self.count)


def quantised(values: np.ndarray, count: float) -> np.ndarray:
    """Rounded to counts of this size."""
    return np.round(values / count) * count if count else values


def slack(values: np.ndarray, width: float) -> np.ndarray:
    """The backlash operator: the output moves only where the input pushes it."""
    if width <= 0:
        return values
    half, out, at = width / 2, [], float(values[0])
    for x in values.tolist():
        if at < x - half:
            at = x - half
        elif at > x + half:
            at = x + half
        out.append(at)
    return np.array(out)


def sampled(times: np.ndarray, values: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Values of the fine grid at these times, linearly between."""
    x = np.clip((at - times[0]) / (times[1] - times[0]), 0, len(times) - 1.000001)
    i = x.astype(int)
    f = (x - i)[:, None] if values.ndim > 1 else x - i
    return values[i] * (1 - f) + values[np.minimum(i + 1, len(times) - 1)] * f
