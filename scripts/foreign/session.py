"""A session: its episodes, its profile, what is true of it; written as tables."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.feather as feather
import pyarrow.parquet as pq


@dataclass
class Fault:
    """What was done to an episode or a session."""

    fault: str
    joint: str | None = None
    span_s: tuple[float, float] | None = None
    size: float | None = None

    def as_json(self) -> dict:
        """For the answer key."""
        return {k: v for k, v in self.__dict__.items() if v is not None}


@dataclass
class Episode:
    """Columns of one episode: arrays of (n,), of (n, k) for lists, or dicts for structs."""

    columns: dict
    faults: list[Fault] = field(default_factory=list)

    @property
    def rows(self) -> int:
        """How many rows."""
        first = next(iter(self.columns.values()))
        while isinstance(first, dict):
            first = next(iter(first.values()))
        return len(first)


@dataclass
class Session:
    """All of a session."""

    kind: str
    seed: int
    rate_hz: float
    episodes: list[Episode] = field(default_factory=list)
    profile: str | None = None
    names: dict[str, list[str]] = field(default_factory=dict)  # of list columns
    faults: list[Fault] = field(default_factory=list)
    storage: str = "parquet"
    joints: list[str] = field(default_factory=list)  # of the answer key


def array(values, names: list[str] | None = None) -> pa.Array:
    """An Arrow array of scalars, lists or structs."""
    if isinstance(values, dict):
        parts = [array(v) for v in values.values()]
        return pa.StructArray.from_arrays(parts, names=list(values))
    values = np.ascontiguousarray(values)
    if values.ndim == 2:
        return pa.FixedSizeListArray.from_arrays(pa.array(values.ravel()), values.shape[1])
    return pa.array(values)


def table(session: Session, numbers: list[int]) -> pa.Table:
    """These episodes as one table."""
    columns: dict[str, list[pa.Array]] = {"episode": []}
    for number in numbers:
        episode = session.episodes[number]
        columns["episode"].append(pa.array(np.full(episode.rows, number, np.int64)))
        for name, values in episode.columns.items():
            columns.setdefault(name, []).append(array(values))
    fields, chunks = [], []
    for name, parts in columns.items():
        metadata = {"names": json.dumps(session.names[name])} if name in session.names else None
        chunk = pa.chunked_array(parts)
        fields.append(pa.field(name, chunk.type, metadata=metadata))
        chunks.append(chunk)
    return pa.Table.from_arrays(chunks, schema=pa.schema(fields))


def write(session: Session, folder: Path) -> None:
    """Tables, profile and answer key into a folder of its own."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*"):
        if old.is_file():
            old.unlink()
    numbers = list(range(len(session.episodes)))
    half = (len(numbers) + 1) // 2
    for part, some in enumerate([numbers[:half], numbers[half:]]):
        if not some:
            continue
        made = table(session, some)
        if session.storage == "arrow":
            feather.write_feather(made, str(folder / f"take-{part}.arrow"), compression="uncompressed")
        else:
            pq.write_table(made, folder / f"take-{part}.parquet", compression="zstd")
    if session.profile:
        (folder / "teleassay.toml").write_text(session.profile)
    truth = {
        "kind": session.kind,
        "seed": session.seed,
        "half": "tune" if session.seed % 2 == 0 else "report",
        "rate_hz": session.rate_hz,
        "names": session.joints,
        "faults": [fault.as_json() for fault in session.faults],
        "episodes": [[fault.as_json() for fault in e.faults] for e in session.episodes],
    }
    (folder / "truth.json").write_text(json.dumps(truth, indent=1))
