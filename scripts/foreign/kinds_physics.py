"""Sessions of arms in the physics engine: healthy, with single faulty episodes, or faulty throughout."""

from __future__ import annotations

import numpy as np

from .arm import Take
from .clock import Clock
from .draw import Draw
from .engine import ARMS, STEP_S, Physical, Trouble
from .layout import Layout
from .motion import STYLES, Task, path, tremor
from .servo import quantised, sampled
from .session import Fault, Session

NAMES = ["joint_a", "joint_b", "joint_c", "joint_d", "joint_e", "joint_f", "joint_g"]
EPISODE_FAULTS = ["motor-off", "torque-limit", "obstacle", "late-commands", "push"]


class Rig:
    """An arm, its task and how its rows are stored."""

    def __init__(self, draw: Draw, rate_hz: float, **set_up):
        """Draws arm, servo, task and layout."""
        arms = list(ARMS)
        self.draw, self.rate_hz = draw, rate_hz
        self.arm = Physical(arms[draw.seed // 2 % 3], draw.choose([18.0, 20.0, 22.0, 24.0]), draw.between(0.85, 1.0), draw.choose([0.4, 0.5, 0.6, 0.5]), **set_up)
        self.names = NAMES[: len(self.arm.centre)]
        style = STYLES[draw.seed % 3]
        self.task = Task.drawn(draw, style, self.arm.half, 5.5)
        self.layout = Layout(draw, self.names)
        self.clock = Clock.drawn(draw, rate_hz)
        self.hand = draw.choose([True, False, True, True])
        self.count = draw.choose([0.0, 2 * np.pi / 16384, 2 * np.pi / 65536, 0.0])

    def command(self) -> tuple[np.ndarray, np.ndarray, list[float]]:
        """Times, the commanded angles of an episode, and arrivals."""
        times, hand, events = path(self.draw, self.task, STEP_S, (0.5, 0.8))
        if self.hand:
            hand = hand + tremor(self.draw, hand.shape, STEP_S, np.radians(0.03))
        return times, self.arm.centre + hand, events

    def take(self, times, command, angles, faults) -> Take:
        """Rows of the episode."""
        made = Take(STEP_S, times, command, angles, [], (0, 0), faults)
        made.true_s, made.stamp_s = self.clock.rows(self.draw, made.span_s)
        made.action = sampled(times, command, made.true_s)
        state = sampled(times, angles, made.true_s)
        made.state = quantised(state + self.draw.normal(np.radians(0.003), state.shape), self.count)
        return made


def session_of(draw: Draw, rate_hz: float, episodes: int, plant=None, trouble=None, **set_up) -> Session:
    """A session; `plant(rig, number, times, command, events)` gives an episode's trouble and fault."""
    rig = Rig(draw, rate_hz, **set_up)
    session = Session(draw.kind, draw.seed, rate_hz)
    common = trouble(rig) if trouble else Trouble()
    for number in range(episodes):
        times, command, events = rig.command()
        if plant and number // 2 % len(EPISODE_FAULTS) == EPISODE_FAULTS.index("push") and number % 2:
            rest = int(1.0 / STEP_S)
            times = np.arange(len(times) + rest) * STEP_S
            command = np.vstack([command, np.repeat(command[-1:], rest, 0)])
        this, faults = plant(rig, number, times, command, events) if plant else (common, [])
        angles, _ = rig.arm.run(command, this)
        if faults and faults[0].fault in ("obstacle", "torque-limit"):
            faults = named(rig, command, angles, faults)
        session.episodes.append(rig.layout.episode(rig.take(times, command, angles, faults)))
    rig.arm.close()
    return rig.layout.finish(session)


def named(rig: Rig, command, angles, faults: list[Fault]) -> list[Fault]:
    """Whether the engine's trouble showed at all; an obstacle's joint is the one it holds back most."""
    late = int(0.08 / STEP_S)
    error = np.abs(angles[late:] - command[:-late]).max(0)
    if error.max() < np.radians(8):
        return []
    joint = rig.names[int(np.argmax(error))] if faults[0].fault == "obstacle" else faults[0].joint
    return [Fault(faults[0].fault, joint, faults[0].span_s, float(np.degrees(error.max())))]


def plant_one(rig: Rig, number: int, times, command, events):
    """Every second episode has a fault, in turn."""
    if number % 2 == 0:
        return Trouble(), []
    draw, fault = rig.draw, EPISODE_FAULTS[number // 2 % len(EPISODE_FAULTS)]
    span = float(times[-1])
    if fault == "motor-off":
        joint = int(draw.rng.integers(4))
        begin = draw.between(0.25, 0.5) * span
        end = begin + draw.between(1.3, 2.0)
        return Trouble(off=(joint, begin, end)), [Fault(fault, rig.names[joint], (begin, end))]
    if fault == "torque-limit":
        joint = 1 if rig.arm.name != "seven-joints" else int(draw.choose([1, 3]))
        _, torques = rig.arm.run(command, Trouble())
        limit = np.full(len(rig.names), 1e4)
        limit[joint] = draw.choose([0.7, 0.75, 0.8, 0.85]) * np.abs(torques[:, joint]).max()
        return Trouble(limit=limit), [Fault(fault, rig.names[joint])]
    if fault == "obstacle":
        middle = int((events[0] * 0.6 + 0.1) / STEP_S)
        return Trouble(obstacle_at=rig.arm.end_at(command[middle])), [Fault(fault)]
    if fault == "late-commands":
        return Trouble(late_s=draw.between(0.3, 0.4)), [Fault(fault)]
    # A hand pushes the end of the arm in a rest, by 5 to 8 degrees at the base.
    force = rig.arm.inertia(command[-1])[0] * rig.arm.natural**2 * np.radians(draw.between(5, 8)) / 0.5
    begin = span - 1.2
    return Trouble(push=(begin, begin + 0.7, np.array([0.0, force, 0.0]))), [Fault(fault, None, (begin, begin + 0.7))]


def weak(rig: Rig) -> Trouble:
    """One servo at a tenth of its stiffness."""
    joint = int(rig.draw.rng.integers(len(rig.names)))
    natural = np.full(len(rig.names), rig.arm.natural)
    natural[joint] *= 0.3
    rig.marked = rig.names[joint]
    return Trouble(natural=natural)


def rubbing(rig: Rig) -> Trouble:
    """A joint with friction that costs its servo 4 to 6 degrees."""
    joint = int(rig.draw.rng.integers(4))
    friction = np.zeros(len(rig.names))
    friction[joint] = rig.arm.inertia(rig.arm.centre)[joint] * rig.arm.natural**2 * np.radians(rig.draw.between(4, 6))
    rig.marked = rig.names[joint]
    return Trouble(friction=friction)


def healthy(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """Nothing is wrong."""
    return session_of(draw, rate_hz, episodes)


def faulty(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """Every second episode has a fault."""
    return session_of(draw, rate_hz, episodes, plant=plant_one)


def throughout(fault: str):
    """The whole session has it."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        joint: list = []

        def marking(rig: Rig) -> Trouble:
            trouble = {"weak-gain": weak, "joint-friction": rubbing}[fault](rig)
            joint.append(rig.marked)
            return trouble

        set_up = {"payload": {"payload_kg": draw.choose([6.0, 7.0, 8.0, 9.0])}, "tilted-base": {"tilt_rad": np.radians(draw.choose([20.0, 25.0, 30.0, 35.0]))}}
        trouble = marking if fault in ("weak-gain", "joint-friction") else None
        session = session_of(draw, rate_hz, min(episodes, 12), trouble=trouble, **set_up.get(fault, {}))
        session.faults.append(Fault(fault, joint[0] if joint else None))
        return session

    return kind


KINDS = {
    "physics-healthy": (healthy, [30, 60, 120, 240]),
    "physics-faults": (faulty, [30, 60]),
} | {f"physics-{f}": (throughout(f), [30]) for f in ["weak-gain", "payload", "joint-friction", "tilted-base"]}
