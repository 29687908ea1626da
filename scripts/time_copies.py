"""Times `teleassay keep` against a plain DuckDB copy of the same rows, in one run, in turns.

    time_copies.py BINARY [EPISODES]

Whole processes of the tool; of DuckDB only the copy, without the start of Python. Both have two threads,
the same codec and the same rows. Medians of five turns. Exits 1 if the tool has less than 0.6 of DuckDB's
speed or takes more than 300 MB.
"""

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

FRAMES = 600
TURNS = 5
SPEED = 0.6
MEMORY_MB = 300

MAKE = """
import sys
import numpy as np, pyarrow as pa, pyarrow.parquet as pq
folder, episodes, frames, codec, one_each = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4], sys.argv[5] == "each"
rng = np.random.default_rng(1)

def table(first, count):
    rows = count * frames
    t = np.tile(np.arange(frames) / 30.0, count)
    def side(lag):
        step = np.float32(360 / 4096)
        values = np.stack([np.round(40 * np.sin((t - lag) * (0.7 + joint / 9)) / step) * step for joint in range(6)], axis=1)
        flat = pa.array(values.astype(np.float32).reshape(-1))
        return pa.ListArray.from_arrays(pa.array(np.arange(rows + 1, dtype=np.int32) * 6), flat)
    episode = np.repeat(np.arange(first, first + count), frames)
    stamps = episode * 100.0 + t + rng.normal(scale=3e-4, size=rows)
    task = pa.DictionaryArray.from_arrays(pa.array(np.zeros(rows, np.int32)), ["plug from tray to pot"])
    return pa.table({"episode": pa.array(episode), "time": pa.array(stamps), "task": task.dictionary_decode(),
                     "follower": side(0.08), "leader": side(0.0)})

if one_each:
    for first in range(episodes):
        pq.write_table(table(first, 1), f"{folder}/{first:06}.parquet", compression=codec)
else:
    part = 200
    for first in range(0, episodes, part):
        pq.write_table(table(first, min(part, episodes - first)), f"{folder}/part-{first:06}.parquet", compression=codec, row_group_size=100_000)
"""

DUCK = """
import sys, time, duckdb
source, to, codec, chosen = sys.argv[1], sys.argv[2], sys.argv[3], open(sys.argv[4]).read().split()
connection = duckdb.connect()
connection.execute("set threads = 2; set enable_progress_bar = false")
begun, used = time.perf_counter(), time.process_time()
connection.execute(f"copy (select * from read_parquet('{source}/*.parquet') where episode in ({','.join(chosen)})) to '{to}' (format parquet, codec '{codec}', row_group_size 100000)")
print(time.perf_counter() - begun, time.process_time() - used)
"""


def run(command):
    """Seconds on the wall and of the processor, peak memory in MB, and what a process printed."""
    with tempfile.TemporaryFile() as out:
        begun = time.perf_counter()
        child = subprocess.Popen([str(word) for word in command], stdout=out)
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - begun
        if os.waitstatus_to_exitcode(status) != 0:
            sys.exit(f"exit {os.waitstatus_to_exitcode(status)} from {command}")
        out.seek(0)
        used = usage.ru_utime + usage.ru_stime
        return seconds, used, usage.ru_maxrss * 1024 / 1e6, out.read().decode()


def compared(binary, root, name, episodes, codec, each):
    source, chosen = root / "source", root / "chosen.txt"
    shutil.rmtree(source, ignore_errors=True)
    source.mkdir()
    subprocess.run([sys.executable, "-c", MAKE, source, str(episodes), str(FRAMES), codec, each], check=True)
    kept = [n for n in range(episodes) if n % 5 != 2]
    chosen.write_text("\n".join(map(str, kept)) + "\n")
    # In a list, one file is one episode by its name, unless the column says which.
    ours, theirs, memory = [], [], 0
    for _ in range(TURNS):
        for path in [root / "copy", root / "duck.parquet"]:
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        keep = [binary, "keep", source, "--to", root / "copy", "--episodes", chosen, "--threads", "2", "--quiet"]
        seconds, used, peak, _ = run(keep)
        ours.append((seconds, used))
        memory = max(memory, peak)
        *_, printed = run([sys.executable, "-c", DUCK, source, root / "duck.parquet", codec, chosen])
        theirs.append(tuple(map(float, printed.split())))
    rows = json.loads((root / "copy" / "changes.json").read_text())["frames"]["kept"]
    assert rows == len(kept) * FRAMES, rows
    (wall, used), (their_wall, their_used) = (
        [statistics.median(turn[at] for turn in turns) for at in (0, 1)] for turns in (ours, theirs)
    )
    speed = their_wall / wall
    print(f"{name:30} {rows:8} rows  keep {wall:5.2f} s  DuckDB {their_wall:5.2f} s  {speed:5.2f} x  {memory:4.0f} MB"
          f"  processor {used:5.2f} s, {their_used:5.2f} s", flush=True)
    return speed >= SPEED and memory <= MEMORY_MB


def main():
    binary = Path(sys.argv[1]).resolve()
    episodes = int(sys.argv[2]) if len(sys.argv) > 2 else 2000
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        good = [
            compared(binary, root, "large files, snappy", episodes, "snappy", "many"),
            compared(binary, root, "large files, zstd", episodes, "zstd", "many"),
            compared(binary, root, "one file an episode, snappy", episodes, "snappy", "each"),
        ]
    if not all(good):
        sys.exit(f"missed: {SPEED} of DuckDB's speed, {MEMORY_MB} MB")


if __name__ == "__main__":
    main()
