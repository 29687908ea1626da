"""Kinds: healthy input devices that are no leader arm: puck, keyboard, tracker; poses as tables write them."""

from __future__ import annotations

import numpy as np
from scipy.signal import lfilter

from .arm import fine_step_s
from .clock import Clock
from .draw import Draw
from .layout import stamps
from .motion import STYLES, grid
from .pose import ORIENTATION_NAMES, Hand, twist
from .servo import sampled
from .session import Episode, Session

XYZ = ["x", "y", "z"]


class Rows:
    """Clock, form of time and names of one session of such a device."""

    def __init__(self, draw: Draw, rate_hz: float, state: list[str], action: list[str], extra=None):
        """Draws how it is stored: one list each, with or without names, or a column each."""
        self.draw, self.clock = draw, Clock.drawn(draw, rate_hz)
        self.form = draw.choose(["named", "scalars", "list", "structs"])
        self.time = draw.choose(["seconds", "nanos", "monotonic"])
        self.state, self.action = state, action
        self.session = Session(draw.kind, draw.seed, rate_hz, storage=draw.choose(["parquet", "arrow"]))
        self.start_s = 100.0
        if self.form == "named":
            self.session.names = {"state": state, "action": action}
        self.step_s = fine_step_s(rate_hz)
        self.span_s = 7.0 if rate_hz <= 120 else 4.5

    def add(self, stamp_s, state, action, extra=None) -> None:
        """One episode."""
        self.start_s += 30
        out = stamps(self.time, stamp_s, self.start_s)
        if self.form in ("named", "list"):
            out |= {"state": state, "action": action}
        elif self.form == "structs":
            out |= {"observation": dict(zip(self.state, state.T)), "action": dict(zip(self.action, action.T))}
        else:
            out |= {f"state_{n}": state[:, i] for i, n in enumerate(self.state)}
            out |= {f"action_{n}": action[:, i] for i, n in enumerate(self.action)}
        self.session.episodes.append(Episode(out | (extra or {})))


def grip_times(events: list[float]) -> tuple[float, float]:
    """When the operator closes and opens."""
    return events[0] + 0.1, events[min(2, len(events) - 1)] + 0.1


def closed(times, events) -> np.ndarray:
    """Whether the operator asks for a closed gripper."""
    shut, opened = grip_times(events)
    return ((times > shut) & (times < opened)).astype(float)


def width(times, events, open_m, held_m) -> np.ndarray:
    """The measured width: it closes at 0.1 m/s until an object stops it, then opens again."""
    shut, opened = grip_times(events)
    value = np.where(times < opened, open_m - 0.1 * np.clip(times - shut, 0, None), held_m + 0.1 * (times - opened))
    return np.clip(value, held_m, open_m)


def puck(state_kind: str):
    """A six-axis puck: the action is a twist in -1 to 1 with a dead zone, the state a pose or joints."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        how = {"pose": draw.choose(["rotvec", "xyzw", "wxyz", "euler"])}.get(state_kind, state_kind)
        names = XYZ + ORIENTATION_NAMES[how] if how != "joints" else [f"joint_{i + 1}" for i in range(6)]
        rows = Rows(draw, rate_hz, [*names, "gripper"], ["vx", "vy", "vz", "wx", "wy", "wz", "grip"])
        hand = Hand.drawn(draw, draw.choose(["trapezoid", "spline"]), rows.span_s, upside_down=how != "euler")
        top = np.array([0.25, 0.25, 0.25, 0.8, 0.8, 0.8])
        mix = np.linalg.qr(draw.normal(1.0, (6, 6)))[0] * np.array([4, 4, 4, 1, 1, 1])
        open_m = draw.choose([0.08, 0.085, 0.07, 0.11])
        for _ in range(episodes):
            times, command, _, events = hand.run(draw, rows.step_s)
            pushed = np.clip(twist(command, rows.step_s) / top, -1, 1)
            pushed[np.abs(pushed) < 0.04] = 0.0
            # The arm takes the speed up with a lag of 60 to 90 ms and integrates it.
            wn = draw.between(11, 16) * rows.step_s
            speed = lfilter([wn], [1, wn - 1], pushed * top, axis=0)
            local = command[0] + np.cumsum(speed, axis=0) * rows.step_s
            true, stamp = rows.clock.rows(draw, times[-1])
            at = sampled(times, local, true) + draw.normal(1e-5, (len(true), 6))
            body = hand.written(at, how) if how != "joints" else np.sin(at @ mix * 0.5) * 1.2 + at @ mix.T * 0.3
            got = width(true, events, open_m, 0.4 * open_m)
            action = np.column_stack([sampled(times, pushed, true), closed(true, events) * 2 - 1])
            rows.add(stamp, np.column_stack([body, got]), action)
        return rows.session

    return kind


def keyboard(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """Keys: each press moves one axis by a step a frame; nothing between presses."""
    rows = Rows(draw, rate_hz, [*XYZ, "yaw", "gripper"], ["dx", "dy", "dz", "dyaw", "grip"])
    unit = draw.choose(["step", "metres", "metres", "step"])
    speed = np.array([0.12, 0.12, 0.1, 0.5])
    plan = [(int(a), float(s)) for a, s in zip(draw.rng.integers(0, 4, 9), draw.rng.choice([-1, 1], 9))]
    for _ in range(episodes):
        times = grid(rows.span_s * float(np.exp(draw.normal(0.05))), rows.step_s)
        pressed = np.zeros((len(times), 4))
        at = draw.between(0.3, 0.6)
        for axis, sign in plan:
            long = draw.between(0.25, 0.7)
            pressed[(times >= at) & (times < min(at + long, times[-1] - 0.4)), axis] = sign
            at += long + draw.between(0.05, 0.3)
        lag = draw.between(0.04, 0.08)
        moved = lfilter([rows.step_s / lag], [1, rows.step_s / lag - 1], pressed * speed, axis=0)
        local = np.array([0.4, 0, 0.2, 0.1]) + np.cumsum(moved, axis=0) * rows.step_s
        true, stamp = rows.clock.rows(draw, times[-1])
        events = [times[-1] * 0.4, times[-1] * 0.8]
        keys = pressed[np.minimum((true / rows.step_s).astype(int), len(times) - 1)]
        if unit == "metres":
            keys = keys * speed / rate_hz
        state = np.column_stack([sampled(times, local, true) + draw.normal(1e-5, (len(true), 4)), width(true, events, 0.08, 0.03)])
        rows.add(stamp, state, np.column_stack([keys, closed(true, events)]))
    return rows.session


def tracker(how: str, clutch: bool):
    """A hand-held tracker: commanded and measured pose. The clutch freezes the command."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        names = XYZ + ORIENTATION_NAMES[how]
        rows = Rows(draw, rate_hz, [*names, "gripper"], [*names, "gripper"])
        hand = Hand.drawn(draw, STYLES[draw.seed % 3], rows.span_s, draw.choose([0.03, 0.04, 0.05, 0.06]))
        canonical = draw.choose([True, True, True, False])
        open_m = draw.choose([0.08, 0.085, 0.07, 0.11])
        for _ in range(episodes):
            times, command, _, events = hand.run(draw, rows.step_s)
            free = np.ones(len(times), bool)
            if clutch:
                times, command, free, events = clutched(draw, times, command, events, rows.step_s)
            reached = hand.servo.follow(command, rows.step_s)
            true, stamp = rows.clock.rows(draw, times[-1])
            engaged = free[np.minimum((true / rows.step_s).astype(int), len(times) - 1)]
            wanted = sampled(times, command, true)
            wanted = np.where(engaged[:, None], wanted + draw.normal(5e-5, wanted.shape), wanted)
            got = sampled(times, reached, true) + draw.normal(2e-5, wanted.shape)
            asked = open_m * (1 - closed(true, events))
            state = np.column_stack([hand.written(got, how, canonical), width(true, events, open_m, 0.4 * open_m)])
            action = np.column_stack([hand.written(wanted, how, canonical), asked])
            rows.add(stamp, state, action, {"clutch": engaged} if clutch else None)
        return rows.session

    return kind


