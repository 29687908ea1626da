"""Trajectories of a hand or a planner on a fine grid of time, radians or metres, in three styles.

`spline`: a monotone cubic (PCHIP) through hand-placed points with dwells, then a Gaussian of 70 ms.
`sines`: three incommensurate sines a joint under an envelope that rises and falls.
`trapezoid`: pick and place with trapezoidal speed, all joints of a move together, dwells between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import uniform_filter1d
from scipy.signal import butter, sosfilt

from .draw import Draw

STYLES = ["spline", "sines", "trapezoid"]


@dataclass
class Task:
    """What the episodes of a session have in common: where the hand goes, how fast, how it rests."""

    style: str
    home: np.ndarray
    stops: np.ndarray  # (stops, joints)
    amplitude: np.ndarray  # (joints,)
    frequency_hz: np.ndarray  # (3, joints)
    phase: np.ndarray
    span_s: float
    scatter: float

    @staticmethod
    def drawn(draw: Draw, style: str, travel: np.ndarray, span_s: float, scatter=0.10) -> "Task":
        """A task of 4 stops within the travel (half width of each joint about its centre)."""
        joints = len(travel)
        signs = draw.rng.choice([-1.0, 1.0], (4, joints))
        signs[1::2] = -signs[::2]  # there and back, so that every joint moves
        stops = travel * signs * draw.between(0.35, 0.95, (4, joints))
        return Task(
            style,
            travel * draw.between(-0.2, 0.2, joints),
            stops,
            travel * draw.between(0.5, 0.9, joints),
            np.array([[0.17], [0.31], [0.53]]) * draw.between(0.85, 1.15, (3, joints)),
            draw.between(0, 2 * np.pi, (3, joints)),
            span_s,
            scatter,
        )


def grid(span_s: float, step_s: float) -> np.ndarray:
    """Times from 0 to span, both ends in."""
    return np.arange(int(round(span_s / step_s)) + 1) * step_s


def smoothed(values: np.ndarray, width_s: float, step_s: float) -> np.ndarray:
    """Smoothed by nearly a Gaussian of this standard deviation: a box filter thrice."""
    size = max(int(round(2 * width_s / step_s)), 1)
    for _ in range(3):
        values = uniform_filter1d(values, size, axis=0, mode="nearest")
    return values


def smoothstep(x: np.ndarray) -> np.ndarray:
    """0 to 1 with no speed at either end."""
    x = np.clip(x, 0, 1)
    return x * x * (3 - 2 * x)


def trapezoid(x: np.ndarray, ramp=0.3) -> np.ndarray:
    """0 to 1 for x from 0 to 1 with a trapezoidal speed."""
    x = np.clip(x, 0, 1)
    top = 1 / (1 - ramp)
    up = top * x * x / (2 * ramp)
    flat = top * (x - ramp / 2)
    down = 1 - top * (1 - x) ** 2 / (2 * ramp)
    return np.where(x < ramp, up, np.where(x < 1 - ramp, flat, down))


def path(draw: Draw, task: Task, step_s: float, rest_s=(0.25, 0.55)):
    """One episode: (times, values (n, joints), events) with events the times of arrival at each stop."""
    pace = float(np.exp(draw.normal(0.06)))
    span = task.span_s * pace
    head, tail = draw.between(*rest_s), draw.between(*rest_s)
    joints = len(task.home)
    around = np.abs(task.stops).max(0) * task.scatter
    stops = task.stops + draw.normal(1.0, task.stops.shape) * around
    home = task.home + draw.normal(0.3, joints) * around
    times = grid(head + span + tail, step_s)
    if task.style == "sines":
        x = np.clip((times - head) / span, 0, 1)
        envelope = smoothstep(x / 0.2) * smoothstep((1 - x) / 0.2)
        phase = task.phase + draw.normal(0.15, task.phase.shape)
        angle = 2 * np.pi * task.frequency_hz[None] * (times[:, None, None] / pace) + phase
        wave = (np.sin(angle) * np.array([0.6, 0.35, 0.2])[:, None]).sum(1)
        values = home + wave * task.amplitude * envelope[:, None]
        return times, smoothed(values, 0.05, step_s), [
            head + span * 0.3,
            head + span * 0.7,
        ]
    points = np.vstack([home, stops, home + draw.normal(0.1, joints) * around])
    legs = len(points) - 1
    # Long legs take longer, as with a hand or a planner with a speed limit.
    size = np.abs(np.diff(points, axis=0)).max(1)
    share = np.sqrt(size / size.max()) * np.exp(draw.normal(0.08, legs))
    dwell = draw.between(0.18, 0.45, legs - 1)
    move = (span - dwell.sum()) * share / share.sum()
    starts = head + np.concatenate([[0], np.cumsum(move[:-1] + dwell)])
    values = np.repeat(points[:1], len(times), 0)
    arrivals = list(starts[:-1] + move[:-1])
    if task.style == "trapezoid":
        for leg in range(legs):
            x = (times - starts[leg]) / move[leg]
            values = values + trapezoid(x)[:, None] * (points[leg + 1] - points[leg])
        return times, smoothed(values, 0.02, step_s), arrivals
    knots_t, knots = [0.0], [points[0]]
    for leg in range(legs):
        bend = draw.between(0.35, 0.65, joints)
        knots_t += [starts[leg], starts[leg] + move[leg] * 0.5, starts[leg] + move[leg]]
        knots += [points[leg], points[leg] + bend * (points[leg + 1] - points[leg]), points[leg + 1]]
    knots_t.append(times[-1] + step_s)
    knots.append(points[-1])
    values = PchipInterpolator(np.array(knots_t) + np.arange(len(knots_t)) * 1e-6, np.array(knots))(times)
    return times, smoothed(values, 0.07, step_s), arrivals


def tremor(draw: Draw, shape, step_s: float, size: float) -> np.ndarray:
    """Physiological tremor, 6 to 11 Hz, of this standard deviation, with a slow sway of three times it."""
    n, pad = shape[0], int(0.5 / step_s)
    band = butter(2, [6 * 2 * step_s, 11 * 2 * step_s], "band", output="sos")
    fast = sosfilt(band, draw.normal(1.0, (n + pad, *shape[1:])), axis=0)[pad:]
    # The sway is drawn on a grid of 50 ms and made finer.
    knots = int(n * step_s / 0.05) + 40
    slow = smoothed(draw.normal(1.0, (knots, *shape[1:])), 0.6, 0.05)
    slow = (slow - slow.mean(0)) / slow.std(0)
    at = np.arange(n) * step_s / 0.05 + 15
    low, part = at.astype(int), (at % 1).reshape((n,) + (1,) * (len(shape) - 1))
    slow = slow[low] * (1 - part) + slow[low + 1] * part
    return size * (fast / fast.std(0) + 1.5 * slow)


def jaw(draw: Draw, times: np.ndarray, closing, opening, open_value, closed_value, rise_s=0.25):
    """A jaw that closes and opens again along logistics of this rise (10 to 90 % in about 1.1 of it)."""
    width = rise_s / 4
    shut = 1 / (1 + np.exp(-np.clip((times - closing) / width, -40, 40)))
    apart = 1 / (1 + np.exp(-np.clip((times - opening) / width, -40, 40)))
    return open_value + (closed_value - open_value) * (shut - apart)
