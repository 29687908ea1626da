"""Tests of the recordings of other origin: what they say of themselves is true of the data."""

from __future__ import annotations

import json
import tempfile
import unittest
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
from foreign import page, registry
from foreign.draw import Draw
from foreign.motion import STYLES, Task, path, trapezoid
from foreign.pose import orientation
from foreign.score import same_joint
from foreign.servo import Servo, slack
from foreign.session import write
from scipy.spatial.transform import Rotation


class Pieces(unittest.TestCase):
    """Parts with answers that are known."""

    def test_trapezoid_goes_from_0_to_1_and_its_top_speed_is_that_of_its_ramps(self) -> None:
        x = np.linspace(0, 1, 10_001)
        y = trapezoid(x, 0.25)
        self.assertEqual((y[0], y[-1]), (0.0, 1.0))
        self.assertAlmostEqual(np.gradient(y, x).max(), 1 / 0.75, places=3)

    def test_slack_is_half_its_width_behind_a_ramp_and_stands_at_a_turn(self) -> None:
        ramp = np.concatenate([np.linspace(0, 1, 101), np.linspace(1, 0.95, 6)[1:]])
        out = slack(ramp, 0.2)
        self.assertAlmostEqual(out[100], 0.9)
        self.assertAlmostEqual(out[-1], 0.9)

    def test_a_servo_is_behind_a_ramp_by_dead_time_and_twice_its_damping_over_its_frequency(self) -> None:
        one = np.ones(1)
        servo = Servo(0.05, one * 20, one * 0.9, one * 0, one * 0, one, one * 0, 0, 0)
        t = np.arange(4000) * 0.001
        out = servo.follow(t[:, None], 0.001)[:, 0]
        self.assertAlmostEqual(t[-1] - out[-1], 0.05 + 2 * 0.9 / 20, places=3)

    def test_quaternions_have_unit_norm_and_both_orders_hold_the_same_numbers(self) -> None:
        turn = Rotation.from_rotvec(np.random.default_rng(0).normal(size=(50, 3)))
        one, other = orientation(turn, "xyzw"), orientation(turn, "wxyz")
        np.testing.assert_allclose(np.linalg.norm(one, axis=1), 1)
        np.testing.assert_array_equal(one[:, 3], other[:, 0])

    def test_every_style_begins_and_ends_at_rest_and_moves_every_joint(self) -> None:
        for style in STYLES:
            draw = Draw("test", 3)
            task = Task.drawn(draw, style, np.full(5, 0.8), 6.0)
            times, values, _ = path(draw, task, 0.002)
            speed = np.abs(np.gradient(values, times, axis=0))
            self.assertLess(speed[:50].max(), 0.02, style)
            self.assertLess(speed[-50:].max(), 0.02, style)
            self.assertGreater(np.ptp(values, axis=0).min(), 0.2, style)

    def test_intervals_are_those_of_clopper_and_pearson(self) -> None:
        # None of 20: 1 - 0.025^(1/20). 1 of 10: published table, 0.0025 to 0.4450.
        self.assertAlmostEqual(page.interval(0, 20)[1], 1 - 0.025 ** (1 / 20))
        self.assertAlmostEqual(page.interval(1, 10)[0], 0.0025, places=4)
        self.assertAlmostEqual(page.interval(1, 10)[1], 0.4450, places=4)

    def test_joints_are_told_by_name_or_by_number(self) -> None:
        names = ["yaw", "elbow"]
        self.assertTrue(same_joint("elbow", "elbow", names))
        self.assertTrue(same_joint("j1", "elbow", names))
        self.assertFalse(same_joint("j0", "elbow", names))
        self.assertFalse(same_joint(None, "elbow", names))
        shared = ["joint_a", "joint_b", "other_b"]
        self.assertTrue(same_joint("a", "joint_a", shared))
        self.assertFalse(same_joint("a", "joint_b", shared))
        self.assertFalse(same_joint("b", "joint_b", shared), "two joints end so")

    def test_the_halves_share_no_choice(self) -> None:
        even = {Draw("k", s).choose(list(range(8))) for s in range(0, 60, 2)}
        odd = {Draw("k", s).choose(list(range(8))) for s in range(1, 60, 2)}
        self.assertFalse(even & odd)


class Sessions(unittest.TestCase):
    """Whole sessions."""

    def read(self, name: str, episodes: int, seed=2):
        """(columns of all rows, answer key)."""
        with tempfile.TemporaryDirectory() as scratch:
            session = registry.make(name, seed, episodes)
            session.storage = "parquet"
            write(session, Path(scratch) / "s")
            tables = [pq.read_table(p) for p in sorted((Path(scratch) / "s").glob("*.parquet"))]
            return session, tables, json.loads((Path(scratch) / "s" / "truth.json").read_text())

    def test_a_seed_makes_the_same_session(self) -> None:
        one, other = (registry.make("arm-spline@10", 4, 2) for _ in range(2))
        for a, b in zip(one.episodes, other.episodes):
            for name, values in a.columns.items():
                if not isinstance(values, dict):
                    np.testing.assert_array_equal(values, b.columns[name])

    def test_a_held_reading_repeats_to_the_bit_and_only_in_its_joint(self) -> None:
        session, _, truth = self.read("fault-held@30", 8)
        planted = [(n, faults[0]) for n, faults in enumerate(truth["episodes"]) if faults]
        self.assertEqual([n for n, _ in planted], [1, 4, 7])
        for number, fault in planted:
            state = flat(session.episodes[number].columns, truth["names"])
            runs = np.array([longest_run(state[:, j]) for j in range(state.shape[1] - 1)])
            self.assertEqual(truth["names"][int(np.argmax(runs))], fault["joint"])
            self.assertGreaterEqual(runs.max(), 0.29 * 30)

    def test_healthy_kinds_hold_finite_numbers_and_no_fault(self) -> None:
        for name in ["puck-pose@10", "keyboard@10", "tracker-clutch@10", "two-arms-idle@10", "velocity@10"]:
            _, tables, truth = self.read(name, 2)
            self.assertFalse(truth["faults"] or any(truth["episodes"]), name)
            for table in tables:
                self.assertEqual(sum(c.null_count for c in table.columns), 0, name)

    def test_every_kind_makes_a_session(self) -> None:
        for name in registry.DEVICES:
            session = registry.make(f"{name}@{registry.DEVICES[name][1][0]}", 1, 2)
            self.assertEqual(len(session.episodes), 2, name)
            self.assertGreaterEqual(session.episodes[0].rows, 8, name)


def flat(columns: dict, names: list[str]) -> np.ndarray:
    """The state of an episode as a matrix, whatever its layout."""
    if "state" in columns:
        return columns["state"]
    side = next((w for w in ("follower", "measured", "actual") if w in columns), None)
    if side:
        return np.column_stack(list(columns[side].values()))
    side = next(w for w in ("follower", "measured", "actual") if f"{w}_{names[0]}" in columns)
    return np.column_stack([columns[f"{side}_{n}"] for n in names])


def longest_run(values: np.ndarray) -> int:
    """Rows in the longest run of equal values."""
    change = np.flatnonzero(np.diff(values) != 0)
    edges = np.concatenate([[-1], change, [len(values) - 1]])
    return int(np.diff(edges).max())


if __name__ == "__main__":
    unittest.main()
