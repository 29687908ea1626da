"""Many short sessions of one question: the rate that the stamps have, and what the actions are."""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

from . import registry
from .page import share
from .score import Tally, audit, score
from .session import write

# Kind of session: what its actions are.
ACTIONS = {
    "arm-spline": "position",
    "arm-trapezoid": "position",
    "next": "next",
    "delta": "delta",
    "velocity": "velocity",
    "held": "held",
    "chunked": "chunked",
    "puck-joints": "other",
}
# How the tool words it; no notice means positions.
WORDS = {
    "are the next observations": "next",
    "are increments": "delta",
    "are velocities": "velocity",
    "change every": "held",
    "in chunks": "chunked",
    "is not known": "unknown",
    "of another space": "other",
}
RATES = [10, 20, 30, 50, 100, 250]
# What counts as right; "unknown" is never a wrong kind. A plan in chunks is a position too.
RIGHT = {"chunked": {"chunked", "position"}, "other": {"other", "unknown"}}


def said_kind(card: dict) -> str:
    """What the scorecard takes the actions for."""
    said = card["rig"].get("actions")
    if isinstance(said, dict) and isinstance(said.get("kind"), str):
        return said["kind"]
    for notice in card["rig"].get("notices", []):
        for words, kind in WORDS.items():
            if notice.startswith(("actions", "what the actions")) and words in notice:
                return kind
    return "position"


def recognition(binary: Path, first_seed: int, count: int, scratch: Path) -> dict[str, Counter]:
    """What was said of each kind's actions, in sessions of 6 episodes."""
    out: dict[str, Counter] = {}
    for kind, truth in ACTIONS.items():
        for i in range(count):
            name, seed = f"{kind}@{RATES[i % len(RATES)]}", first_seed + 2 * i
            folder = scratch / "one"
            write(registry.make(name, seed, 6), folder)
            card, _ = audit(binary, folder)
            shutil.rmtree(folder)
            said = "refused" if card is None else said_kind(card)
            out.setdefault(truth, Counter())[said] += 1
            if said not in RIGHT.get(truth, {truth, "unknown"}):
                print(f"{name} seed {seed}, 6 episodes: {truth} said to be {said}", flush=True)
    return out


def rates(binary: Path, first_seed: int, count: int, scratch: Path) -> Tally:
    """Sessions of 4 episodes whose rate is not the declared one."""
    total = Tally()
    for i in range(count):
        declared, seed = (10, 30, 100)[i % 3], first_seed + 2 * i
        folder = scratch / "one"
        write(registry.make(f"rate-ratio@{declared}", seed, 4), folder)
        total.add(score(binary, folder))
        shutil.rmtree(folder)
    return total


def page_rows(said: dict[str, Counter], rate: Tally) -> list[str]:
    """Both tables."""
    rows = ["## What actions are", "", "| truth | right | unknown | wrong kind named | as what |", "|---|--:|--:|---|---|"]
    for truth, counts in said.items():
        right = RIGHT.get(truth, {truth})
        good = sum(counts[k] for k in right)
        unknown = counts["unknown"] if "unknown" not in right else 0
        n = sum(counts.values())
        wrong = ", ".join(f"{k} {v}" for k, v in counts.items() if k not in right and k != "unknown")
        rows.append(f"| {truth} | {good} of {n} | {unknown} | {share(n - good - unknown, n)} | {wrong} |")
    n = rate.planted["rate"]
    rows += ["", "## A rate of 0.3 to 3 times the declared one", ""]
    rows.append(f"`frame-rate` found: {share(rate.found['rate'], n)}; the rate within 0.3 %: {share(rate.right['rate'], rate.jointed['rate'])}.")
    wrong = ", ".join(f"`{c}` in {k} sessions" for (_, c), k in rate.wrong.items()) or "none"
    rows.append(f"Drops or jitter named: {wrong}.")
    return rows
