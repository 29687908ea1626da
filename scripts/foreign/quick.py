"""The short form: figures of a few kinds, held against those that are kept next to the page."""

from __future__ import annotations

import json
from pathlib import Path

from .score import Tally

KINDS = [
    "arm-spline@10", "arm-trapezoid@30", "gripper-01@30", "gripper-255width@30", "gantry@30", "clock-packets@200",
    "puck-pose@30", "keyboard@10", "tracker-wxyz@30", "pose-rotvec@30", "velocity@30", "delta@30", "held@50",
    "hand-16-object@30", "two-arms-idle@30", "fault-held@30", "fault-oscillation@100", "fault-mixed@30", "rate-ratio@30",
    "physics-healthy@30",
]  # fmt: skip


def figures(t: Tally) -> dict[str, int]:
    """What may only get smaller."""
    planted, found = sum(t.planted.values()), sum(t.found.values())
    return {
        "sound episodes that FAIL": t.failed,
        "sound episodes that warn": t.warned,
        "headlines that blame": t.blamed,
        "sessions refused": t.refused,
        "faults not found": planted - found,
        "joints not right": sum(t.jointed.values()) - sum(t.right.values()),
        "wrong causes": sum(t.wrong.values()),
    }


def held(tallies: dict[str, Tally], kept: Path) -> list[str]:
    """What is worse than what is kept."""
    before = json.loads(kept.read_text()) if kept.exists() else {}
    worse = []
    for name, tally in tallies.items():
        for what, value in figures(tally).items():
            was = before.get(name, {}).get(what, 0)
            if value > was:
                worse.append(f"{name}: {what} {value}, was {was}")
    return worse


def keep(tallies: dict[str, Tally], kept: Path) -> None:
    """Writes the figures that are not zero."""
    some = {name: {w: v for w, v in figures(t).items() if v} for name, t in tallies.items()}
    kept.write_text(json.dumps(some, indent=1) + "\n")
