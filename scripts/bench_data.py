"""Makes the data of scripts/bench: simulated episodes of a six-joint leader-follower pair.

Minimum-jerk moves from pose to pose with rests between, hand tremor, a follower about 80 ms behind
with an offset and noise of its own, encoder counts of 0.088 degree, a loop that jitters by 2 % of
its period and loses a frame in one episode of fifty. The seed is fixed: the same size gives the same data.

    bench_data.py FOLDER EPISODES FILES

Writes FOLDER/one/ (one table), FOLDER/ten/ (ten times as much) and FOLDER/files/ (one episode a file).
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

FRAMES, JOINTS, RATE_HZ = 600, 6, 30.0
ROW_GROUP = 100_000
COUNT = np.radians(360 / 4096)
MOVES = 9
PROFILE = """\
[columns]
episode = "episode"
time = "time"
time_unit = "s"
state = ["follower"]
action = ["leader"]

[rig]
rate_hz = 30
unit = "rad"
""" + "".join(f"""
[[rig.joints]]
name = "{name}"
lower = -2.6
upper = 2.6
""" for name in ("waist", "shoulder", "elbow", "forearm", "wrist", "roll"))


def leader(at: np.ndarray, starts: np.ndarray, lengths: np.ndarray, poses: np.ndarray) -> np.ndarray:
    """The hand's path at the times `at` (episodes x joints x frames)."""
    path = np.repeat(poses[:, :, :1], at.shape[2], axis=2)
    for move in range(MOVES):
        share = np.clip((at - starts[:, move, None, None]) / lengths[:, move, None, None], 0, 1)
        # Minimum jerk: Flash and Hogan 1985 (from memory).
        path += (poses[:, :, move + 1] - poses[:, :, move])[:, :, None] * share**3 * (10 - 15 * share + 6 * share**2)
    return path


def simulate(rng: np.random.Generator, episodes: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time (episodes x frames), follower and leader (episodes x frames x joints)."""
    steps = np.ones((episodes, FRAMES))
    for late in np.flatnonzero(rng.random(episodes) < 0.02):
        steps[late, rng.integers(1, FRAMES)] += 1
    time = (np.cumsum(steps, axis=1) - 1 + 0.02 * rng.standard_normal((episodes, FRAMES)).clip(-4, 4)) / RATE_HZ
    time -= time[:, :1]
    slot = FRAMES / RATE_HZ / MOVES
    starts = slot * np.arange(MOVES) + rng.uniform(0, 0.3 * slot, (episodes, MOVES))
    lengths = rng.uniform(0.4 * slot, 0.65 * slot, (episodes, MOVES))
    poses = rng.uniform(-1.2, 1.2, (episodes, JOINTS, MOVES + 1))
    poses[:, :, 0] = 0.05 * rng.standard_normal((episodes, JOINTS))
    delay = 0.080 + 0.004 * np.arange(JOINTS)[None, :, None] + 0.002 * rng.standard_normal((episodes, 1, 1))
    tremor = rng.uniform(6, 11, (episodes, JOINTS, 1)), rng.uniform(0, 2 * np.pi, (episodes, JOINTS, 1))

    def shaken(at: np.ndarray, strength: float) -> np.ndarray:
        shake = np.radians(strength) * np.sin(2 * np.pi * tremor[0] * at + tremor[1])
        return leader(at, starts, lengths, poses) + shake

    at = np.repeat(time[:, None], JOINTS, axis=1)
    commanded = shaken(at, 0.15)
    measured = shaken(at - delay, 0.05) + np.radians(0.4) * rng.standard_normal((episodes, JOINTS, 1))
    measured += np.radians(0.05) * rng.standard_normal(measured.shape)
    counts = [(np.round(x / COUNT) * COUNT).astype(np.float32).transpose(0, 2, 1) for x in (measured, commanded)]
    return time, counts[0], counts[1]


def table(first: int, time: np.ndarray, follower: np.ndarray, leader_: np.ndarray) -> pa.Table:
    """Episodes as rows: episode, time, follower and leader as lists of float32."""
    rows = time.size
    offsets = pa.array(np.arange(0, rows * JOINTS + 1, JOINTS, dtype=np.int32))
    return pa.table({
        "episode": np.repeat(np.arange(first, first + len(time)), FRAMES),
        "time": time.ravel(),
        "follower": pa.ListArray.from_arrays(offsets, pa.array(follower.ravel())),
        "leader": pa.ListArray.from_arrays(offsets, pa.array(leader_.ravel())),
    })


def main() -> None:
    folder, episodes, files = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    rng = np.random.default_rng(20_240_229)
    parts = [simulate(rng, min(200, episodes - first)) for first in range(0, episodes, 200)]
    time, follower, leader_ = (np.concatenate(part) for part in zip(*parts))
    for name in ("one", "ten", "files"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    whole = table(0, time, follower, leader_)
    pq.write_table(whole, folder / "one" / "part-0.parquet", compression="zstd", row_group_size=ROW_GROUP)
    for episode in range(files):
        rows = whole.slice(episode % episodes * FRAMES, FRAMES).combine_chunks()
        rows = rows.set_column(0, "episode", pa.array(np.full(FRAMES, episode)))
        pq.write_table(rows, folder / "files" / f"episode-{episode:05}.parquet", compression="zstd")
    del whole
    # Ten times as much: only its memory is of interest, so the parts repeat, shifted by whole counts.
    with pq.ParquetWriter(folder / "ten" / "part-0.parquet", table(0, time[:1], follower[:1], leader_[:1]).schema,
                          compression="zstd") as writer:
        for part in range(10):
            shift = np.float32(part * COUNT)
            writer.write_table(table(part * episodes, time, follower + shift, leader_ + shift), row_group_size=ROW_GROUP)
    (folder / "profile.toml").write_text(PROFILE)
    (folder / ".complete").touch()


if __name__ == "__main__":
    main()
