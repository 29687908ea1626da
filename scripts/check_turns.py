"""A copy by `teleassay keep --mend unwrap:JOINT` against numpy.unwrap: within an episode the steps of
the joint must be the same, values differ from the source by whole turns alone, and all else not at all.

usage: check_turns.py SOURCE COPY JOINT TURN
"""

import sys
from pathlib import Path

import numpy as np
import pyarrow as pa

from check_copies import bits, read

JOINTS = ["waist", "shoulder", "elbow", "wrist_pitch", "wrist_roll", "jaw"]


def table(folder):
    files = [path for path in sorted(folder.iterdir()) if path.suffix in (".parquet", ".arrow", ".arrows")]
    kinds = {".parquet": "parquet", ".arrow": "file", ".arrows": "stream"}
    return pa.concat_tables([read(path, kinds[path.suffix]).replace_schema_metadata() for path in files])


def joint(rows, side, name):
    """Values of a joint of one side: of a list, or of its own column."""
    if side in rows.column_names:
        values = rows.column(side).combine_chunks().flatten().to_numpy()
        return values.reshape(rows.num_rows, -1)[:, JOINTS.index(name)]
    named = [column for column in rows.column_names if column.startswith(side) and column.endswith(name)]
    return rows.column(named[0]).to_numpy()


def main():
    source, copy, name, turn = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], float(sys.argv[4])
    before, after = table(source), table(copy)
    assert before.num_rows == after.num_rows and before.schema.equals(after.schema)
    episodes = before.column("episode").to_numpy()
    sides = ["follower", "leader"]
    jumps = 0
    for side in sides:
        for other in JOINTS:
            old, new = joint(before, side, other), joint(after, side, other)
            if other != name:
                assert np.array_equal(old.view(np.uint32), new.view(np.uint32)), (side, other)
                continue
            turns = (new.astype(float) - old) / turn
            assert np.nanmax(np.abs(turns - np.round(turns))) < 1e-6, side
            for episode in np.unique(episodes):
                rows = episodes == episode
                wanted = np.diff(np.unwrap(old[rows].astype(float), period=turn))
                assert np.allclose(np.diff(new[rows].astype(float)), wanted, atol=1e-3), (side, episode)
                jumps += int((np.abs(np.diff(old[rows])) > turn / 2).sum())
        assert np.abs(joint(after, side, name) - joint(after, "follower", name)).max() < turn / 2
    for column in before.column_names:
        if not any(column.startswith(side) for side in sides):
            assert bits(before.column(column).combine_chunks()).equals(bits(after.column(column).combine_chunks()))
    assert jumps > 0, "there was nothing to unwrap"
    print(f"the turns agree: {jumps} jumps")


if __name__ == "__main__":
    main()
