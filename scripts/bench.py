"""Times `teleassay audit`, plain scans of the same columns and the numpy/scipy version, in one run.

Run it through scripts/bench. Everything is a whole process, started in turn, several times over;
medians count. It ends with what is asked of the tool, and exits 1 if something is missed.

This process stays small on purpose (no numpy here): the peak memory of a child that the kernel
reports is never below what its parent held when it was started.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
REPO = HERE.parent
FRAMES = 600
# What the numpy version computes, and the checks that every dataset needs before all others.
BASIC = ("dropped-frames", "repeated-frames", "timestamp-jitter", "frame-rate", "non-monotonic-time", "clock-source",
         "missing-values", "limit-dwell", "dead-joint", "tracking-lag", "tracking-error", "outlier-episode")
CORES = 2
AUDIT = ("audit", "--fail-on", "never", "--quiet", "--threads", str(CORES))
EARLIER = ", earlier build"


def cache_folder() -> Path:
    """The cache of all scripts: TELEASSAY_CACHE, else ~/.cache/teleassay."""
    return Path(os.environ.get("TELEASSAY_CACHE") or Path.home() / ".cache" / "teleassay")


def build() -> Path:
    """The tool, built for release."""
    target = Path(os.environ.setdefault("CARGO_TARGET_DIR", str(cache_folder() / "target")))
    subprocess.run(["cargo", "build", "--release", "--quiet"], cwd=REPO, check=True)
    return target / "release" / "teleassay"


def benchmark(name: str) -> Path:
    """One of the programs in benches/, built for release."""
    made = subprocess.run(["cargo", "bench", "--features", "internals", "--no-run", "--quiet", "--bench", name, "--message-format=json"],
                          cwd=REPO, check=True, stdout=subprocess.PIPE, text=True).stdout
    built = (json.loads(line) for line in made.splitlines())
    return next(Path(b["executable"]) for b in built
                if b.get("executable") and b.get("target", {}).get("name") == name)


def data(episodes: int, files: int) -> Path:
    """The generated dataset, made once for each size and each version of its maker."""
    maker = HERE / "bench_data.py"
    made = hashlib.sha256(maker.read_bytes()).hexdigest()[:8]
    folder = cache_folder() / f"rows-{episodes}-{files}-{made}"
    if not (folder / ".complete").exists():
        print(f"making {folder} (once)", file=sys.stderr)
        shutil.rmtree(folder, ignore_errors=True)
        subprocess.run([sys.executable, maker, folder, str(episodes), str(files)], check=True)
    return folder


def audits(tool: Path, folder: Path) -> dict[str, list[str | Path]]:
    """The audits that are timed: basic and all checks, each on three forms of the data."""
    # An earlier build may have another name for one; it is then spared that check.
    known = (check for check in BASIC
             if subprocess.run([tool, "explain", check], capture_output=True, check=False).returncode == 0)
    basic = ",".join(known)
    audit = [tool, *AUDIT, "--profile", folder / "profile.toml"]
    forms = {"": "one", ", one episode a file": "files", ", ten times the data": "ten"}
    return {
        **{f"audit, basic checks{form}": [*audit, "--only", basic, folder / table] for form, table in forms.items()},
        **{f"audit, all checks{form}": [*audit, folder / table] for form, table in forms.items()},
    }


def interleaved(commands: dict, earlier: dict) -> dict:
    """The commands, each audit followed by that of the earlier build."""
    both = {}
    for name, command in commands.items():
        both[name] = command
        if name in earlier:
            both[name + EARLIER] = earlier[name]
    return both


def timed(command: list[str | Path], environment: dict[str, str]) -> tuple[float, float, str]:
    """Seconds on the wall, peak memory in MB (of the largest process), and standard output."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as errors:
        begun = time.perf_counter()
        child = subprocess.Popen([str(c) for c in command], stdin=subprocess.DEVNULL, stdout=out, stderr=errors,
                                 env=environment)
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - begun
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode != 0:
            errors.seek(0)
            sys.exit(f"scripts/bench: exit {child.returncode} from {' '.join(map(str, command))}\n{errors.read().decode()}")
        out.seek(0)
        return seconds, usage.ru_maxrss * 1024 / 1e6, out.read(4096).decode(errors="replace")


