"""Holds the tool's readings against the cross-check's, metric by metric.

    compare_readings.py TOOL.json CROSS_CHECK.json

TOOL.json is what `teleassay audit --json-detail full --out-json` writes, CROSS_CHECK.json comes from
cross_check.py on the same files. Episodes are paired by their place in the dataset, joints by name. A reading that
only one side could give counts as a disagreement beyond the share allowed below. Prints a table;
exit 1 if anything disagrees.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import defaultdict
from pathlib import Path

# How far the two may be apart: an absolute difference plus a share of the cross-check's value.
# Counts, gaps and jitter are the same arithmetic on the same stamps. Lags and errors pass through
# single precision in the tool and may pick another lag distance for the parabola.
TOLERANCE = {
    ("dropped-frames", "dropped_frames"): (0, 0),
    ("dropped-frames", "dropped_share"): (1e-9, 0),
    ("dropped-frames", "longest_gap"): (1e-6, 0),
    ("timestamp-jitter", "jitter_p95"): (2e-6, 1e-3),
    ("timestamp-jitter", "jitter_share"): (2e-4, 1e-3),
    ("limit-dwell", "dwell_share"): (0.005, 0.05),
    ("tracking-lag", "lag"): (1e-3, 0),
    ("tracking-error", "error_p50"): (2e-4, 0.03),
    ("tracking-error", "error_p95"): (5e-4, 0.03),
}
# Guards such as "moved far enough" sit on a border in a few episodes: of all the readings of a
# metric, this share may be missing on one side.
ONE_SIDED = 0.02


def readings(card: dict) -> dict[tuple, float]:
    """The readings of one episode by check, metric and joint."""
    return {(r["check"], r["metric"], r.get("joint")): r["value"] for r in card["readings"]
            if (r["check"], r["metric"]) in TOLERANCE}


def compare(tool: dict, check: dict) -> bool:
    """Prints one row per metric; whether everything agrees."""
    if len(tool["episodes"]) != len(check["episodes"]):
        print(f"the tool saw {len(tool['episodes'])} episodes, the cross-check {len(check['episodes'])}")
        return False
    apart, missing, examples = defaultdict(list), defaultdict(list), defaultdict(list)
    for ours, theirs in zip(tool["episodes"], check["episodes"]):
        if ours["frames"] != theirs["frames"]:
            print(f"episode {ours['episode']}: {ours['frames']} frames against {theirs['frames']}")
            return False
        a, b = readings(ours), readings(theirs)
        for key in a.keys() | b.keys():
            if key not in a or key not in b:
                missing[key[:2]].append((ours["episode"], key[2], "tool" if key not in a else "cross-check"))
                continue
            absolute, share = TOLERANCE[key[:2]]
            off = abs(a[key] - b[key])
            apart[key[:2]].append(off)
            if not off <= absolute + share * abs(b[key]):
                examples[key[:2]].append((ours["episode"], key[2], a[key], b[key]))
    agree = True
    print(f"{'metric':34} {'compared':>9} {'apart':>6} {'one side':>9} {'largest difference':>19}")
    for key in TOLERANCE:
        count, wrong, alone = len(apart[key]), examples[key], missing[key]
        print(f"{key[0] + ' ' + key[1]:34} {count:9} {len(wrong):6} {len(alone):9} {max(apart[key], default=0):19.3g}")
        for episode, joint, have, want in wrong[:3]:
            print(f"    episode {episode} joint {joint}: tool {have:.9g}, cross-check {want:.9g}")
        too_many = len(alone) > ONE_SIDED * (count + len(alone))
        for episode, joint, side in alone[:3] if too_many else []:
            print(f"    episode {episode} joint {joint}: no reading from the {side}")
        agree &= not wrong and not too_many
    if not any(apart.values()):
        print("nothing could be compared")
        return False
    return agree


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("tool", type=Path)
    parser.add_argument("check", type=Path)
    options = parser.parse_args()
    agree = compare(json.loads(options.tool.read_text()), json.loads(options.check.read_text()))
    print("the readings agree" if agree else "the readings do NOT agree")
    return 0 if agree else 1


if __name__ == "__main__":
    sys.exit(main())
