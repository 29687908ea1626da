"""Tests of the cross-check itself, on signals whose answer is known. Run by scripts/test."""

from __future__ import annotations

import unittest

import numpy as np

import cross_check_measures as measures
from cross_check_table import Part, Rig


def path(t: np.ndarray) -> np.ndarray:
    """A smooth motion in radians that can be evaluated at any time, so any delay is exact."""
    waves = ((0.6, 0.37, 0.2), (0.25, 0.83, 1.1), (0.1, 1.57, 2.3))
    return sum(size * np.sin(2 * np.pi * hertz * t + phase) for size, hertz, phase in waves)


def rig(joints: int, period: float) -> Rig:
    """A rig of which nothing but the period and wide limits are known."""
    return Rig(
        episode=None, time="t", time_scale=1.0, state=[], action=[], scale=[1.0] * joints,
        joints=[f"j{i}" for i in range(joints)], grippers=[False] * joints, lower=np.full(joints, -2.0),
        upper=np.full(joints, 2.0), declared=np.full((joints, 2), True), count=np.full(joints, 0.0015), period_s=period,
    )


def values(readings: list[dict], metric: str) -> list[float]:
    return [r["value"] for r in readings if r["metric"] == metric]


class Lag(unittest.TestCase):
    delays = (0.040, 0.047, 0.1234, -0.031)

    def lags(self, time: np.ndarray) -> np.ndarray:
        delays = np.array(self.delays)
        state = 0.3 + path(time[:, None] - delays)
        action = np.repeat(path(time)[:, None], len(delays), axis=1)
        part = Part("0", time, state, action)
        found = measures.tracking(part, rig(len(delays), 0.02))
        return np.array([found[joint].lag_s for joint in range(len(delays))]) - delays

    def test_even_stamps(self) -> None:
        self.assertLess(np.abs(self.lags(np.arange(600) / 50)).max(), 0.05e-3)

    def test_uneven_stamps_with_lost_rows(self) -> None:
        rng = np.random.default_rng(7)
        time = np.arange(600) / 50 + rng.uniform(-0.006, 0.006, 600)
        time = np.delete(time, [50, 51, 200, 333, 334, 335, 336, 500])
        self.assertLess(np.abs(self.lags(time)).max(), 0.3e-3)

    def test_a_parked_leader_has_none(self) -> None:
        time = np.arange(600) / 50
        part = Part("0", time, path(time)[:, None], np.full((600, 1), 0.1))
        self.assertEqual(measures.tracking(part, rig(1, 0.02)), {})


class Timing(unittest.TestCase):
    rng = np.random.default_rng(3)

    def stamps(self) -> np.ndarray:
        return np.arange(300) * 0.02 + self.rng.uniform(0, 4e-4, 300)

    def test_lost_rows_are_counted_and_the_gap_is_found(self) -> None:
        readings = measures.timing(np.delete(self.stamps(), [40, 41, 42, 90]), 0.02)
        self.assertEqual(values(readings, "dropped_frames"), [4])
        self.assertAlmostEqual(values(readings, "longest_gap")[0], 0.08, delta=5e-4)
        self.assertLess(values(readings, "jitter_p95")[0], 5e-4)

    def test_a_late_frame_is_not_a_drop(self) -> None:
        time = self.stamps()
        time[100] += 0.013
        self.assertEqual(values(measures.timing(time, 0.02), "dropped_frames"), [0])

    def test_stamps_made_from_the_index_say_nothing(self) -> None:
        self.assertEqual(measures.timing(1.7e9 + np.arange(300) / 30, 1 / 30), [])


class Dwell(unittest.TestCase):
    time = np.arange(100) / 50

    def share(self, state: np.ndarray, action: np.ndarray) -> list[float]:
        part = Part("0", self.time, state[:, None], action[:, None])
        return values(measures.dwell(part, rig(1, 0.02), {}), "dwell_share")

    def test_only_a_pushing_leader_counts(self) -> None:
        state = np.full(100, 2.0)
        self.assertEqual(self.share(state, np.where(np.arange(100) < 25, 2.1, 2.0)), [0.25])

    def test_an_end_that_nobody_declared_counts_where_the_leader_pushes_twice_as_far(self) -> None:
        leader = 0.5 * np.sin(2 * np.pi * self.time)
        state = np.minimum(leader, 0.3)
        self.assertEqual(self.share(state, leader), [np.mean(leader > 0.3 + 2 * measures.PUSH_RAD)])

    def test_a_dead_joint_is_at_no_end(self) -> None:
        self.assertEqual(self.share(np.full(100, 0.1), 0.5 * np.sin(2 * np.pi * self.time)), [0.0])


if __name__ == "__main__":
    unittest.main()
