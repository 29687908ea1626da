"""Kinds: healthy leader-follower arms, their clocks, grippers and tasks."""

from __future__ import annotations

import numpy as np

from .arm import Arm, fine_step_s, read, take
from .clock import Clock
from .draw import Draw
from .layout import Layout
from .motion import STYLES, Task, jaw
from .servo import Servo
from .session import Session


def span_for(rate_hz: float) -> float:
    """Short episodes at high rates."""
    return 7.0 if rate_hz <= 120 else 4.5


def plain(draw: Draw, rate_hz: float, episodes: int, style: str, clock="steady", change=None, dress=None, rest_s=(0.25, 0.55), span_s=None, hand=True) -> Session:
    """A leader-follower arm. `change(arm)` alters the rig, `dress(draw, arm, take)` the rows."""
    arm = Arm.drawn(draw, style, draw.choose([5, 5, 6, 6]), span_s or span_for(rate_hz), hand)
    if change:
        change(arm)
    layout = Layout(draw, [*arm.names, "gripper"])
    ticking = Clock.drawn(draw, rate_hz, clock)
    session = Session(draw.kind, draw.seed, rate_hz, storage=draw.choose(["parquet", "parquet", "arrow"]))
    for _ in range(episodes):
        made = read(draw, arm, ticking, take(draw, arm, fine_step_s(rate_hz), rest_s))
        extra = dress(draw, arm, made) if dress else None
        session.episodes.append(layout.episode(made, extra))
    return layout.finish(session)


def styled(style: str):
    """A plain arm with this style of motion."""
    return lambda draw, rate_hz, episodes: plain(draw, rate_hz, episodes, style)


def clocked(kind: str):
    """A plain arm of any style with this clock."""
    return lambda draw, rate_hz, episodes: plain(draw, rate_hz, episodes, STYLES[draw.seed % 3], kind)


