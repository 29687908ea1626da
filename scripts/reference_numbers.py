"""The figures of fixtures/real/expected.json, recomputed from the exported tables with numpy.

Used by `scripts/reference-data --check`. Conventions: std with ddof = 1; a gap is a step above
1.5 x the median step, and counts round(step / median) - 1 missing frames; lag is positive when the
measured signal comes after the commanded one.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq

GAP = 1.5
CLASSED_APART = "Multi_Models_"


def columns(path: Path) -> dict[str, np.ndarray]:
    """Every column of a table as an array."""
    table = pq.read_table(path)
    return {name: table[name].to_numpy() for name in table.column_names}


def stacked(table: dict[str, np.ndarray], prefix: str) -> np.ndarray:
    """The columns of one role, side by side."""
    return np.stack([v for k, v in table.items() if k.startswith(prefix)], axis=1)


def clock(time: np.ndarray) -> dict[str, object]:
    """Jumps of the clock, gaps and missing frames."""
    step = np.diff(time) * 1e3
    median = np.median(step)
    gap = step > GAP * median
    return {
        "rows": len(time), "duration_s": time[-1] - time[0],
        "mean_step_ms": step.mean(), "std_step_ms": step.std(ddof=1), "median_step_ms": median,
        "min_step_ms": step.min(), "max_step_ms": step.max(),
        "gaps": int(gap.sum()), "missing": int((np.round(step[gap] / median) - 1).sum()),
        "repeated_stamps": int((step == 0).sum()), "backward_stamps": int((step < 0).sum()),
    }


def longest_unchanged(signal: np.ndarray) -> int:
    """Frames in the longest run of equal values."""
    changes = np.flatnonzero(np.diff(signal) != 0)
    return int(np.diff(np.concatenate([[-1], changes, [len(signal) - 1]])).max())


def correlation_lag(leader: np.ndarray, follower: np.ndarray, search: int = 60) -> tuple[float, float]:
    """Lag in frames by correlation over the overlap of each shift, refined by a parabola."""
    frames = len(leader)
    found = np.array([
        np.corrcoef(leader[max(0, -k):frames - max(0, k)], follower[max(0, k):frames - max(0, -k)])[0, 1]
        for k in range(-search, search + 1)
    ])
    best = int(found.argmax())
    a, b, c = found[best - 1:best + 2]
    return best - search + 0.5 * (a - c) / (a - 2 * b + c), found[best]


def arm(folder: Path) -> dict[str, object]:
    """The arm log and the lag of its velocity filter."""
    log, lag = columns(folder / "arm-log.parquet"), columns(folder / "arm-lag.parquet")
    velocity, ratio = stacked(lag, "follower_"), stacked(lag, "leader_")
    lags = [correlation_lag(q, v) for q, v in zip(ratio.T, velocity.T)]
    # The table of the filter lacks the log's first row, so the publisher's row numbers move by one.
    moving = slice(921 - 1, 6791 - 1)
    fitted = [np.linalg.lstsq(np.stack([v[:-1], q[1:]], axis=1), v[1:], rcond=None)[0][0]
              for q, v in zip(ratio.T, velocity.T)]
    return {
        **clock(log["time_s"]),
        "rms_velocity_before_rad_per_s": float(np.sqrt((velocity[:moving.start] ** 2).mean())),
        "rms_velocity_in_rad_per_s": float(np.sqrt((velocity[moving] ** 2).mean())),
        "rms_velocity_after_rad_per_s": float(np.sqrt((velocity[moving.stop:] ** 2).mean())),
        "longest_unchanged_frames": [longest_unchanged(s) for s in stacked(log, "position_").T],
        "filter_coefficient": fitted,
        "lag_frames": [frames for frames, _ in lags],
        "lag_correlation": [r for _, r in lags],
    }


def flight(folder: Path, name: str) -> dict[str, object]:
    """A flight log's clock, and its own counter of rejected writes next to the long gaps."""
    table = columns(folder / f"{name}.parquet")
    time = table["time_s"]
    step = np.diff(time)
    signals = np.concatenate([stacked(table, "follower_"), stacked(table, "leader_")], axis=1)
    long = np.flatnonzero(step > 0.2)
    steps = json.loads((folder / f"{name}-counter.json").read_text())["steps"]
    near_gap = [any(s["after_s"] - 1 <= time[i] and time[i + 1] <= s["time_s"] + 1 for i in long) for s in steps]
    return {
        **clock(time),
        "rows_as_before": int((np.diff(signals, axis=0) == 0).all(axis=1).sum()),
        "invented_by_duration_over_median": int(np.round((time[-1] - time[0]) / np.median(step)) + 1 - len(time)),
        "long_gap_ms": [float(step[i] * 1e3) for i in long],
        "long_gap_frames": [[int(i), int(i + 1)] for i in long],
        "long_gap_start_s": [float(time[i]) for i in long],
        "counter_steps": [s["rejected"] for s in steps],
        "counter_steps_beside_a_long_gap": int(sum(near_gap)),
    }


