"""Poses of a hand or tool: a path in position and orientation, and how tables write an orientation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from .draw import Draw
from .motion import Task, path, smoothed
from .servo import Servo

ORIENTATION_NAMES = {
    "xyzw": ["qx", "qy", "qz", "qw"],
    "wxyz": ["qw", "qx", "qy", "qz"],
    "rotvec": ["rx", "ry", "rz"],
    "euler": ["roll", "pitch", "yaw"],
    "matrix6": ["r11", "r21", "r31", "r12", "r22", "r32"],
}


@dataclass
class Hand:
    """What the episodes of a session share. Metres and radians."""

    task: Task
    centre: np.ndarray
    base: Rotation
    servo: Servo

    @staticmethod
    def drawn(draw: Draw, style: str, span_s: float, lag_s=0.02, upside_down=True) -> "Hand":
        """A tool that points down: its rotation is near half a turn, where vectors and signs wrap."""
        travel = np.array([0.18, 0.22, 0.12, 0.5, 0.4, 0.7]) * draw.between(0.8, 1.2, 6)
        base = Rotation.from_rotvec([np.pi, 0, 0]) * Rotation.from_euler("z", draw.between(-0.3, 0.3))
        if not upside_down:
            base = Rotation.from_euler("xyz", draw.between(-0.3, 0.3, 3))
        servo = Servo(lag_s, np.full(6, 25.0), np.full(6, 1.0), np.zeros(6), np.zeros(6), np.ones(6), np.zeros(6), 2e-5, 0)
        return Hand(Task.drawn(draw, style, travel, span_s), np.array([0.42, 0.0, 0.22]), base, servo)

    def run(self, draw: Draw, step_s: float, rest_s=(0.3, 0.6)):
        """(times, command (n, 6), reached (n, 6), events): xyz from the centre, turn from the base."""
        times, command, events = path(draw, self.task, step_s, rest_s)
        return times, command, self.servo.follow(command, step_s), events

    def written(self, local: np.ndarray, how: str, canonical=True) -> np.ndarray:
        """Columns x y z and the orientation in this form."""
        turn = self.base * Rotation.from_rotvec(local[:, 3:6])
        return np.hstack([self.centre + local[:, :3], orientation(turn, how, canonical)])


def orientation(turn: Rotation, how: str, canonical=True) -> np.ndarray:
    """An orientation as tables write it; canonical quaternions have w >= 0 and so change sign."""
    if how in ("xyzw", "wxyz"):
        q = turn.as_quat(canonical=canonical)
        return q if how == "xyzw" else q[:, [3, 0, 1, 2]]
    if how == "rotvec":
        return turn.as_rotvec()
    if how == "euler":
        return turn.as_euler("xyz")
    return turn.as_matrix()[:, :, :2].transpose(0, 2, 1).reshape(-1, 6)


def twist(command: np.ndarray, step_s: float, width_s=0.05) -> np.ndarray:
    """Speeds of the path, smoothed, m/s and rad/s."""
    return np.gradient(smoothed(command, width_s, step_s), step_s, axis=0)
