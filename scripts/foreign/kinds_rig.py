"""Kinds: healthy rigs that are more than one arm: two arms, a hand, a base, a parked joint, a free wrist."""

from __future__ import annotations

import numpy as np

from .arm import Arm, fine_step_s, read, take
from .clock import Clock
from .draw import Draw
from .kinds_arm import plain, span_for
from .layout import stamps
from .motion import STYLES, Task, path
from .servo import Servo, quantised, sampled
from .session import Episode, Session

FINGERS = ["thumb", "index", "middle", "ring"]


def two_arms(idle: bool):
    """Two arms in nested columns; one of them may lie idle all the time."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        arms = [Arm.drawn(draw, STYLES[(draw.seed + i) % 3], 6, span_for(rate_hz)) for i in (0, 1)]
        ticking, time = Clock.drawn(draw, rate_hz), draw.choose(["seconds", "nanos"])
        nested = draw.choose(["side_first", "side_last", "scalars", "side_first"])
        session = Session(draw.kind, draw.seed, rate_hz)
        names = [*arms[0].names, "gripper"]
        for number in range(episodes):
            left, right = (take(draw, arm, fine_step_s(rate_hz)) for arm in arms)
            longest = left.times if idle else max(left.times, right.times, key=len)
            for one in (left, right):
                # The recording ends when both arms are done: the one that is first waits.
                more = max(len(longest) - len(one.times), 0)
                one.leader = np.vstack([one.leader, np.repeat(one.leader[-1:], more, 0)])
                one.follower = np.vstack([one.follower, np.repeat(one.follower[-1:], more, 0)])
                one.times = longest
            left = read(draw, arms[0], ticking, left)
            a = sampled(right.times, right.leader, left.true_s)
            s = sampled(right.times, right.follower, left.true_s)
            if idle:
                a, s = np.repeat(a[:1], len(a), 0), np.repeat(s[:1], len(s), 0)
            a = quantised(a + draw.normal(arms[1].leader_noise, a.shape), arms[1].leader_count)
            s = arms[1].servo.read(draw, s)
            out = stamps(time, left.stamp_s, 40.0 * number)
            both = {"left": (left.action, left.state), "right": (a, s)}
            if nested == "side_first":
                out |= {side: {"leader": dict(zip(names, x.T)), "follower": dict(zip(names, y.T))} for side, (x, y) in both.items()}
            elif nested == "side_last":
                out |= {"leader": {side: dict(zip(names, x.T)) for side, (x, _) in both.items()}}
                out |= {"follower": {side: dict(zip(names, y.T)) for side, (_, y) in both.items()}}
            else:
                for side, (x, y) in both.items():
                    out |= {f"{side}_{n}_target": x[:, i] for i, n in enumerate(names)}
                    out |= {f"{side}_{n}_actual": y[:, i] for i, n in enumerate(names)}
            session.episodes.append(Episode(out))
        return session

    return kind


def hand16(grasping: bool):
    """A hand of 16 joints from a glove. With an object the fingers stop at 62 to 80 % of closure."""

    def kind(draw: Draw, rate_hz: float, episodes: int) -> Session:
        names = [f"{f}_{i}" for f in FINGERS for i in range(1, 5)]
        # Curl of each finger, spread over its joints.
        share = np.array([0.15, 1.0, 0.85, 0.6] * 4) * draw.between(0.9, 1.1, 16)
        task = Task.drawn(draw, STYLES[draw.seed % 3], np.full(4, 0.42), span_for(rate_hz))
        servo = Servo(draw.between(0.01, 0.02), np.full(16, 40.0), np.full(16, 0.9), np.full(16, np.radians(0.3)), np.radians(draw.normal(0.2, 16)), np.ones(16), np.zeros(16), np.radians(0.02), np.radians(0.088))
        ticking, time = Clock.drawn(draw, rate_hz), draw.choose(["seconds", "nanos"])
        form = draw.choose(["named", "list", "scalars", "named"])
        session = Session(draw.kind, draw.seed, rate_hz)
        if form == "named":
            session.names = {"state": names, "action": names}
        stop = draw.between(0.62, 0.80, 16)
        step = fine_step_s(rate_hz)
        for _ in range(episodes):
            times, curl, _ = path(draw, task, step)
            curl = np.repeat(0.55 + curl, 4, 1)
            curl = np.clip(curl + draw.normal(0.01, 16), 0.02, 0.98)
            glove = np.radians(85) * curl * share
            body = servo.follow(glove, step)
            if grasping:
                body = np.minimum(body, np.radians(85) * stop * share)
            true, stamp = ticking.rows(draw, times[-1])
            action = sampled(times, glove, true) + draw.normal(np.radians(0.05), (len(true), 16))
            state = servo.read(draw, sampled(times, body, true))
            out = stamps(time, stamp, 10.0)
            if form == "scalars":
                out |= {f"glove_{n}_cmd": action[:, i] for i, n in enumerate(names)}
                out |= {f"hand_{n}_meas": state[:, i] for i, n in enumerate(names)}
            else:
                out |= {"state": state, "action": action}
            session.episodes.append(Episode(out))
        return session

    return kind


def driving(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """A base that drives most of the time while its arm holds still; the profile declares the base."""
    paths: list = []
    speeds = draw.choose([0.3, 0.35, 0.4, 0.45])

    def change(arm: Arm) -> None:
        arm.task.span_s = 3.0

    def dress(draw: Draw, arm: Arm, made) -> dict:
        # The drive comes first: the arm waits, then works.
        wait = int(3.5 * rate_hz)
        t = np.arange(wait + len(made.true_s)) / rate_hz
        lead = made.stamp_s[0] + (np.arange(wait) - wait) / rate_hz
        made.stamp_s = np.concatenate([lead, made.stamp_s]) - lead[0]
        made.stamp_s += np.abs(draw.normal(0.003 / rate_hz, len(made.stamp_s)))
        made.action = np.vstack([np.repeat(made.action[:1], wait, 0), made.action])
        rest = np.repeat(made.state[:1], wait, 0)
        made.state = np.vstack([rest, made.state])
        x = np.clip((t - 0.3) / 3.2, 0, 1)
        forward = speeds * np.sin(np.pi * x) ** 2
        turn = 0.5 * np.sin(2 * np.pi * x) * draw.between(0.8, 1.2)
        yaw = np.cumsum(turn) / rate_hz
        pose_x, pose_y = np.cumsum(forward * np.cos(yaw)) / rate_hz, np.cumsum(forward * np.sin(yaw)) / rate_hz
        paths.append(pose_x[-1])
        return {"wheel_v": forward, "wheel_w": turn, "odom_x": pose_x, "odom_y": pose_y, "odom_yaw": yaw}

    session = plain(draw, rate_hz, episodes, "trapezoid", change=change, dress=dress, span_s=3.0)
    session.profile = '[base]\nvelocity = ["wheel_v", "wheel_w"]\npose = ["odom_x", "odom_y", "odom_yaw"]\n'
    return session


def parked(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """One joint is parked by design: neither side ever moves."""

    def dress(draw: Draw, arm: Arm, made) -> None:
        made.action[:, 3] = made.action[0, 3] * 0
        made.state[:, 3] = quantised(draw.normal(np.radians(0.01), len(made.state)) + 0.01, arm.servo.count)

    return plain(draw, rate_hz, episodes, STYLES[draw.seed % 3], dress=dress)


def free_wrist(draw: Draw, rate_hz: float, episodes: int) -> Session:
    """A wrist without stops, whose angle is stored from -180 to 180 degrees on both sides."""

    def dress(draw: Draw, arm: Arm, made) -> None:
        for side in (made.action, made.state):
            side[:, 4] = (side[:, 4] * 3.0 + np.pi + 0.3 + np.pi) % (2 * np.pi) - np.pi

    return plain(draw, rate_hz, episodes, STYLES[draw.seed % 3], dress=dress)


KINDS = {
    "two-arms": (two_arms(False), [30, 100]),
    "two-arms-idle": (two_arms(True), [10, 30, 100]),
    "hand-16": (hand16(False), [10, 30, 100]),
    "hand-16-object": (hand16(True), [10, 30, 100]),
    "base-driving": (driving, [10, 30, 50]),
    "joint-parked": (parked, [10, 30, 100]),
    "free-wrist": (free_wrist, [30, 100]),
}
