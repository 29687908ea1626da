"""Times reading text by teleassay's reader and by polars: the same files, whole processes, in turns.

    time_text.py SCAN [EPISODES]

SCAN is the program that `cargo bench --features internals --no-run --bench scan` makes: it reads all
frames and measures nothing. polars reads all columns in two ways, as a table (`read_csv`) and as sums of a
streamed scan; the faster one counts, without the start of Python. Both have two threads. Medians of five
turns. Exits 1 if one CSV file is read at less than half of polars' speed.
"""

from __future__ import annotations

import gzip
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

TURNS = 5
SPEED = 0.5
CORES = 2

MAKE = """
import sys
sys.path.insert(0, sys.argv[3])
import bench_data as made, numpy as np, polars as pl
from pathlib import Path
folder, episodes = Path(sys.argv[1]), int(sys.argv[2])
time, follower, leader = made.simulate(np.random.default_rng(5), episodes)
names = ["waist", "shoulder", "elbow", "forearm", "wrist", "roll"]
columns = {"episode": np.repeat(np.arange(episodes), made.FRAMES), "time": time.ravel()}
for side, values in (("follower", follower), ("leader", leader)):
    for joint, name in enumerate(names):
        columns[f"{side}.{name}"] = values[:, :, joint].ravel()
table = pl.DataFrame(columns)
for form in ("csv", "jsonl", "files"):
    (folder / form).mkdir()
table.write_csv(folder / "csv" / "all.csv")
table.write_ndjson(folder / "jsonl" / "all.jsonl")
for number in range(episodes):
    table.filter(pl.col("episode") == number).drop("episode").write_csv(folder / "files" / f"{number:06}.csv")
"""

POLARS = """
import sys, time
import polars as pl
way, path = sys.argv[1], sys.argv[2]
lines = path.endswith(".jsonl")
begun = time.perf_counter()
if way == "table":
    rows = pl.read_ndjson(path).height if lines else pl.read_csv(path).height
else:
    scan = pl.scan_ndjson(path) if lines else pl.scan_csv(path)
    rows = scan.select(pl.len(), pl.all().sum().name.suffix(" sum")).collect(engine="streaming")["len"][0]
print(rows, time.perf_counter() - begun)
"""


def run(command: list[str | Path]) -> tuple[float, float, list[float]]:
    """Seconds on the wall, peak memory in MB, and the numbers that a process printed."""
    with tempfile.TemporaryFile() as out:
        begun = time.perf_counter()
        child = subprocess.Popen([str(word) for word in command], stdout=out)
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - begun
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode != 0:
            sys.exit(f"exit {child.returncode} from {command}")
        out.seek(0)
        return seconds, usage.ru_maxrss * 1024 / 1e6, [float(word) for word in out.read().split()]


def compared(scan: Path, name: str, path: Path, theirs: str, rows: int) -> float:
    """Speed of the scan as a multiple of that of polars."""
    ours, others, memory = [], {"table": [], "sums": []}, 0.0
    for _ in range(TURNS):
        seconds, peak, printed = run([scan, path])
        assert printed[0] == rows, (name, printed)
        ours.append(seconds)
        memory = max(memory, peak)
        for way, times in others.items():
            *_, printed = run([sys.executable, "-c", POLARS, way, theirs])
            assert printed[0] == rows, (name, way, printed)
            times.append(printed[1])
    wall = statistics.median(ours)
    best = {way: statistics.median(times) for way, times in others.items()}
    speed = min(best.values()) / wall
    print(f"{name:24} {rows / wall / 1e6:6.2f} M frames/s  {wall:6.3f} s  {memory:5.0f} MB   polars: table {best['table']:6.3f} s, "
          f"sums {best['sums']:6.3f} s   {speed:5.2f} x", flush=True)
    return speed


def main() -> None:
    scan = Path(sys.argv[1]).resolve()
    episodes = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    os.environ["POLARS_MAX_THREADS"] = str(CORES)
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:CORES])
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        subprocess.run([sys.executable, "-c", MAKE, root, str(episodes), Path(__file__).parent], check=True)
        text = root / "csv" / "all.csv"
        packed = root / "packed" / "all.csv.gz"
        packed.parent.mkdir()
        packed.write_bytes(gzip.compress(text.read_bytes(), 6))
        rows = episodes * 600
        print(f"{rows} frames, {text.stat().st_size / 1e6:.0f} MB of CSV")
        speed = compared(scan, "one CSV file", text, str(text), rows)
        compared(scan, "one CSV file, gzip", packed, str(packed), rows)
        compared(scan, "one CSV file an episode", root / "files", str(root / "files" / "*.csv"), rows)
        lines = root / "jsonl" / "all.jsonl"
        compared(scan, "one JSON Lines file", lines, str(lines), rows)
    if speed < SPEED:
        sys.exit(f"missed: one CSV file at {SPEED} of polars' speed")


if __name__ == "__main__":
    main()