def machine() -> str:
    """Processor, cores used and memory, in words."""
    model = next((line.split(":")[1].strip() for line in Path("/proc/cpuinfo").read_text().splitlines()
                  if line.startswith("model name")), os.uname().machine)
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    return f"{model}, {CORES} cores used, {memory:.0f} GiB, Linux {os.uname().release.split('-')[0]}"


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/bench", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="a tenth of the data, three runs")
    parser.add_argument("--write", action="store_true", help="put the figures into benches/README.md")
    parser.add_argument("--tool", type=Path, help="a teleassay that is built already")
    parser.add_argument("--runs", type=int, help="how often each is started (default 7; 3 with --quick)")
    parser.add_argument("--against", type=Path, metavar="TOOL",
                        help="an earlier build: time its audits in the same turns, and ask for at most 3 %% more")
    options = parser.parse_args()
    episodes, files = (400, 400) if options.quick else (4000, 2000)
    runs = options.runs or (3 if options.quick else 7)

    tool, folder = options.tool or build(), data(episodes, files)
    scanner = benchmark("scan")
    # Two cores for everybody, also on larger machines; one thread for each process of the pool.
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:CORES])
    environment = {**os.environ, "POLARS_MAX_THREADS": str(CORES), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    profile = ["--profile", folder / "profile.toml"]
    def scan(library: str) -> list[str | Path]:
        return [sys.executable, HERE / "bench_scan.py", library, folder / "one"]

    commands = {
        **audits(tool, folder),
        "scan by our reader": [scanner, folder / "one"],
        "scan by pyarrow": scan("pyarrow"),
        "scan by polars": scan("polars"),
        "scan by DuckDB, to Arrow batches": scan("duckdb-arrow"),
        "scan by DuckDB, sums": scan("duckdb-sum"),
        "numpy/scipy, pool of 2": [sys.executable, HERE / "cross_check.py", folder / "one", *profile,
                                   "--processes", str(CORES), "--quiet"],
    }
    if options.against:
        commands = interleaved(commands, audits(options.against, folder))
    frames = {name: FRAMES * episodes for name in commands}
    for name in commands:
        if "one episode a file" in name:
            frames[name] = FRAMES * files
        elif "ten times the data" in name:
            frames[name] = 10 * FRAMES * episodes
    seconds, memory, inside = ({name: [] for name in commands} for _ in range(3))
    for turn in range(runs + 1):
        for name, command in commands.items():
            took, peak, said = timed(command, environment)
            if turn == 0:  # warms the page cache, and does not count
                continue
            seconds[name].append(took)
            memory[name].append(peak)
            if name.startswith("scan"):
                rows, without_start = said.split()
                assert int(rows) == frames[name], f"{name} saw {rows} rows"
                inside[name].append(float(without_start))

    median = {name: statistics.median(s) for name, s in seconds.items()}
    rate = {name: frames[name] / median[name] / 1e6 for name in commands}
    lines = ["| what | median s | min s | M frames/s | without start-up | peak MB |",
             "| --- | ---: | ---: | ---: | ---: | ---: |"]
    for name in commands:
        start = f"{statistics.median(inside[name]):.3f} s" if inside[name] else ""
        lines.append(f"| {name} | {median[name]:.3f} | {min(seconds[name]):.3f} | {rate[name]:.2f} | {start} "
                     f"| {max(memory[name]):.0f} |")

    ours, every = "audit, basic checks", "audit, all checks"
    duckdb = min((n for n in commands if "DuckDB" in n), key=median.__getitem__)
    ten = [max(memory[f"{name}, ten times the data"]) for name in (ours, every)]
    asked = [
        ("basic checks / faster DuckDB scan", median[ours] / median[duckdb], "at most", 1.5),
        ("numpy/scipy / basic checks", median["numpy/scipy, pool of 2"] / median[ours], "at least", 10),
        ("all checks / faster DuckDB scan", median[every] / median[duckdb], "at most", 3),
        ("peak MB", max(*memory[ours], *memory[every]), "at most", 200),
        ("peak MB, ten times the data", max(ten), "at most", 250),
        ("frames/s, basic checks, one episode a file / one table", rate[f"{ours}, one episode a file"] / rate[ours],
         "at least", 0.7),
    ]
    for name in commands:
        if name.endswith(EARLIER):
            now = name.removesuffix(EARLIER)
            # Both ran in the same turn, so what else the machine did affects both.
            turns = [ours / theirs for ours, theirs in zip(seconds[now], seconds[name])]
            asked.append((f"{now}: seconds, now / earlier build", statistics.median(turns), "at most", 1.03))
            asked.append((f"{now}: peak MB, now / earlier build", max(memory[now]) / max(memory[name]), "at most", 1.03))
    lines += ["", "| asked | found | limit | |", "| --- | ---: | ---: | --- |"]
    missed = 0
    for what, found, sense, limit in asked:
        met = found <= limit if sense == "at most" else found >= limit
        missed += not met
        lines.append(f"| {what} | {found:.2f} | {sense} {limit:g} | {'met' if met else '**missed**'} |")
    head = (f"{datetime.date.today().isoformat()}, {machine()}; {episodes} episodes of {FRAMES} frames, 6 joints x 2, "
            f"{files} files; medians of {runs} runs.")
    text = "\n".join([head, "", *lines])
    print(text)
    if options.write and not options.against:
        page = REPO / "benches" / "README.md"
        before, rest = page.read_text().split("<!-- figures: begin -->")
        after = rest.split("<!-- figures: end -->")[1]
        page.write_text(f"{before}<!-- figures: begin -->\n{text}\n<!-- figures: end -->{after}")
    # What each check costs: where to look if the audit has become dear.
    print(flush=True)
    subprocess.run([benchmark("cost"), *(["--write"] if options.write else [])], check=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