def handwriting(folder: Path) -> dict[str, object]:
    """Durations, evenness of the stamps, and planted intruders found by distance to the median path."""
    paths, durations, step_std, ends, repeats = {}, [], [], [], 0
    for file in sorted((folder / "handwriting").glob("*.parquet")):
        table = columns(file)
        count = int(table["episode"].max()) + 1
        time = table["time_s"].reshape(count, -1)
        path = stacked(table, "follower_").reshape(count, -1, 2)
        step = np.diff(time, axis=1)
        durations += list(time[:, -1] - time[:, 0])
        step_std += list(step.std(axis=1) / step.mean(axis=1))
        ends += list(np.abs(path[:, -1]).max(axis=1))
        repeats += sum(bool((a == b).all()) for i, a in enumerate(path) for b in path[i + 1:])
        paths[file.stem] = path

    def distance(sets: np.ndarray) -> np.ndarray:
        median = np.median(sets, axis=-3, keepdims=True)
        return np.linalg.norm(sets - median, axis=-1).mean(axis=-1)

    def robust_z(values: np.ndarray) -> np.ndarray:
        off = values - np.median(values, axis=-1, keepdims=True)
        return off / (1.4826 * np.median(np.abs(off), axis=-1, keepdims=True))

    # Every tenth sample: the paths are smooth, and the counts below do not change with all of them.
    single = {name: path[:, ::10] for name, path in paths.items() if not name.startswith(CLASSED_APART)}
    first = flagged = sets = 0
    for name, own in single.items():
        others = np.concatenate([path for other, path in single.items() if other != name])
        mixed = np.concatenate([np.broadcast_to(own, (len(others), *own.shape)), others[:, None]], axis=1)
        far = distance(mixed)
        sets += len(others)
        first += int((far.argmax(axis=1) == len(own)).sum())
        flagged += int((robust_z(far)[:, -1] > 3.5).sum())
    return {
        "patterns": len(paths), "demonstrations": len(durations),
        "shortest_s": min(durations), "longest_s": max(durations),
        "step_spread_below_7e_14": bool(max(step_std) < 7e-14),
        "farthest_end_from_origin": float(max(ends)), "repeated_demonstrations": repeats,
        "intruder_sets": sets, "intruder_first": first, "intruder_flagged": flagged,
        "clean_flagged": int(sum((robust_z(distance(own)) > 3.5).sum() for own in single.values())),
    }


def check(folder: Path, expected: Path) -> bool:
    """Recomputes every figure of expected.json and says which ones differ by more than is allowed."""
    found = {"arm": arm(folder), "flight-1": flight(folder, "flight-1"),
             "flight-2": flight(folder, "flight-2"), "handwriting": handwriting(folder)}
    wrong = total = 0
    for recording, figures in json.loads(expected.read_text()).items():
        for name, figure in figures.items():
            total += 1
            have, want = np.asarray(found[recording][name], float), np.asarray(figure["value"], float)
            if have.shape != want.shape or np.abs(have - want).max(initial=0) > figure["within"]:
                wrong += 1
                print(f"reference-data: {recording} {name}: expected {figure['value']} "
                      f"within {figure['within']}, found {found[recording][name]}", file=sys.stderr)
    print(f"reference-data: {total - wrong} of {total} figures reproduced", file=sys.stderr)
    return wrong == 0
