"""Kinds: leader-follower arms with faults, of single episodes or of a whole session."""

from __future__ import annotations

import numpy as np

from .arm import Arm, fine_step_s, read, take
from .clock import Clock
from .draw import Draw
from .kinds_arm import span_for
from .layout import Layout
from .motion import STYLES
from .planted import MOTION, ROWS
from .servo import quantised
from .session import Fault, Session

RATES = [20, 30, 100, 500, 1000]


def planted(faults: list[str]):
    """A session in which every third episode has one of these faults, in turn; the others are sound."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        arm = Arm.drawn(draw, STYLES[draw.seed // 2 % 3], draw.choose([5, 5, 6, 6]), span_for(rate_hz))
        layout = Layout(draw, [*arm.names, "gripper"])
        ticking = Clock.drawn(draw, rate_hz)
        session = Session(draw.kind, draw.seed, rate_hz)
        turn = 0
        for number in range(episodes):
            made = take(draw, arm, fine_step_s(rate_hz))
            fault = faults[turn % len(faults)] if number % 3 == 1 else None
            turn += fault is not None
            if fault in MOTION:
                MOTION[fault](draw, arm, made)
            read(draw, arm, ticking, made)
            if fault in ROWS:
                ROWS[fault](draw, arm, made)
            session.episodes.append(layout.episode(made))
        return layout.finish(session)

    return kind


def whole(change):
    """A session that has one fault in all its episodes: `change(draw, arm)` before, it returns
    (fault, joint, rows) with `rows(made)` done to each take's rows, or None."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        arm = Arm.drawn(draw, STYLES[draw.seed // 2 % 3], 6, span_for(rate_hz))
        fault, joint, rows = change(draw, arm)
        layout = Layout(draw, [*arm.names, "gripper"])
        ticking = Clock.drawn(draw, rate_hz)
        session = Session(draw.kind, draw.seed, rate_hz)
        for _ in range(episodes):
            made = read(draw, arm, ticking, take(draw, arm, fine_step_s(rate_hz)))
            if rows:
                rows(made)
            session.episodes.append(layout.episode(made))
        session.faults.append(Fault(fault, None if joint is None else layout.names[joint]))
        return layout.finish(session)

    return kind


def offset(draw: Draw, arm: Arm):
    """One neutral point 6 to 10 degrees off."""
    joint = int(draw.rng.integers(len(arm.names)))
    arm.servo.offset[joint] += np.radians(draw.choose([6.0, 7.0, 8.5, 10.0])) * draw.rng.choice([-1, 1])
    return "offset", joint, None


def gain(draw: Draw, arm: Arm):
    """One range 15 to 20 % off."""
    joint = int(draw.rng.integers(len(arm.names)))
    arm.servo.gain[joint] *= draw.choose([0.82, 0.85, 1.15, 1.18])
    return "gain", joint, None


def swap(draw: Draw, arm: Arm):
    """Two joints of the follower exchanged."""
    one, two = (int(j) for j in draw.order(len(arm.names))[:2])

    def rows(made) -> None:
        made.state[:, [one, two]] = made.state[:, [two, one]]

    return "swap", one, rows


def sign(draw: Draw, arm: Arm):
    """One joint goes the other way."""
    joint = int(draw.rng.integers(len(arm.names)))

    def rows(made) -> None:
        made.state[:, joint] *= -1

    return "sign", joint, rows


def unit(draw: Draw, arm: Arm):
    """The state in degrees, the action in radians."""

    def rows(made) -> None:
        made.state = np.degrees(made.state)

    return "unit", None, rows


def sides(draw: Draw, arm: Arm):
    """Leader and follower exchanged."""

    def rows(made) -> None:
        made.state, made.action = made.action, made.state

    return "sides", None, rows


def late(draw: Draw, arm: Arm):
    """The whole arm 340 to 450 ms late."""
    arm.servo.dead_s = draw.choose([0.30, 0.34, 0.38, 0.42])
    return "late", None, None


def late_joint(draw: Draw, arm: Arm):
    """One joint 180 to 300 ms later than the others."""
    joint = int(draw.rng.integers(len(arm.names)))
    more = draw.choose([0.18, 0.2, 0.25, 0.3])

    def rows(made) -> None:
        made.state[:, joint] = np.interp(made.true_s - more, made.true_s, made.state[:, joint])
        made.state[:, joint] = quantised(made.state[:, joint], arm.servo.count)

    return "late-joint", joint, rows


def dead(draw: Draw, arm: Arm):
    """A joint of the follower that never moves."""
    joint = int(draw.rng.integers(len(arm.names)))

    def rows(made) -> None:
        made.state[:, joint] = quantised(draw.normal(np.radians(0.01), len(made.state)) + 0.2, arm.servo.count)

    return "dead", joint, rows


def worthless(how: str):
    """Actions that are made of the state and teach nothing."""

    def change(draw: Draw, arm: Arm):
        def rows(made) -> None:
            s = made.state
            if how == "noise":
                made.action = s + draw.normal(np.radians(0.02), s.shape)
            elif how == "two-ahead":
                made.action = s[np.minimum(np.arange(len(s)) + 2, len(s) - 1)]
            elif how == "rounded-next":
                made.action = np.round(s[np.minimum(np.arange(len(s)) + 1, len(s) - 1)], 2)
            elif how == "random-age":
                made.action = s[np.maximum(np.arange(len(s)) - draw.rng.integers(0, 2, len(s)), 0)]
            else:
                made.action = None

        return f"worthless-{how}", None, rows

    return whole(change)


def rate_ratio(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """A loop that runs at 0.3 to 3 times the rate that the profile declares."""
    ratio = float(np.exp(draw.between(np.log(0.3), np.log(3.0))))
    while abs(ratio - 1) < 0.12:
        ratio = float(np.exp(draw.between(np.log(0.3), np.log(3.0))))
    true = rate_hz * ratio
    arm = Arm.drawn(draw, STYLES[draw.seed // 2 % 3], 5, 6.0)
    layout = Layout(draw, [*arm.names, "gripper"])
    ticking = Clock.drawn(draw, true)
    session = Session(draw.kind, draw.seed, true, profile=f"[rig]\nrate_hz = {rate_hz}\n")
    for _ in range(min(episodes, 8)):
        session.episodes.append(layout.episode(read(draw, arm, ticking, take(draw, arm, fine_step_s(true)))))
    session.faults.append(Fault("rate", None, size=true))
    return layout.finish(session)


MIXED = ["motor-off", "arm-off", "frozen-rows", "stale-rows", "spikes", "missing", "dropped", "gap", "doubled", "clock-step", "jitter", "idle-tail", "cut-off", "aborted"]
WHOLE = {"offset": offset, "gain": gain, "swap": swap, "sign": sign, "unit": unit, "sides": sides, "late": late, "late-joint": late_joint, "dead": dead}
KINDS = {
    "fault-held": (planted(["reading-held"]), RATES),
    "fault-oscillation": (planted(["oscillation"]), RATES),
    "fault-obstacle": (planted(["obstacle"]), [30, 100]),
    "fault-mixed": (planted(MIXED), [20, 30, 50, 100, 500]),
    "rate-ratio": (rate_ratio, [10, 30, 100]),
} | {f"session-{n}": (whole(f), [30, 100]) for n, f in WHOLE.items()} | {
    f"worthless-{n}": (worthless(n), [10, 30, 100]) for n in ["noise", "two-ahead", "rounded-next", "random-age", "none"]
}