def clutched(draw: Draw, times, command, events, step_s):
    """Two stretches of 0.4 to 1.2 s in which the command stays to the last bit while the hand goes back."""
    cuts = sorted(events[i] + 0.05 for i in (0, len(events) - 1))
    pieces, free, begin, shift, later = [], [], 0, 0.0, list(events)
    for cut in cuts:
        at = min(int(cut / step_s), len(command) - 1)
        stay = int(draw.between(0.4, 1.2) / step_s)
        pieces += [command[begin:at], np.repeat(command[at : at + 1], stay, 0)]
        free += [np.ones(at - begin, bool), np.zeros(stay, bool)]
        later = [e + stay * step_s if e + shift > cut + shift and e > cut else e for e in later]
        begin, shift = at, shift + stay * step_s
    pieces.append(command[begin:])
    free.append(np.ones(len(command) - begin, bool))
    whole = np.vstack(pieces)
    return np.arange(len(whole)) * step_s, whole, np.concatenate(free), later


def polishing(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """A tool pressed on a table: commanded 12 mm below it, the follower stays on the surface."""
    rows = Rows(draw, rate_hz, XYZ, XYZ)
    hand = Hand.drawn(draw, "sines", rows.span_s)
    depth = draw.choose([0.010, 0.012, 0.012, 0.015])
    for _ in range(episodes):
        times, command, _, _ = hand.run(draw, rows.step_s)
        x = np.clip((times - 0.3) / (times[-1] - 0.7), 0, 1)
        down = np.clip(np.minimum(x, 1 - x) / 0.12, 0, 1)
        command[:, 2] = 0.06 - (0.06 + depth) * down**2 * (3 - 2 * down)
        reached = hand.servo.follow(command, rows.step_s)
        reached[:, 2] = np.maximum(reached[:, 2], 0.0)
        true, stamp = rows.clock.rows(draw, times[-1])
        noise = draw.normal(2e-5, (2, len(true), 3))
        rows.add(stamp, hand.centre + sampled(times, reached, true)[:, :3] + noise[0], hand.centre + sampled(times, command, true)[:, :3] + noise[1])
    return rows.session


KINDS = {
    "puck-pose": (puck("pose"), [5, 10, 30, 100, 500]),
    "puck-joints": (puck("joints"), [10, 30, 100]),
    "keyboard": (keyboard, [5, 10, 30, 100]),
    "tracker-xyzw": (tracker("xyzw", False), [10, 30, 100, 500]),
    "tracker-wxyz": (tracker("wxyz", False), [10, 30, 100, 500]),
    "tracker-clutch": (tracker("xyzw", True), [10, 30, 100]),
    "pose-rotvec": (tracker("rotvec", False), [5, 10, 30, 100, 500]),
    "pose-euler": (tracker("euler", False), [10, 30, 100]),
    "pose-matrix": (tracker("matrix6", False), [10, 30, 100]),
    "polishing": (polishing, [30, 100]),
}
