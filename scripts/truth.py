"""Audits recordings of other origin with a binary and writes how often it was right.

    scripts/truth BINARY [--afresh N] [--quick] [--write] [--kinds a,b] [--data FOLDER]

Seeds: tune half even, report half odd; with `--afresh N` from N on.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
import time
from pathlib import Path

from foreign import many, page, quick, registry
from foreign.score import Tally, score
from foreign.session import write

BENCHES = Path(__file__).resolve().parent.parent / "benches"
KEPT = BENCHES / "truth_quick.json"


def main() -> int:
    """Reads the arguments, makes what is missing, audits, prints, writes."""
    parser = argparse.ArgumentParser(prog="scripts/truth", description=__doc__)
    parser.add_argument("binary", type=Path)
    parser.add_argument("--afresh", dest="first_seed", type=int, default=1, help="first seed of the report half (odd)")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--episodes", type=int, default=40)
    parser.add_argument("--quick", action="store_true", help="some kinds, 12 episodes, one seed; exit code 1 if a figure is worse than the one kept")
    parser.add_argument("--write", action="store_true", help="write benches/TRUTH.md")
    parser.add_argument("--kinds", help="kinds or kind@rate; default two rates of each")
    parser.add_argument("--all-rates", action="store_true", help="every rate of each kind: twice as long")
    parser.add_argument("--many", type=int, default=0, help="short sessions of each kind of action, and of rates")
    parser.add_argument("--beyond", action="store_true", help="print only what is beyond the budget")
    parser.add_argument("--data", type=Path, help="take sessions that are there (KIND-sSEED) and keep what is made")
    said = parser.parse_args()
    binary = said.binary.resolve()
    names = registry.every() if said.all_rates or said.kinds or said.quick else registry.usual()
    if said.kinds:
        wanted = said.kinds.split(",")
        names = [n for n in names if n in wanted or n.split("@")[0] in wanted]
    if said.quick:
        names = [n for n in quick.KINDS if n in names]
    seeds = [said.first_seed + 2 * i for i in range(1 if said.quick else said.seeds)]
    episodes = 12 if said.quick else said.episodes
    tallies: dict[str, Tally] = {}
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as scratch:
        for name in names:
            for seed in seeds:
                tally = one(binary, name, seed, episodes, said.data, Path(scratch))
                tallies.setdefault(name, Tally()).add(tally)
            if not said.beyond or bad(tallies[name]):
                print(line(name, tallies[name]), flush=True)
        text = page_text(tallies, seeds, episodes)
        if said.many:
            asked = many.recognition(binary, said.first_seed, said.many, Path(scratch))
            rows = many.page_rows(asked, many.rates(binary, said.first_seed, said.many, Path(scratch)))
            print("\n".join(rows))
            text += "\n" + "\n".join(rows) + "\n"
    print("\n".join(page.summary(tallies)), f"{time.perf_counter() - began:.0f} s", sep="\n")
    if said.quick and not said.write:
        worse = quick.held(tallies, KEPT)
        print("\n".join(worse) or "no figure is worse than those of benches/truth_quick.json")
        return 1 if worse else 0
    if said.quick:
        quick.keep(tallies, KEPT)
    elif said.write:
        (BENCHES / "TRUTH.md").write_text(text)
    return 0


def one(binary: Path, name: str, seed: int, episodes: int, data: Path | None, scratch: Path) -> Tally:
    """A session of this kind: there already, or made and, without `--data`, removed again."""
    folder = (data or scratch) / f"{name}-s{seed}"
    if not (folder / "truth.json").exists():
        write(registry.make(name, seed, episodes), folder)
    tally = score(binary, folder)
    if data is None:
        shutil.rmtree(folder)
    return tally


def bad(t: Tally) -> bool:
    """Whether a kind is beyond its budget, or a fault was missed or named wrongly."""
    missed = any(t.found[f] < n for f, n in t.planted.items())
    joint = any(t.right[f] < n for f, n in t.jointed.items())
    return missed or joint or bool(t.wrong) or not page.within(t)


def line(name: str, t: Tally) -> str:
    """One kind at the terminal."""
    parts = [f"{name:24s}"]
    if t.sound:
        parts.append(f"fail {t.failed}/{t.sound} warn {t.warned}/{t.sound} blame {t.blamed}/{t.sessions}")
    if t.refused:
        parts.append(f"refused {t.refused}: {t.headlines[0][:100]}")
    if t.planted:
        parts.append(" ".join(f"{f} {t.found[f]}/{n}" + (f" joint {t.right[f]}/{t.jointed[f]}" if t.jointed[f] else "") for f, n in t.planted.items()))
    if t.false:
        parts.append(page.worst(t, 4))
    if t.wrong:
        parts.append("wrong: " + ", ".join(f"{f}: {c} {k}" for (f, c), k in t.wrong.items()))
    return "  ".join(parts)


def page_text(tallies: dict[str, Tally], seeds: list[int], episodes: int) -> str:
    """The whole page."""
    head = (BENCHES / "truth_head.md").read_text() if (BENCHES / "truth_head.md").exists() else "# Recordings of other origin\n"
    lines = [head.rstrip(), "", f"Seeds {', '.join(map(str, seeds))} (report half), up to {episodes} episodes a session.", ""]
    lines += page.summary(tallies) + ["", "## Sound episodes, by kind and rate", ""] + page.healthy(tallies)
    planted = {n: t for n, t in tallies.items() if t.planted}
    return "\n".join([*lines, "", "## Faults", "", *page.faults(planted), ""])


if __name__ == "__main__":
    sys.exit(main())
