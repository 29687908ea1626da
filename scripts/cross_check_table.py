"""Tables for cross_check.py: which columns play which role, the rig, and the table cut into episodes."""

from __future__ import annotations

import fnmatch
import math
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

SMALLEST_COUNT_RAD = 0.0005
"""One count of the encoder is taken as at least this."""


@dataclass(frozen=True)
class Rig:
    """What the table holds and what is known of the machine."""

    episode: str | None
    time: str
    time_scale: float
    state: list[str]
    action: list[str]
    scale: list[float] = field(default_factory=list)
    """What a stored value is multiplied by to give radians (metres), per joint."""
    joints: list[str] = field(default_factory=list)
    grippers: list[bool] = field(default_factory=list)
    lower: np.ndarray | None = None
    upper: np.ndarray | None = None
    declared: np.ndarray | None = None
    """Whether lower and upper were declared, per joint."""
    count: np.ndarray | None = None
    period_s: float = 0.0


def expand(patterns: list[str], names: list[str]) -> list[str]:
    """Columns that match, in the order of the table."""
    return [n for p in patterns for n in names if fnmatch.fnmatchcase(n, p)]


def understand(schema: pa.Schema, profile: dict) -> Rig:
    """Which column plays which role: as the profile says, else by the trade's plain words."""
    said, names = profile.get("columns", {}), schema.names

    def starting(word: str) -> list[str]:
        return [n for n in names if n.lower().startswith(word)]

    state = expand(said.get("state", []), names) or starting("follower")
    action = expand(said.get("action", []), names) or starting("leader")
    time = said.get("time") or next(iter(starting("time") or starting("stamp")), None)
    if time is None or not state:
        sys.exit("cross_check: no time or follower column; name them in a profile")
    units = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}
    kind = schema.field(time).type
    unit = kind.unit if pa.types.is_timestamp(kind) else said.get("time_unit", "s")
    episode = said.get("episode") or next(iter(starting("episode") or starting("run")), None)
    return Rig(episode, time, units[unit], state, action)


def survey(rig: Rig, profile: dict, files: list[Path]) -> Rig:
    """Joint names, limits, smallest step of the encoder and frame period, from data and profile."""
    said = profile.get("rig", {})
    first = pq.ParquetFile(files[0]).read_row_group(0, columns=needed(rig))
    values = matrix(first, rig.state)
    width = values.shape[1]
    declared = said.get("joints", [])
    declared = declared if len(declared) == width else [{}] * width
    kind = first.schema.field(rig.state[0]).type
    if pa.types.is_struct(kind):
        seen = [kind.field(i).name for i in range(width)]
    elif len(rig.state) == width > 1:
        start = len(common_start(rig.state))
        seen = [n[start:] for n in rig.state]
    else:
        seen = [f"j{i}" for i in range(width)]
    names = [j.get("name", n) for j, n in zip(declared, seen)]
    to_rad = {"rad": 1.0, "deg": math.pi / 180, "counts": math.tau / said.get("counts_per_turn", 4096)}
    scale = [1.0 if j.get("linear") else to_rad[said.get("unit", "rad")] for j in declared]

    # The extremes seen stand in for limits that were not declared.
    lower, upper = np.full(width, np.inf), np.full(width, -np.inf)
    for file in [] if all("lower" in j and "upper" in j for j in declared) else files:
        reader = pq.ParquetFile(file)
        for group in range(reader.num_row_groups):
            values = matrix(reader.read_row_group(group, columns=rig.state), rig.state)
            lower = np.fmin(lower, np.nanmin(values, axis=0))
            upper = np.fmax(upper, np.nanmax(values, axis=0))
    scales = np.array(scale)
    lower, upper = lower * scales, upper * scales
    values = matrix(first, rig.state)[:20_000] * scales
    steps = np.abs(np.diff(values, axis=0))
    # One count: a small step among those that are no rounding of the stored number.
    moved = [column[column > 1e-6] for column in steps.T]
    count = np.array([np.percentile(column, 5) if len(column) else 0.0 for column in moved])
    rate = said.get("rate_hz")
    medians = [np.median(np.diff(part.time)) for part in episodes(first, rig, "") if len(part.time) > 1]
    return replace(
        rig, scale=scale, joints=names,
        grippers=[j.get("gripper", False) for j in declared],
        lower=np.array([j["lower"] * k if "lower" in j else lo for j, k, lo in zip(declared, scale, lower)]),
        upper=np.array([j["upper"] * k if "upper" in j else up for j, k, up in zip(declared, scale, upper)]),
        declared=np.array([["lower" in j, "upper" in j] for j in declared]).reshape(-1, 2),
        count=np.maximum(count, SMALLEST_COUNT_RAD), period_s=1 / rate if rate else float(np.median(medians)),
    )


