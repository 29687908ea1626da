"""Damages files at random and counts how the tool takes them. See scripts/mutate."""

import argparse
import collections
import json
import multiprocessing
import os
import pathlib
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time

import pyarrow as pa
import pyarrow.parquet

import bases
import mutators

BATCH = 25
HANG_S = 10
MEMORY = 1 << 30
CAP = 1_500_000_000
# Codes that are an answer.
ANSWERS = {0, 1, 2, 3}
BAD = ("abort", "hang", "memory", "internal", "changed", "unnamed", "wordy", "refused")
GOOD = ("read", "partly", "unread")
# These compare episodes with each other, so another file may change them.
COMPARED = {"duplicate-episode", "outlier-episode", "missing-grasp", "start-pose", "path-outlier", "duration-outlier", "motion-outlier", "contact-outlier",
            "stick-slip-outlier", "constant-dimension", "mixed-endings", "mixed-speeds", "session-drift", "coverage", "action-consistency"}


class Ended:
    """How one run ended."""

    def __init__(self, words, err):
        began = time.monotonic()
        limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (CAP, CAP))  # noqa: E731
        child = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=err, preexec_fn=limit)
        self.hung = False
        while True:
            pid, status, usage = os.wait4(child.pid, os.WNOHANG)
            if pid:
                break
            if time.monotonic() - began > HANG_S:
                self.hung = True
                os.kill(child.pid, signal.SIGKILL)
            time.sleep(0.002)
        child.returncode = os.waitstatus_to_exitcode(status)
        self.code, self.memory, self.seconds = child.returncode, usage.ru_maxrss * 1024, time.monotonic() - began

    def fault(self):
        if self.hung:
            return "hang"
        if self.code == 70:
            return "internal"
        if self.code not in ANSWERS:
            return "abort"
        return "memory" if self.memory > MEMORY else None


def wordy(text):
    """Whether a message repeats too much of what was in the file, or has signs that steer a terminal."""
    return len(text) > 600 or any(ord(sign) < 32 or ord(sign) == 127 for sign in text)


def readings(episode):
    return [(r["check"], r["metric"], r["joint"], r["value"]) for r in episode["readings"] if r["check"] not in COMPARED]


class Worker:
    """Runs batches of one kind in a folder of its own."""

    def __init__(self, args):
        self.args = args
        self.folder = pathlib.Path(tempfile.mkdtemp(dir=args.work))
        self.known = {}
        # Whether the rig is that of sound files: else the damaged ones are surveyed, too.
        self.sound = True

    def words(self, kind, path):
        profile = f"--profile={pathlib.Path(self.args.work) / 'base' / 'demo' / 'teleassay.toml'}"
        common = ["--quiet", "--no-progress", "--fail-on=never", "--threads=2", "--json-detail=full", f"--out-json={self.folder / 'out.json'}"]
        good = str(pathlib.Path(self.args.work) / "base" / "parquet-lists" / "good")
        match kind.how:
            case "folder" if not self.sound:
                return ["audit", str(path), *common]
            case "folder":
                return ["audit", str(path), profile, f"--rig={kind.rig}", *common]
            case "judge":
                return ["judge", str(path), *[word for word in common if "threads" not in word]]
            case "rig" | "baseline":
                return ["audit", good, profile, f"--{kind.how}={path}", *common]
            case "profile" | "urdf":
                return ["audit", good, f"--{kind.how}={path}", *common]

    def run(self, kind, path):
        out, err = self.folder / "out.json", self.folder / "err.txt"
        out.unlink(missing_ok=True)
        with open(err, "wb") as file:
            ended = Ended([self.args.binary, *self.words(kind, path)], file)
        said = err.read_bytes().decode("utf-8", "replace")
        report = None
        if out.exists():
            text = out.read_text()
            report = json.loads(text)
            if "internal fault" in text:
                # A check that panicked is left out and named; it is a fault all the same.
                ended.code = 70
        return ended, said, report

    def judged(self, kind, folder, files):
        """The outcome of each file of a folder; None where one of them ended the run."""
        ended, said, report = self.run(kind, folder)
        fault = ended.fault()
        if fault:
            return None, fault
        if report is None:
            return None, "refused"
        good = {e["source"]["path"].rsplit("/", 1)[1]: readings(e) for e in report["episodes"] if "/a-" in e["source"]["path"] or "/b-" in e["source"]["path"]}
        if kind.name not in self.known:
            self.known[kind.name] = self.alone(kind)
        if self.sound and good != self.known[kind.name]:
            return None, "changed"
        seen = {pathlib.Path(e["path"]).name for e in report["inputs"]}
        lost = collections.defaultdict(list)
        for entry in report["unread"] + report["different_columns"]:
            lost[pathlib.Path(entry["path"]).name].append(entry.get("reason", ""))
        outcomes = {}
        for file in files:
            reasons = lost.get(file.name, [])
            if any(wordy(reason) for reason in reasons):
                outcomes[file] = "wordy"
            elif reasons:
                outcomes[file] = "partly" if file.name in seen else "unread"
            else:
                outcomes[file] = "read" if file.name in seen else "unnamed"
        return outcomes, None

    def alone(self, kind):
        """Readings of the sound files with no others in the folder."""
        self.sound, before = True, self.sound
        report = self.run(kind, kind.good)[2]
        self.sound = before
        return {pathlib.Path(e["source"]["path"]).name: readings(e) for e in report["episodes"]}

    def folder_batch(self, kind, files):
        folder = self.folder / "session"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(kind.good, folder)
        for name, data in files:
            (folder / name).write_bytes(data)
        paths = [folder / name for name, _ in files]
        outcomes, fault = self.judged(kind, folder, paths)
        if outcomes is not None:
            return {path.name: outcome for path, outcome in outcomes.items()}
        if len(files) == 1:
            return {files[0][0]: fault}
        half = len(files) // 2
        return self.folder_batch(kind, files[:half]) | self.folder_batch(kind, files[half:])

    def single(self, kind, name, data):
        path = self.folder / name
        path.write_bytes(data)
        ended, said, report = self.run(kind, path)
        path.unlink()
        fault = ended.fault()
        if fault:
            return fault
        errors = [line for line in said.splitlines() if line.startswith("error: ")]
        if any(wordy(line.replace("\t", " ")) for line in said.splitlines()) or len(said.splitlines()) > 12:
            return "wordy"
        if ended.code in (2, 3):
            return "unread" if len(errors) == 1 and name in errors[0] else "unnamed"
        return "read"

    def batch(self, kind, number, count):
        rng = random.Random(f"{self.args.seed}/{kind.name}/{number}")
        base = sorted(kind.base.iterdir())
        self.sound = number % 3 < 2
        files = []
        for at in range(count):
            source = rng.choice(base)
            data = source.read_bytes()
            if kind.how in ("judge", "rig", "baseline") and rng.random() < 0.5:
                data = restated(rng, source)
            elif kind.text and source.suffix not in (".gz", ".zst"):
                data = mutators.reworded(rng, data)
            else:
                data = mutators.damaged(rng, data)
            stem, _, ending = source.name.partition(".")
            files.append((f"z-{number}-{at}-{stem}.{ending}", data))
        if kind.how == "folder":
            outcomes = self.folder_batch(kind, files)
        else:
            outcomes = {name: self.single(kind, name, data) for name, data in files}
        for name, data in files:
            if outcomes[name] in BAD:
                kept = pathlib.Path(self.args.work) / "kept" / kind.name / outcomes[name]
                kept.mkdir(parents=True, exist_ok=True)
                (kept / name).write_bytes(data)
        return kind.name, collections.Counter(outcomes.values())


