"""Makes a large measurements file out of a small one, to measure `judge` with.

    $(scripts/venv) scripts/repeat_measurements.py small.parquet large.parquet 1000000 [copies]

Episodes are repeated under new ids, each reading smaller by up to a thousandth, so that no two are
alike. Spans, notes and what was not assessed are copied as they are. The sketch of each is a blend of its own motion
with that of another episode, every joint off by some degrees and swinging slowly by some more, as no
two demonstrations are the same; with `copies` the sketches are copied, so that each motion is there
many times.
"""

import sys

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

GROUP = 4096
# As in src/model/sketch.rs.
POSES, LEADER_POSES, LEVELS, MISSING = 49, 17, 65_534, 65_535
DEGREE = np.pi / 180


class Sketches:
    """Moments and poses of all episodes of a table, joint by joint, the follower's before the leader's."""

    def __init__(self, table: pa.Table) -> None:
        self.rows = table.num_rows
        moments = table.column("moments").combine_chunks()
        levels = b"".join(table.column("levels").to_pylist())
        self.moments = np.asarray(moments.flatten(), np.float32).reshape(self.rows, -1, 4)
        self.levels = np.frombuffer(levels, "<u2").reshape(self.rows, -1)
        self.joints = self.moments.shape[1] // 2
        if self.levels.shape[1] != self.joints * (POSES + LEADER_POSES):
            sys.exit("sketches without a leader")

    def poses(self, picked: np.ndarray, leader: bool) -> np.ndarray:
        """Poses of some episodes: episode, joint, pose."""
        cut = self.joints * POSES
        levels = self.levels[picked][:, cut:] if leader else self.levels[picked][:, :cut]
        levels = levels.reshape(len(picked), self.joints, -1).astype(np.float32)
        side = slice(self.joints, None) if leader else slice(0, self.joints)
        low, high = self.moments[picked][:, side, 2], self.moments[picked][:, side, 3]
        levels[levels == MISSING] = 0
        return low[..., None] + (high - low)[..., None] * levels / LEVELS

    def blended(self, own: np.ndarray, random: np.random.Generator) -> tuple[pa.Array, pa.Array]:
        """Moments and levels of new motions."""
        n, joints = len(own), self.joints
        other = random.integers(0, self.rows, n)
        weight = random.uniform(0.5, 1.0, (n, 1, 1))
        off = random.normal(0, 3 * DEGREE, (n, joints, 1))
        swing = random.normal(0, 3 * DEGREE, (n, joints, 1))
        phase = random.uniform(0, 2 * np.pi, (n, joints, 1))
        moments, levels = [], []
        for leader, poses in ((False, POSES), (True, LEADER_POSES)):
            time = np.linspace(0, 1, poses)
            a, b = self.poses(own, leader), self.poses(other, leader)
            values = weight * a + (1 - weight) * b + off
            values += swing * np.sin(2 * np.pi * random.uniform(0.5, 2) * time + phase)
            low, high = values.min(2), values.max(2)
            width = np.maximum(high - low, 1e-9)[..., None]
            levels.append(np.rint((values - low[..., None]) / width * LEVELS).reshape(n, -1))
            moments.append(np.stack([values.mean(2), values.std(2), low, high], 2))
        flat = np.concatenate(moments, 1).astype(np.float32).reshape(n, -1)
        offsets = pa.array(np.arange(n + 1, dtype=np.int32) * flat.shape[1])
        rows = np.concatenate(levels, 1).astype("<u2")
        return pa.ListArray.from_arrays(offsets, pa.array(flat.ravel())), pa.array(
            [row.tobytes() for row in rows], pa.binary()
        )


def repeated(
    table: pa.Table, first: int, rows: int, random: np.random.Generator, sketches: Sketches | None
) -> pa.Table:
    """Rows `first` and on of the endless repetition of a table."""
    places = (first + np.arange(rows)) % table.num_rows
    picked = table.take(pa.array(places))
    moments, levels = sketches.blended(places, random) if sketches else (None, None)
    number = np.arange(first, first + rows, dtype=np.uint64)
    columns = []
    for name, column in zip(picked.column_names, picked.columns):
        if name == "episode":
            column = pa.array([str(n) for n in number])
        elif name == "index":
            column = pa.array(number)
        elif name == "content":
            column = pa.array(random.integers(1, 2**63, rows, dtype=np.uint64))
        elif name == "moments" and moments is not None:
            column = moments
        elif name == "levels" and levels is not None:
            column = levels
        elif "/" in name:
            values = column.to_numpy(zero_copy_only=False)
            values = values * (1 - 1e-3 * random.uniform(0, 1, rows))
            column = pa.array(values, from_pandas=True)
        columns.append(column.cast(picked.schema.field(name).type))
    return pa.table(columns, schema=picked.schema)


def main() -> None:
    """Command line."""
    small, large, episodes = sys.argv[1], sys.argv[2], int(sys.argv[3])
    # What the file says of the rig is under a key of its own, which a table does not take along.
    key = b"teleassay.scorecard"
    header = pq.read_metadata(small).metadata[key]
    table = pq.read_table(small).replace_schema_metadata({key: header})
    random = np.random.default_rng(1)
    sketches = None if "copies" in sys.argv[4:] else Sketches(table)
    dictionaries = [name for name in table.column_names if "/" not in name]
    with pq.ParquetWriter(
        large,
        table.schema,
        compression="zstd",
        use_dictionary=dictionaries,
        write_statistics=False,
    ) as writer:
        for first in range(0, episodes, GROUP):
            rows = min(GROUP, episodes - first)
            writer.write_table(repeated(table, first, rows, random, sketches), row_group_size=GROUP)


if __name__ == "__main__":
    main()