def droop(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """A long arm that sags by its weight: 3 to 5 degrees at the shoulder, half at the elbow."""

    def change(arm: Arm) -> None:
        arm.servo.droop[1] = np.radians(draw.choose([3.0, 3.5, 4.0, 5.0]))
        arm.servo.droop[2] = arm.servo.droop[1] * 0.5

    return plain(draw, rate_hz, episodes, STYLES[draw.seed % 3], change=change)


def lookahead(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """An industrial arm that runs 150 ms behind its commands by design, without tremor or backlash."""
    arm = Arm.drawn(draw, draw.choose(["trapezoid", "spline"]), 6, span_for(rate_hz), hand=False)
    arm.servo = Servo.industrial(draw, 6, draw.choose([0.15, 0.14, 0.16, 0.15]))
    layout = Layout(draw, [*arm.names, "gripper"])
    ticking = Clock.drawn(draw, rate_hz)
    session = Session(draw.kind, draw.seed, rate_hz)
    for _ in range(episodes):
        made = read(draw, arm, ticking, take(draw, arm, fine_step_s(rate_hz), (0.3, 0.6)))
        session.episodes.append(layout.episode(made))
    return layout.finish(session)


def pushes(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """Short pushes of about 0.8 s: one stroke forward; the recording is only the stroke."""
    joints = 5
    arm = Arm.drawn(draw, "trapezoid", joints, 0.8)
    far = arm.task.stops[0] * 0.6
    layout = Layout(draw, [*arm.names, "gripper"])
    ticking = Clock.drawn(draw, rate_hz)
    session = Session(draw.kind, draw.seed, rate_hz)
    from .motion import grid, smoothstep, tremor
    from .arm import Take

    for _ in range(episodes):
        span = 0.8 * float(np.exp(draw.normal(0.05)))
        step = fine_step_s(rate_hz)
        times = grid(span, step)
        x = (times - 0.06) / (span - 0.14)
        hand = arm.task.home + smoothstep(x)[:, None] * (far * (1 + draw.normal(0.05, joints)))
        hand = hand + tremor(draw, hand.shape, step, arm.tremor)
        body = arm.servo.follow(hand, step)
        shut = np.full((len(times), 1), arm.jaw_shut) + draw.normal(np.radians(0.01), (len(times), 1))
        made = Take(step, times, np.hstack([hand, shut]), np.hstack([body, shut]), [], (0, 0))
        session.episodes.append(layout.episode(read(draw, arm, ticking, made)))
    return layout.finish(session)


def quick_jaw(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """A jaw that closes 54 degrees along a logistic of 0.1 s (0.3 s at 10 Hz and below)."""

    def change(arm: Arm) -> None:
        arm.jaw_open, arm.jaw_shut = np.radians(60.0), np.radians(6.0)
        arm.jaw_object = np.radians(draw.choose([20.0, 24.0, 28.0, 32.0]))
        arm.jaw_rise_s = 0.1 if rate_hz > 15 else 0.3

    return plain(draw, rate_hz, episodes, "trapezoid", change=change)


def gripper(coding: str):
    """The jaw as a digital or scaled value in command, state or both."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        width_m = draw.choose([0.07, 0.08, 0.085, 0.11])

        def dress(draw: Draw, arm: Arm, made) -> None:
            share = (made.action[:, -1] - arm.jaw_shut) / (arm.jaw_open - arm.jaw_shut)
            got = (made.state[:, -1] - arm.jaw_shut) / (arm.jaw_open - arm.jaw_shut)
            closed = share < 0.5
            if coding == "01":
                made.action[:, -1], made.state[:, -1] = closed, got < 0.6
            elif coding == "pm1":
                made.action[:, -1], made.state[:, -1] = np.where(closed, 1, -1), np.where(got < 0.6, 1, -1)
            elif coding == "01width":
                made.action[:, -1], made.state[:, -1] = closed, np.clip(got, 0, 1) * width_m
            elif coding == "pm1width":
                made.action[:, -1], made.state[:, -1] = np.where(closed, -1, 1), np.clip(got, 0, 1) * width_m
            elif coding == "255":
                made.action[:, -1] = np.round(np.clip(1 - share, 0, 1) * 255)
                made.state[:, -1] = np.round(np.clip(1 - got, 0, 1) * 255)
            elif coding == "255width":
                made.action[:, -1] = np.round(np.clip(1 - share, 0, 1) * 255)
                made.state[:, -1] = np.clip(got, 0, 1) * width_m
            elif coding == "percent":
                made.action[:, -1] = np.clip(share, 0, 1) * 100
                made.state[:, -1] = np.clip(got, 0, 1) * 100

        return plain(draw, rate_hz, episodes, STYLES[(draw.seed + 1) % 3], dress=dress)

    return kind


def gantry(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """Three linear axes and a parallel jaw in metres; the profile says so, as it has to."""
    travel = np.array([0.5, 0.35, 0.15]) * draw.between(0.8, 1.2, 3)
    names = ["rail_x", "rail_y", "lift_z"]
    arm = Arm.drawn(draw, STYLES[draw.seed % 3], 3, span_for(rate_hz), hand=False)
    arm.task = Task.drawn(draw, STYLES[draw.seed % 3], travel, span_for(rate_hz))
    arm.names, arm.jaw_open, arm.jaw_shut, arm.jaw_object = names, 0.08, 0.0, draw.choose([0.03, 0.035, 0.04, 0.045])
    arm.servo = Servo(draw.between(0.01, 0.03), np.full(3, 25.0), np.full(3, 1.0), np.zeros(3), draw.normal(2e-4, 3), np.ones(3), np.zeros(3), 2e-5, 1e-5)
    layout = Layout(draw, [*names, "gripper"], draw.choose(["scalars", "structs", "named"]))
    ticking = Clock.drawn(draw, rate_hz)
    rows = "".join(f'\n[[rig.joints]]\nname = "{n}"\nlinear = true\n' for n in names)
    profile = "[rig]\n" + rows + '\n[[rig.joints]]\nname = "gripper"\ngripper = true\nlinear = true\n'
    session = Session(draw.kind, draw.seed, rate_hz, profile=profile)
    for _ in range(episodes):
        made = read(draw, arm, ticking, take(draw, arm, fine_step_s(rate_hz)))
        session.episodes.append(layout.episode(made))
    return layout.finish(session)


KINDS = {
    "arm-spline": (styled("spline"), [5, 10, 30, 100, 500, 1000]),
    "arm-sines": (styled("sines"), [5, 10, 30, 100, 500, 1000]),
    "arm-trapezoid": (styled("trapezoid"), [5, 10, 30, 100, 500, 1000]),
    "arm-droop": (droop, [30, 100]),
    "arm-lookahead": (lookahead, [30, 125, 500]),
    "pushes": (pushes, [30, 50, 100]),
    "quick-jaw": (quick_jaw, [10, 20, 30]),
    "gantry": (gantry, [10, 30, 100]),
    "clock-slewing": (clocked("slewing"), [30, 100]),
    "clock-rounded": (clocked("rounded"), [10, 30, 100, 500]),
    "clock-coarse": (clocked("coarse"), [5, 10, 30]),
    "clock-packets": (clocked("packets"), [50, 200, 500]),
    "clock-bursts": (clocked("bursts"), [30, 100, 200, 500]),
} | {f"gripper-{c}": (gripper(c), [10, 30, 100]) for c in ["01", "pm1", "01width", "pm1width", "255", "255width", "percent"]}
