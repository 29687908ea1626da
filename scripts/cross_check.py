"""The five core measurements in numpy and scipy, written apart from the tool.

Dropped frames and gaps, time stamp jitter, dwelling at a limit, tracking lag, aligned tracking
error: per episode and joint, from Parquet, to JSON. It serves two ends: tests hold the tool's
readings against these (compare_readings.py), and scripts/bench times it next to the tool, with a
process pool. So the maths is vectorised, and the search for the lag goes through the FFT.

    cross_check.py PATH... [--profile FILE] [--processes N] [--out FILE | --quiet]

PATH is a Parquet file or a folder of them. The profile is the tool's own (columns and rig); without
one, columns named episode, time..., follower..., leader... are looked for. A file without an episode
column is one episode. Rows of an episode must be in one file and in order.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pyarrow.parquet as pq

from cross_check_measures import measure
from cross_check_table import Part, Rig, episodes, needed, survey, understand


def work(job: tuple[Rig, list[tuple[Path, int]]]) -> list[tuple[Path, int, list]]:
    """Measures row groups. An episode that may go on in the next group is handed back as it is."""
    rig, groups = job
    done = []
    for file, group in groups:
        reader = pq.ParquetFile(file)
        table = reader.read_row_group(group, columns=needed(rig), use_threads=False)
        parts, last = episodes(table, rig, file.stem), reader.num_row_groups - 1
        done.append((file, group, [
            part if (i == 0 and group > 0) or (i == len(parts) - 1 and group < last) else measure(part, rig)
            for i, part in enumerate(parts)
        ]))
    return done


def run(paths: list[Path], profile: dict, processes: int) -> dict:
    """Measures every episode, in the order of the dataset."""
    files = [f for p in paths for f in (sorted(p.rglob("*.parquet")) if p.is_dir() else [p])]
    if not files:
        sys.exit("cross_check: no Parquet file there")
    rig = survey(understand(pq.read_schema(files[0]), profile), profile, files)
    groups = [(f, g) for f in files for g in range(pq.ParquetFile(f).num_row_groups)]
    size = max(1, min(32, len(groups) // (4 * processes)))
    jobs = [(rig, groups[i:i + size]) for i in range(0, len(groups), size)]
    if processes > 1:
        with ProcessPoolExecutor(processes) as pool:
            answers = list(pool.map(work, jobs))
    else:
        answers = [work(job) for job in jobs]
    cards, open_part, open_file = [], None, None
    for file, _, parts in (answer for job in answers for answer in job):
        for part in parts:
            joins = isinstance(part, Part) and open_part and file == open_file and part.name == open_part.name
            if joins:
                open_part = open_part.join(part)
                continue
            if open_part:
                cards.append(measure(open_part, rig))
            open_part, open_file = (part, file) if isinstance(part, Part) else (None, None)
            if not open_part:
                cards.append(part)
    if open_part:
        cards.append(measure(open_part, rig))
    return {"schema": "cross-check/1", "period_s": rig.period_s, "joints": rig.joints, "episodes": cards}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("paths", nargs="+", type=Path)
    parser.add_argument("--profile", type=Path)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--out", type=Path, help="write JSON here (else to standard output)")
    parser.add_argument("--quiet", action="store_true", help="measure, say how many readings, write nothing")
    options = parser.parse_args()
    profile = tomllib.loads(options.profile.read_text()) if options.profile else {}
    result = run(options.paths, profile, options.processes)
    if options.quiet:
        print(f"{sum(len(e['readings']) for e in result['episodes'])} readings of {len(result['episodes'])} episodes")
        return 0
    text = json.dumps(result) + "\n"
    if options.out:
        options.out.write_text(text)
    else:
        sys.stdout.write(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
