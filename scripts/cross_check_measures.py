"""The measurements of cross_check.py, one episode at a time."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy import fft

from cross_check_table import Part, Rig

SEARCH_S = 1.0
"""How far the lag is looked for, either way."""
MIN_MOTION_RAD = math.radians(10)
"""With less motion of the leader than this, backlash looks like lag: no lag is given."""
PARABOLA_S = 0.010
"""Smallest distance of the lags that the parabola goes through."""
LONG_GAP = 3
"""Steps longer than this many periods are not interpolated across."""
EVEN_STEPS = 0.2
"""Stamps that stray less than this share of a step from a line are the grid as they are."""
WIDEST_S = 0.1
"""A minimum wider than this, and than three frames, names no lag."""
PUSH_RAD = math.radians(2)
"""How far the leader must be beyond the follower to count as pushing outward; twice that at an end nobody declared."""
NEAR_LIMIT_COUNTS = 3
EVEN_S = 1e-6
"""Stamps that stray less than this (or two units in the last place) from a line were made, not read."""


def measure(part: Part, rig: Rig) -> dict:
    """Everything measured of one episode; what cannot be assessed is left out."""
    readings = timing(part.time, rig.period_s)
    if part.action is not None and len(part.time) > 1 and np.isfinite(part.time).all():
        part = replace(part, state=bridged(part.state), action=bridged(part.action))
        followed = tracking(part, rig)
        readings += dwell(part, rig, followed)
        for joint in sorted(followed):
            readings += followed[joint].readings(rig.joints[joint])
    return {"episode": part.name, "frames": len(part.time), "readings": readings}


def bridged(values: np.ndarray) -> np.ndarray:
    """Missing values replaced by straight lines, and held at the ends."""
    if np.isfinite(values).all():
        return values
    rows, out = np.arange(len(values)), np.zeros_like(values)
    for joint, column in enumerate(values.T):
        there = np.isfinite(column)
        if there.any():
            out[:, joint] = np.interp(rows, rows[there], column[there])
    return out


def reading(check: str, metric: str, value: float, joint: str | None = None) -> dict:
    """One number, named as the tool names it."""
    return {"check": check, "metric": metric, "joint": joint, "value": float(value)}


def made_from_index(time: np.ndarray) -> bool:
    """Whether the stamps lie on a line so exactly that no clock was read."""
    index = np.arange(len(time)) - (len(time) - 1) / 2
    rest = time - time.mean()
    off = np.abs(rest - index * (index @ rest) / (index @ index)).max()
    return bool(off < max(2 * np.spacing(np.abs(time).max()), EVEN_S))


def timing(time: np.ndarray, period: float) -> list[dict]:
    """Missing frames, the longest gap, and jitter of the steps that are left."""
    step = np.diff(time)
    if len(step) < 2 or not np.isfinite(step).all() or made_from_index(time):
        return []
    missing = np.maximum(np.round(step / period) - 1, 0)
    # A late frame is not a drop: a long step and the short one after it make two periods together.
    late = (missing[:-1] > 0) & (step[1:] < 0.75 * period)
    both = np.maximum(np.round((step[:-1] + step[1:]) / period) - 2, 0)
    missing[:-1][late] = np.minimum(missing[:-1], both)[late]
    dropped = missing.sum()
    median = np.median(step)
    jitter = np.percentile(np.abs(step - np.maximum(np.round(step / median), 1) * median), 95)
    return [
        reading("dropped-frames", "dropped_frames", dropped),
        reading("dropped-frames", "dropped_share", dropped / (len(time) + dropped)),
        reading("dropped-frames", "longest_gap", step[missing > 0].max(initial=0)),
        reading("timestamp-jitter", "jitter_p95", jitter),
        reading("timestamp-jitter", "jitter_share", jitter / period),
    ]


@dataclass
class Followed:
    """How one joint follows: lag in seconds (none if not assessable), offset and error once aligned."""

    lag_s: float | None
    overall_s: float
    offset: float
    p50: float
    p95: float
    led: bool

    def readings(self, joint: str) -> list[dict]:
        """What is reported of it."""
        lag = [] if self.lag_s is None else [reading("tracking-lag", "lag", self.lag_s, joint)]
        if not self.led:
            return lag
        return lag + [reading("tracking-error", "error_p50", self.p50, joint),
                      reading("tracking-error", "error_p95", self.p95, joint)]


def dwell(part: Part, rig: Rig, followed: dict[int, Followed]) -> list[dict]:
    """Share of frames at an end of travel with the leader pushing outward; per joint.

    An end is the limit, or else the episode's own extreme, where the leader must push twice as far.
    """
    rows, near = np.arange(len(part.time)), NEAR_LIMIT_COUNTS * rig.count
    out = []
    for joint, name in enumerate(rig.joints):
        if rig.grippers[joint]:
            continue
        how = followed.get(joint)
        lag_s = 0.0 if how is None else how.overall_s if how.lag_s is None else how.lag_s
        state = part.state[:, joint]
        leader = part.action[np.clip(rows - round(lag_s / rig.period_s), 0, len(rows) - 1), joint]
        still, pushed = np.ptp(state) <= 2 * near[joint], 0
        for side, limit in enumerate((-rig.lower[joint], rig.upper[joint])):
            sign = (-1, 1)[side]
            reached = (sign * state).max()
            known = reached >= limit - near[joint]
            if still and not (known and rig.declared[joint, side]):
                continue
            push = PUSH_RAD if known else 2 * PUSH_RAD
            there = sign * state >= (limit if known else reached) - near[joint]
            beyond = there & (sign * (leader - state + (0 if how is None else how.offset)) > push)
            if not beyond.any():
                continue
            edges = np.flatnonzero(np.diff(there, prepend=False, append=False))
            # The leader must have moved on while the follower was at rest. Every other stretch is a run.
            bounds = np.minimum(edges, len(rows) - 1)
            span = np.maximum.reduceat(leader, bounds)[::2] - np.minimum.reduceat(leader, bounds)[::2]
            count = np.add.reduceat(beyond.astype(int), bounds)[::2]
            pushed += count[span > push].sum()
        out.append(reading("limit-dwell", "dwell_share", pushed / len(rows), name))
    return out


def uniform(part: Part, period: float) -> tuple[np.ndarray, np.ndarray, list[slice], float]:
    """Both signals (joints x samples) on an even grid, its stretches without a long gap, its step in seconds.

    The step is the mean period, not the median one: a grid a little off the true rate slides along the
    samples, and what interpolation smooths away then changes with it. On a log with steps of 10.0 ms in the
    mean and 9.997 ms in the median that alone moved the lag by up to 0.24 frame.
    """
    time = part.time
    even = (time[-1] - time[0]) / (len(time) - 1)
    straying = np.abs(time - time[0] - even * np.arange(len(time))).max()
    as_is = even > 0 and straying <= EVEN_STEPS * even
    if as_is or (np.diff(time) < 0).any():
        # Even enough, or no time at all: row by row.
        whole = [np.ascontiguousarray(v.T) for v in (part.state, part.action)]
        return *whole, [slice(0, len(time))], even if as_is else period
    moved = np.concatenate([[True], np.diff(time) > 0])
    time, state, action = time[moved], part.state[moved], part.action[moved]
    periods = max(1, int(np.round(np.diff(time) / period).sum()))
    step = (time[-1] - time[0]) / periods
    grid = time[0] + step * np.arange(periods + 1)
    left = np.clip(np.searchsorted(time, grid, side="right") - 1, 0, len(time) - 2)
    weight = ((grid - time[left]) / (time[left + 1] - time[left]))[:, None]
    inside = (np.diff(time)[left] > LONG_GAP * period) & (weight[:, 0] > 0) & (weight[:, 0] < 1)
    edges = np.flatnonzero(np.diff(np.concatenate([[True], inside, [True]]).astype(int)))
    stretches = [slice(a, b) for a, b in zip(edges[::2], edges[1::2])]
    on = [v[left] + weight * (v[left + 1] - v[left]) for v in (state, action)]
    return np.ascontiguousarray(on[0].T), np.ascontiguousarray(on[1].T), stretches, step


def error_std(state: np.ndarray, action: np.ndarray, stretches: list[slice], reach: int) -> np.ndarray:
    """Variance of s(t + L) - a(t) over the overlap, for L from -reach to reach: joints x lags.

    Sum of (s - a)^2 = sum s^2 + sum a^2 - 2 sum s a: running sums for the first two, FFT for the last.
    """
    lags = np.arange(-reach, reach + 1)
    pairs, total, squares = 0, 0.0, 0.0
    centre = state.mean(axis=1, keepdims=True), action.mean(axis=1, keepdims=True)
    for stretch in stretches:
        s, a = state[:, stretch] - centre[0], action[:, stretch] - centre[1]
        samples = s.shape[1]
        if samples <= reach:
            continue
        size = fft.next_fast_len(samples + reach, real=True)
        cross = fft.irfft(fft.rfft(s, size) * np.conj(fft.rfft(a, size)), size)[:, lags]
        first, end = np.maximum(0, -lags), samples - np.maximum(0, lags)

        def running(x: np.ndarray, frm: np.ndarray, to: np.ndarray) -> np.ndarray:
            sums = np.concatenate([np.zeros((len(x), 1)), np.cumsum(x, axis=1)], axis=1)
            return sums[:, to] - sums[:, frm]

        pairs = pairs + (end - first)
        total = total + running(s, first + lags, end + lags) - running(a, first, end)
        squares = squares + running(s**2, first + lags, end + lags) + running(a**2, first, end) - 2 * cross
    if np.ndim(pairs) == 0:
        return np.empty((len(state), 0))
    return squares / pairs - (total / pairs) ** 2


def shifted(state: np.ndarray, action: np.ndarray, stretches: list[slice], lag: np.ndarray, lowest: int, most: int) -> np.ndarray:
    """s(t + L) - a(t), joints x samples; each joint has its own lag in samples, not always whole.

    Of each stretch, the samples of `a` that have a partner at every lag from `lowest` to `most`.
    """
    whole = np.floor(lag).astype(int)
    part = (lag - whole)[:, None]
    rows = np.arange(len(state))[:, None]
    rests = [np.empty((len(state), 0))]
    for stretch in stretches:
        s, a = state[:, stretch], action[:, stretch]
        first, end = max(0, -lowest), a.shape[1] - max(0, most)
        if end > first:
            at = np.arange(first, end) + whole[:, None]
            left = s[rows, at]
            if part.any():
                left = left + part * (s[rows, at + 1] - left)
            rests.append(left - a[:, first:end])
    return np.concatenate(rests, axis=1)


def refine(state: np.ndarray, action: np.ndarray, stretches: list[slice], best: np.ndarray, arm: int) -> tuple:
    """Per joint: lag in samples by a parabola, and the width of its minimum; NaN without one."""
    at = [shifted(state, action, stretches, best + step, best.min() - arm, best.max() + arm) for step in (-arm, 0, arm)]
    if at[0].shape[1] < 8:
        return tuple(np.full(len(best), np.nan) for _ in range(2))
    low, mid, high = (rest.var(axis=1) for rest in at)
    bend = low - 2 * mid + high
    curve, slope = np.where(bend > 0, bend, np.nan) / 2, (high - low) / 2
    smallest = np.maximum(mid - slope**2 / (4 * curve), 0)
    return best - arm * slope / (2 * curve), 2 * np.sqrt(0.1 * smallest / curve) * arm


def aligned(state: np.ndarray, action: np.ndarray, stretches: list[slice], lag: np.ndarray) -> tuple:
    """Per joint: offset, and p50 and p95 of the error once lag (in samples) and offset are taken out."""
    rest = shifted(state, action, stretches, lag, math.floor(lag.min()), math.floor(lag.max()) + 1)
    offset = np.median(rest, axis=1, keepdims=True)
    return offset[:, 0], *np.percentile(np.abs(rest - offset), [50, 95], axis=1)


def tracking(part: Part, rig: Rig) -> dict[int, Followed]:
    """Lag of the follower behind the leader, and what is left when lag and offset are taken out; per joint."""
    state, action, stretches, period = uniform(part, rig.period_s)
    if not stretches:
        return {}
    longest = max(s.stop - s.start for s in stretches)
    reach, arm = min(round(SEARCH_S / period), longest // 4), max(1, round(PARABOLA_S / period))
    arms, motion = np.flatnonzero(~np.array(rig.grippers)), np.ptp(action, axis=1)
    joints = arms[motion[arms] >= MIN_MOTION_RAD]
    if reach < 2 * arm or not len(joints):
        return {}
    best = error_std(state[joints], action[joints], stretches, reach).argmin(axis=1) - reach
    # A minimum at the edge of the search is none.
    joints, best = joints[np.abs(best) + 1 < reach], best[np.abs(best) + 1 < reach]
    # Joints with like lags share their samples and are done together; a stray one goes by itself.
    near = np.abs(best - np.median(best)) <= 3 if len(best) else np.zeros(0, bool)
    lags = {}
    for group in (np.flatnonzero(near), *np.flatnonzero(~near)[:, None]):
        if len(group):
            chosen = joints[group]
            for joint, lag, width in zip(chosen, *refine(state[chosen], action[chosen], stretches, best[group], arm)):
                if math.isfinite(lag) and width * period <= max(WIDEST_S, 3 * period):
                    lags[joint] = lag
    if not lags:
        return {}
    order = sorted(lags, key=lags.get)
    weight = np.cumsum(motion[order])
    overall = lags[order[np.searchsorted(weight, weight[-1] / 2)]]
    own = np.array([lags.get(joint, overall) for joint in arms])
    near = np.abs(own - overall) <= 3
    found = {}
    for group in (np.flatnonzero(near), *np.flatnonzero(~near)[:, None]):
        if len(group):
            chosen = arms[group]
            for joint, *rest in zip(chosen, *aligned(state[chosen], action[chosen], stretches, own[group])):
                lag_s = lags[joint] * period if joint in lags else None
                led = bool(motion[joint] >= 3 * rig.count[joint])
                found[joint] = Followed(lag_s, overall * period, *rest, led)
    return found
