"""Makes tables out of the demonstration, all in one folder that holds it as `nursery` and, with another
seed, as `tuesday`:

- `hostile.parquet`, whose episodes have hostile names;
- `many.parquet`, of 10,000 episodes;
- `tuesday` itself, with the elbow of its follower off by four degrees;
- `damaged`, the demonstration with the data of its middle file destroyed, and `first.json`, where the
  first joint of each episode begins in degrees;
- `hostile` and a folder of a hostile name, two sessions with hostile names of joints and tasks.
"""

import json
import shutil
import sys
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

HOSTILE = [
    "</script><script>document.title='owned'</script>",
    "\"quotes\" & 'more' <b>bold</b>",
    "control\x07\x1b[31m\x00 characters",
    "long " + "x" * 300,
    "=1+1",
    "--> <!-- {{ sentence }}",
]
EPISODES = 10_000
ELBOW = 2
OFF_DEG = 4.0
FOLDERS = ["hostile", "<img src=x onerror=document.title='owned'>"]
JOINTS = [
    "</style><script>document.title='owned'</script>",
    "<b>shoulder</b>",
    "elbow\" onfocus=\"document.title='owned'",
    "{{ sentence }}",
    "wrist roll " + "x" * 200,
    "jaw",
]
TASKS = ["</h3><b>task</b>", "<b>other</b>"]


def read(folder):
    return pa.concat_tables([pq.read_table(p) for p in sorted(Path(folder).glob("*.parquet"))])


def replaced(table, name, column):
    return table.set_column(table.column_names.index(name), name, column)


def shift(path):
    """Puts the follower's elbow off."""
    table = pq.read_table(path)
    lists = table["follower"].combine_chunks()
    joints = len(lists.values) // len(lists)
    values = lists.values.to_numpy().reshape(-1, joints).copy()
    values[:, ELBOW] += OFF_DEG
    moved = pa.ListArray.from_arrays(lists.offsets, pa.array(values.reshape(-1), lists.values.type))
    pq.write_table(replaced(table, "follower", moved), path)


def hostile_session(table, folder, tasks):
    """A session whose joints and tasks have hostile names; every other episode is of the last task."""
    folder.mkdir()
    place = pc.index_in(table["episode"], value_set=pc.unique(table["episode"])).combine_chunks()
    names = [tasks[at % len(tasks)] for at in place.to_pylist()]
    pq.write_table(replaced(table, "task", pa.array(names)), folder / "part-0.parquet")
    joints = "".join(f"[[rig.joints]]\nname = {json.dumps(name)}\n" for name in JOINTS)
    profile = f'[rig]\nrate_hz = 30.0\nunit = "deg"\n{joints}gripper = true\n'
    (folder / "teleassay.toml").write_text(profile)


def damage(source, folder):
    """Copies a session; the middle one of its three files keeps its footer and loses its data."""
    shutil.copytree(source, folder)
    path = folder / "part-1.parquet"
    data = bytearray(path.read_bytes())
    data[len(data) // 4 : len(data) // 4 + 2000] = bytes(2000)
    path.write_bytes(data)


def beginnings(table, path):
    """Writes where the first joint of each episode's follower begins and how many frames it has."""
    said = {}
    for name, values in zip(table["episode"].to_pylist(), table["follower"].to_pylist()):
        said.setdefault(str(name), {"first": values[0], "frames": 0})["frames"] += 1
    path.write_text(json.dumps(said))


def main(work):
    work = Path(work)
    table = read(work / "nursery")
    ids = pc.unique(table["episode"])

    chosen = table.filter(pc.is_in(table["episode"], value_set=ids.slice(0, len(HOSTILE))))
    place = pc.index_in(chosen["episode"], value_set=ids)
    names = pa.array(HOSTILE).take(place.combine_chunks())
    pq.write_table(replaced(chosen, "episode", names), work / "hostile.parquet")

    place = pc.cast(pc.index_in(table["episode"], value_set=ids), pa.int64())
    schema = replaced(table, "episode", place).schema
    with pq.ParquetWriter(work / "many.parquet", schema) as writer:
        for copy in range(-(-EPISODES // len(ids))):
            part = replaced(table, "episode", pc.add(place, copy * len(ids)))
            writer.write_table(part.filter(pc.less(part["episode"], EPISODES)))

    damage(work / "nursery", work / "damaged")
    beginnings(table, work / "first.json")
    for path in sorted((work / "tuesday").glob("*.parquet")):
        shift(path)
    hostile_session(table, work / FOLDERS[0], TASKS[:1])
    hostile_session(read(work / "tuesday"), work / FOLDERS[1], TASKS)


main(*sys.argv[1:])
