"""Faults of one episode of an arm: done to the motion before rows are read, or to the rows."""

from __future__ import annotations

import numpy as np

from .arm import Arm, Take
from .draw import Draw
from .motion import smoothed, smoothstep
from .session import Fault


def moving_span(draw: Draw, made: Take, long_s: float, moved: float) -> tuple[int, float, float]:
    """(joint, start, end) of a stretch in which a joint of the leader moves this far (rad) between its
    ends or within; the stretch is made longer where none of this length has as much."""
    body, last = made.leader[:, :-1], made.span_s - 0.3
    for stretch in (1.0, 1.3, 1.7, 2.2, 3.0):
        n = int(long_s * stretch / made.step_s)
        starts = np.arange(int(0.3 / made.step_s), int(last / made.step_s) - n, max(n // 8, 1))
        if len(starts) == 0:
            continue
        far = np.abs(body[starts + n] - body[starts])
        good = np.argwhere(far >= moved)
        if len(good):
            at, joint = good[int(draw.rng.integers(len(good)))]
            begin = starts[at] * made.step_s
            return int(joint), float(begin), float(begin + n * made.step_s)
    joint = int(np.argmax(np.ptp(body, axis=0)))
    return joint, 0.5, min(0.5 + 3 * long_s, last)


def note(made: Take, arm: Arm, fault: str, joint: int | None, span=None, size=None) -> None:
    """Into the answer key."""
    name = None if joint is None else [*arm.names, "gripper"][joint]
    made.faults.append(Fault(fault, name, span, size))


def oscillation(draw: Draw, arm: Arm, made: Take) -> None:
    """A follower joint swings at 6 to 9 Hz by 1.5 to 3 degrees for 0.5 s to a third of the episode."""
    joint = int(draw.rng.integers(made.leader.shape[1] - 1))
    long_s = draw.between(0.6, made.span_s / 3)
    begin = draw.between(0.3, made.span_s - long_s - 0.3)
    size = np.radians(draw.between(1.5, 3.0))
    t = made.times - begin
    edge = smoothstep(t / 0.08) * smoothstep((long_s - t) / 0.08)
    made.follower[:, joint] += size * edge * np.sin(2 * np.pi * draw.between(6, 9) * t)
    note(made, arm, "oscillation", joint, (begin, begin + long_s), float(np.degrees(size)))


def motor_off(draw: Draw, arm: Arm, made: Take) -> None:
    """One motor lets go for 1.2 to 2.5 s, or to the end, and stays where it was."""
    joint, begin, end = moving_span(draw, made, draw.between(1.2, 2.5), np.radians(20))
    if draw.rng.random() < 0.3:
        end = made.span_s
    was = made.follower[int(begin / made.step_s), joint]
    off = smoothed(((made.times >= begin) & (made.times < end)).astype(float), 0.03, made.step_s)
    made.follower[:, joint] = made.follower[:, joint] * (1 - off) + was * off
    note(made, arm, "motor-off", joint, (begin, end))


def arm_off(draw: Draw, arm: Arm, made: Take) -> None:
    """All motors let go for 1.2 to 2 s: supply."""
    _, begin, end = moving_span(draw, made, draw.between(1.2, 2.0), np.radians(20))
    was = made.follower[int(begin / made.step_s)]
    off = smoothed(((made.times >= begin) & (made.times < end)).astype(float), 0.03, made.step_s)[:, None]
    made.follower = made.follower * (1 - off) + was * off
    note(made, arm, "arm-off", None, (begin, end))


def obstacle(draw: Draw, arm: Arm, made: Take) -> None:
    """One joint meets an obstacle: it does not get past a point for 0.8 s and more, 12 degrees and more short."""
    best = max(range(made.leader.shape[1] - 1), key=lambda j: np.ptp(made.leader[:, j]) * draw.between(0.6, 1))
    reach = made.follower[:, best]
    top = reach.max() - max(np.radians(draw.between(12, 22)), 0.0)
    if (reach > top).mean() * made.span_s < 0.5:
        top = np.quantile(reach, 0.8)
    made.follower[:, best] = np.minimum(reach, top + 0.03 * np.clip(reach - top, 0, None))
    over = np.flatnonzero(reach > top) * made.step_s
    note(made, arm, "obstacle", best, (float(over[0]), float(over[-1])), float(np.degrees(reach.max() - top)))


def idle_tail(draw: Draw, arm: Arm, made: Take) -> None:
    """Three seconds and more of rest before the recording was stopped."""
    n = int(draw.between(3, 4.5) / made.step_s)
    made.times = np.arange(len(made.times) + n) * made.step_s
    sway = np.radians(0.02) * np.sin(np.arange(n) * made.step_s)[:, None]
    made.leader = np.vstack([made.leader, made.leader[-1:] + sway])
    made.follower = np.vstack([made.follower, np.repeat(made.follower[-1:], n, 0)])
    note(made, arm, "idle-tail", None, (made.span_s - n * made.step_s, made.span_s))


def cut_off(draw: Draw, arm: Arm, made: Take) -> None:
    """The recording stops in the middle of a fast move."""
    speed = np.abs(np.gradient(smoothed(made.leader[:, :-1], 0.05, made.step_s), made.step_s, axis=0)).max(1)
    speed[: len(speed) // 2] = 0
    end = int(np.argmax(speed))
    made.times, made.leader, made.follower = made.times[:end], made.leader[:end], made.follower[:end]
    note(made, arm, "cut-off", None, (made.span_s - 0.2, made.span_s))


def aborted(draw: Draw, arm: Arm, made: Take) -> None:
    """A take that was broken off after a tenth of its time."""
    end = int(draw.between(0.6, 0.85) / made.step_s)
    made.times, made.leader, made.follower = made.times[:end], made.leader[:end], made.follower[:end]
    note(made, arm, "aborted", None)


def reading_held(draw: Draw, arm: Arm, made: Take) -> None:
    """A register is not read for 0.3 to 2 s: the joint's last value is written again, then the truth."""
    joint, begin, end = moving_span(draw, made, draw.between(0.3, 2.0), np.radians(draw.between(6, 25)))
    some = np.flatnonzero((made.true_s >= begin) & (made.true_s < end))
    if len(some):
        made.state[some, joint] = made.state[some[0], joint]
    note(made, arm, "reading-held", joint, (begin, end))


def frozen_rows(draw: Draw, arm: Arm, made: Take) -> None:
    """The bus stops: all joints' readings stay for 0.7 to 1.5 s while the leader moves."""
    _, begin, end = moving_span(draw, made, draw.between(0.7, 1.5), np.radians(20))
    some = np.flatnonzero((made.true_s >= begin) & (made.true_s < end))
    made.state[some] = made.state[some[0]]
    note(made, arm, "frozen-rows", None, (begin, end))


def stale_rows(draw: Draw, arm: Arm, made: Take) -> None:
    """In motion, again and again, all readings are 80 ms old (at least two rows)."""
    period = float(np.median(np.diff(made.true_s)))
    n = max(int(round(0.08 / period)), 2)
    speed = np.abs(np.gradient(made.action[:, :-1], axis=0)).max(1) / period
    fast = np.flatnonzero(speed > np.radians(25))
    fast = fast[(fast > n) & (fast < len(speed) - 2 * n)]
    at = -10 * n
    for i in fast:
        if i > at + 4 * n:
            made.state[i : i + n] = made.state[i]
            at = i
    note(made, arm, "stale-rows", None)


def spikes(draw: Draw, arm: Arm, made: Take) -> None:
    """Bit errors: single readings of one joint that are 20 to 90 degrees off."""
    joint = int(draw.rng.integers(made.state.shape[1] - 1))
    rows = draw.rng.choice(np.arange(5, len(made.state) - 5), max(4, len(made.state) // 150), replace=False)
    made.state[rows, joint] += np.radians(draw.between(20, 90, len(rows))) * draw.rng.choice([-1, 1], len(rows))
    note(made, arm, "spikes", joint)


def missing(draw: Draw, arm: Arm, made: Take) -> None:
    """A run of readings that are no numbers."""
    joint = int(draw.rng.integers(made.state.shape[1]))
    at = int(draw.rng.integers(5, len(made.state) - 12))
    made.state[at : at + 6, joint] = np.nan
    note(made, arm, "missing", joint)


def keep(made: Take, rows: np.ndarray) -> None:
    """Keeps these rows."""
    made.true_s, made.stamp_s = made.true_s[rows], made.stamp_s[rows]
    made.action, made.state = made.action[rows], made.state[rows]


def dropped(draw: Draw, arm: Arm, made: Take) -> None:
    """5 to 12 % of the rows are not written."""
    kept = draw.rng.random(len(made.state)) > draw.between(0.05, 0.12)
    kept[[0, -1]] = True
    keep(made, np.flatnonzero(kept))
    note(made, arm, "dropped", None)


def gap(draw: Draw, arm: Arm, made: Take) -> None:
    """Nothing is written for 0.5 to 1.2 s."""
    begin = draw.between(0.25, 0.6) * made.span_s
    end = begin + draw.between(0.5, 1.2)
    keep(made, np.flatnonzero((made.true_s < begin) | (made.true_s > end)))
    note(made, arm, "gap", None, (begin, end))


def doubled(draw: Draw, arm: Arm, made: Take) -> None:
    """3 to 8 % of the rows are written twice."""
    times = 1 + (draw.rng.random(len(made.state)) < draw.between(0.03, 0.08))
    keep(made, np.repeat(np.arange(len(made.state)), times))
    note(made, arm, "doubled", None)


def clock_step(draw: Draw, arm: Arm, made: Take) -> None:
    """The wall clock is set back by 0.2 to 0.6 s."""
    at = int(draw.between(0.3, 0.7) * len(made.stamp_s))
    made.stamp_s[at:] -= draw.between(0.2, 0.6)
    note(made, arm, "clock-step", None)


def jitter(draw: Draw, arm: Arm, made: Take) -> None:
    """The loop wanders by half a period."""
    period = float(np.median(np.diff(made.stamp_s)))
    made.stamp_s = made.stamp_s + draw.between(-0.45, 0.45, len(made.stamp_s)) * period
    note(made, arm, "jitter", None)


MOTION = {f.__name__.replace("_", "-"): f for f in (oscillation, motor_off, arm_off, obstacle, idle_tail, cut_off, aborted)}
ROWS = {f.__name__.replace("_", "-"): f for f in (reading_held, frozen_rows, stale_rows, spikes, missing, dropped, gap, doubled, clock_step, jitter)}