def restated(rng, source):
    """A measurements file whose header is damaged as text, or whose values are; the table is sound."""
    table = pa.parquet.read_table(source)
    meta = dict(pa.parquet.read_metadata(source).metadata)
    if rng.random() < 0.7:
        key = rng.choice([key for key in meta if key.startswith(b"teleassay")])
        meta[key] = mutators.reworded(rng, meta[key])
    else:
        for _ in range(rng.choice([1, 3, 20])):
            at = rng.randrange(table.num_columns)
            field, odd = table.schema.field(at), None
            if pa.types.is_floating(field.type):
                odd = rng.choice([float("nan"), float("inf"), -float("inf"), 1e308, -1e308, 1e-320, 0.0, -1.0])
            elif pa.types.is_integer(field.type):
                odd = rng.choice([0, 1, 2**31, 2**32 - 1] + ([2**63, 2**64 - 1] if field.type == pa.uint64() else []))
            elif pa.types.is_string(field.type):
                odd = rng.choice(["", "\x1b[31m", "x" * 100_000, "\u202e", "0"])
            elif pa.types.is_binary(field.type):
                odd = rng.randbytes(rng.choice([0, 1, 1000]))
            if odd is not None:
                table = table.set_column(at, field, pa.array([odd] * table.num_rows, field.type))
    meta.pop(b"ARROW:schema", None)
    if rng.random() < 0.7:
        meta.pop(b"teleassay.sums", None)
    sink = pa.BufferOutputStream()
    pa.parquet.write_table(table.replace_schema_metadata(meta), sink)
    return sink.getvalue().to_pybytes()


def work(task):
    args, kind, number, count = task
    global WORKER
    if WORKER is None:
        WORKER = Worker(args)
    return WORKER.batch(kind, number, count)


WORKER = None


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--count", type=int, default=50_000)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--kinds", default="")
    parser.add_argument("--work")
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    parser.add_argument("--list", action="store_true")
    args = parser.parse_args()
    args.binary = os.path.abspath(args.binary)
    args.work = os.path.abspath(args.work or tempfile.mkdtemp(prefix="teleassay-mutate-"))
    os.makedirs(args.work, exist_ok=True)
    kinds = bases.make(args.binary, pathlib.Path(args.work) / "base")
    if args.list:
        print("\n".join(kind.name for kind in kinds))
        return 0
    names = args.kinds.split(",") if args.kinds else []
    kinds = [kind for kind in kinds if not names or any(kind.name.startswith(name) for name in names)]
    # A run of a folder takes many files; of a profile one. Three quarters of all are tables.
    weights = {kind.name: 4 if kind.how == "folder" else 1 for kind in kinds}
    share = args.count / sum(weights.values())
    tasks = []
    for kind in kinds:
        left, number = round(share * weights[kind.name]), 0
        while left > 0:
            tasks.append((args, kind, number, min(BATCH, left)))
            left, number = left - BATCH, number + 1
    random.Random(0).shuffle(tasks)
    total = collections.defaultdict(collections.Counter)
    with multiprocessing.Pool(args.jobs) as pool:
        for name, outcomes in pool.imap_unordered(work, tasks):
            total[name] += outcomes
    heads = ("files", *GOOD, *BAD)
    print(f"{'kind':22}" + "".join(f"{head:>9}" for head in heads))
    every = collections.Counter()
    for name, outcomes in sorted(total.items()):
        every += outcomes
        print(f"{name:22}{outcomes.total():9}" + "".join(f"{outcomes[head]:9}" for head in heads[1:]))
    print(f"{'all':22}{every.total():9}" + "".join(f"{every[head]:9}" for head in heads[1:]))
    bad = sum(every[head] for head in BAD)
    if bad:
        print(f"{bad} files in {args.work}/kept")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
