"""A leader-follower arm: one take of it on a fine grid, then sampled by a loop."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .clock import Clock
from .draw import Draw
from .motion import Task, jaw, path, tremor
from .servo import Servo, quantised, sampled
from .session import Fault

NAMES = ["yaw", "shoulder_lift", "elbow_bend", "forearm_roll", "wrist_bend", "wrist_turn"]


@dataclass
class Arm:
    """The rig and the task of a session. Angles in rad."""

    names: list[str]
    task: Task
    servo: Servo
    jaw_open: float
    jaw_shut: float
    jaw_object: float  # where an object stops the jaw
    jaw_rise_s: float
    tremor: float
    leader_count: float
    leader_noise: float

    @staticmethod
    def drawn(draw: Draw, style: str, joints=5, span_s=6.0, hand=True) -> "Arm":
        """A small leader-follower arm with a jaw as its last dimension."""
        travel = np.radians(np.array([70, 45, 50, 40, 45, 60, 50])[:joints] * draw.between(0.8, 1.2, joints))
        opened = np.radians(draw.between(48, 62))
        return Arm(
            NAMES[:joints],
            Task.drawn(draw, style, travel, span_s),
            Servo.hobby(draw, joints),
            opened,
            np.radians(draw.between(2, 6)),
            opened * draw.between(0.3, 0.5),
            draw.choose([0.25, 0.35, 0.2, 0.3]),
            np.radians(draw.between(0.03, 0.06)) if hand else 0.0,
            2 * np.pi / 4096 if hand else 0.0,
            np.radians(0.01) if hand else 0.0,
        )


@dataclass
class Take:
    """One episode: fine grid, rows, and what was done to it."""

    step_s: float
    times: np.ndarray
    leader: np.ndarray  # (n, joints + 1), the jaw last
    follower: np.ndarray
    events: list[float]
    held: tuple[float, float]  # when the jaw holds something
    faults: list[Fault] = field(default_factory=list)
    true_s: np.ndarray = field(default_factory=lambda: np.zeros(0))
    stamp_s: np.ndarray = field(default_factory=lambda: np.zeros(0))
    action: np.ndarray = field(default_factory=lambda: np.zeros((0, 0)))
    state: np.ndarray = field(default_factory=lambda: np.zeros((0, 0)))

    @property
    def span_s(self) -> float:
        """Length on the fine grid."""
        return float(self.times[-1])


def fine_step_s(rate_hz: float) -> float:
    """A grid finer than the rows."""
    return 0.002 if rate_hz <= 50 else 0.001 if rate_hz <= 250 else 0.0005


def take(draw: Draw, arm: Arm, step_s: float, rest_s=(0.25, 0.55)) -> Take:
    """What the hand and the arm do in one episode, without rows yet."""
    times, hand, events = path(draw, arm.task, step_s, rest_s)
    if arm.tremor:
        hand = hand + tremor(draw, hand.shape, step_s, arm.tremor)
    closing = events[0] + 0.1
    opening = events[min(2, len(events) - 1)] + 0.1
    grip = jaw(draw, times, closing, opening, arm.jaw_open, arm.jaw_shut, arm.jaw_rise_s)
    if arm.tremor:
        grip = grip + tremor(draw, grip.shape, step_s, arm.tremor)
    body = arm.servo.follow(hand, step_s)
    held = arm.jaw_object * (1 + draw.normal(0.01))
    finger = Servo(arm.servo.dead_s, np.full(1, 30.0), np.ones(1), np.zeros(1), np.zeros(1), np.ones(1), np.zeros(1), 0, 0)
    fingers = finger.follow(grip[:, None], step_s)[:, 0]
    inside = (times > closing - 0.5) & (times < opening + 0.5)
    fingers = np.where(inside, np.maximum(fingers, held), fingers)
    leader = np.column_stack([hand, grip])
    follower = np.column_stack([body, fingers])
    return Take(step_s, times, leader, follower, events, (closing, opening))


def read(draw: Draw, arm: Arm, clock: Clock, made: Take) -> Take:
    """Rows of the take: stamps, leader and follower as sampled, in place."""
    made.true_s, made.stamp_s = clock.rows(draw, made.span_s)
    leader = sampled(made.times, made.leader, made.true_s)
    follower = sampled(made.times, made.follower, made.true_s + 0.05 * clock.period_s)
    if arm.leader_noise:
        leader = leader + draw.normal(arm.leader_noise, leader.shape)
    made.action = quantised(leader, arm.leader_count)
    made.state = arm.servo.read(draw, follower)
    return made