def common_start(names: list[str]) -> str:
    """The prefix that scalar columns of one role share, up to its last underscore."""
    first, last = min(names), max(names)
    same = next((i for i, (a, b) in enumerate(zip(first, last)) if a != b), len(first))
    return first[:first.rfind("_", 0, same) + 1]


def needed(rig: Rig) -> list[str]:
    """The columns to read, and no others."""
    return [*([rig.episode] if rig.episode else []), rig.time, *rig.state, *rig.action]


def matrix(table: pa.Table, columns: list[str]) -> np.ndarray:
    """Frames x joints, whatever the shape of the column; what is missing is NaN."""
    if len(columns) > 1:
        return np.stack([table[c].to_numpy().astype(float) for c in columns], axis=1)
    column = table[columns[0]].combine_chunks()
    if isinstance(column, pa.ChunkedArray):
        column = pa.concat_arrays(column.chunks) if column.num_chunks else pa.array([], column.type)
    if pa.types.is_struct(column.type):
        return np.stack([c.to_numpy(zero_copy_only=False).astype(float) for c in column.flatten()], axis=1)
    if not pa.types.is_nested(column.type):
        return column.to_numpy(zero_copy_only=False).astype(float)[:, None]
    flat = column.flatten()
    width = len(flat) // max(len(column), 1)
    even = column.null_count == 0 and width * len(column) == len(flat)
    if even and not pa.types.is_fixed_size_list(column.type):
        lengths = pc.min_max(pc.list_value_length(column)).as_py()
        even = lengths["min"] == lengths["max"]
    if even:
        return flat.to_numpy(zero_copy_only=False).astype(float).reshape(-1, width)
    rows = column.to_pylist()
    width = max((len(r) for r in rows if r), default=0)
    whole = np.full((len(rows), width), np.nan)
    for i, row in enumerate(rows):
        whole[i, :len(row or [])] = [np.nan if v is None else v for v in row or []]
    return whole


@dataclass
class Part:
    """An episode, or the piece of one that a row group holds."""

    name: str
    time: np.ndarray
    state: np.ndarray
    action: np.ndarray | None

    def join(self, other: Part) -> Part:
        """This piece and the next one of the same episode."""
        action = None if self.action is None else np.concatenate([self.action, other.action])
        return Part(self.name, np.concatenate([self.time, other.time]),
                    np.concatenate([self.state, other.state]), action)


def episodes(table: pa.Table, rig: Rig, stem: str) -> list[Part]:
    """Cuts a table where the episode changes."""
    time = table[rig.time]
    if pa.types.is_timestamp(time.type):
        time = pc.cast(time, pa.int64())
    time = time.to_numpy().astype(float) * rig.time_scale
    scale = np.array(rig.scale) if rig.scale else 1.0
    state = matrix(table, rig.state) * scale
    action = matrix(table, rig.action) * scale if rig.action else None
    if rig.episode:
        ids = table[rig.episode].to_numpy()
        borders = [0, *(np.flatnonzero(ids[1:] != ids[:-1]) + 1), len(ids)]
    else:
        ids, borders = [stem], [0, len(time)]
    return [Part(str(ids[a]), time[a:b], state[a:b], None if action is None else action[a:b])
            for a, b in zip(borders, borders[1:]) if b > a]
