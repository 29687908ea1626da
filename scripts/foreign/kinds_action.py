"""Kinds: healthy arms whose actions are no leader's position: held, chunked, next, deltas, velocities."""

from __future__ import annotations

import numpy as np

from .arm import Arm, fine_step_s, read, take
from .clock import Clock
from .draw import Draw
from .kinds_arm import span_for
from .layout import Layout
from .motion import STYLES, smoothed, tremor
from .servo import sampled
from .session import Session


def commanded(shape, smooth=True, hand=False, extra=None, rows=None):
    """An arm whose command is `shape(draw, arm, times, path)`, in place of a hand's path.

    `rows(draw, made, rate)` alters what is stored; `extra(made)` adds columns.
    """

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        arm = Arm.drawn(draw, STYLES[draw.seed % 3], 6, span_for(rate_hz), hand)
        arm.servo.natural = draw.between(18, 25, 6)
        layout = Layout(draw, [*arm.names, "gripper"])
        ticking = Clock.drawn(draw, rate_hz)
        session = Session(draw.kind, draw.seed, rate_hz)
        setting = {"rate_hz": rate_hz, "hold": draw.choose([2, 3, 4, 5, 6, 8, 10, 10])}
        for _ in range(episodes):
            made = take(draw, arm, fine_step_s(rate_hz))
            more = None
            if shape:
                body, more = shape(draw, made.times, made.leader[:, :-1], setting)
                made.leader[:, :-1] = body
                made.follower[:, :-1] = arm.servo.follow(body, made.step_s)
            read(draw, arm, ticking, made)
            extra = None
            if more is not None:
                extra = {"intervention": more[np.minimum((made.true_s / made.step_s).astype(int), len(more) - 1)]}
            if rows:
                rows(draw, made, setting)
            session.episodes.append(layout.episode(made, extra))
        return layout.finish(session)

    return kind


def chunks(draw: Draw, times, wanted, setting):
    """A policy that plans about a second ahead: each plan starts off by a degree or two and heads back."""
    step, out, at = times[1] - times[0], wanted.copy(), 0.0
    busy = np.abs(np.gradient(wanted, step, axis=0)).max(1) > np.radians(3)
    while at < times[-1]:
        until = at + draw.between(0.8, 1.2)
        some = (times >= at) & (times < until)
        fade = np.exp(-(times[some] - at) / 0.6)[:, None]
        out[some] += fade * np.radians(draw.normal(0.8, wanted.shape[1])) * busy[some].any()
        at = until
    return out, None


def rollout(draw: Draw, times, wanted, setting):
    """A policy's chunks, and one or two stretches in which a human takes over (column `intervention`)."""
    policy, _ = chunks(draw, times, wanted, setting)
    human = wanted + tremor(draw, wanted.shape, times[1] - times[0], np.radians(0.05))
    on = np.zeros(len(times), bool)
    for _ in range(int(draw.rng.integers(0, 3))):
        begin = draw.between(0.15, 0.7) * times[-1]
        on |= (times > begin) & (times < begin + draw.between(0.8, 1.6))
    weight = smoothed(on.astype(float), 0.03, times[1] - times[0])[:, None]
    return policy * (1 - weight) + human * weight, on


def hold(draw: Draw, made, setting) -> None:
    """The action is updated every k-th frame and stays to the last bit between."""
    k = setting["hold"]
    made.action = made.action[np.arange(len(made.action)) // k * k]


def held_shape(draw: Draw, times, wanted, setting):
    """The same staircase as the servo meets it.

    It steps at the time of an update or just before, so that no row falls on the way from one to the next.
    """
    at, step = setting["hold"] / setting["rate_hz"], times[1] - times[0]
    begun = np.floor((times + 0.5 * step) / at) * at
    return wanted[np.minimum((begun / step).round().astype(int), len(times) - 1)], None


def following(draw: Draw, made, setting) -> None:
    """The action is the state of the next row."""
    made.action = np.vstack([made.state[1:], made.state[-1:]])


def deltas(draw: Draw, made, setting) -> None:
    """Increments of the command a frame; the jaw stays absolute."""
    step = np.diff(made.action[:, :-1], axis=0, prepend=made.action[:1, :-1])
    made.action = np.column_stack([step, made.action[:, -1]])


def speeds(draw: Draw, made, setting) -> None:
    """Joint speeds commanded, rad/s, from the path on the fine grid; the jaw stays absolute."""
    wanted = np.gradient(smoothed(made.leader[:, :-1], 0.03, made.step_s), made.step_s, axis=0)
    now = sampled(made.times, wanted, made.true_s)
    now[np.abs(now) < np.radians(0.5)] = 0.0
    made.action = np.column_stack([now, made.action[:, -1]])


KINDS = {
    "held": (commanded(held_shape, rows=hold), [20, 30, 50, 100, 500]),
    "chunked": (commanded(chunks), [10, 30, 50, 100]),
    "rollouts": (commanded(rollout), [10, 30, 50, 100]),
    "next": (commanded(None, hand=True, rows=following), [10, 30, 100]),
    "delta": (commanded(None, hand=True, rows=deltas), [10, 30, 100]),
    "velocity": (commanded(None, rows=speeds), [10, 30, 100, 500]),
}
