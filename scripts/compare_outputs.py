#!/usr/bin/env python3
"""
The JSON of two builds of the tool on the same data: what differs beyond renamed words.

    scripts/compare_outputs.py OLD NEW DATA[=PROFILE]...

Runs `audit DATA --format json` with both binaries, renames keys and ids of the old document by the
tables below, and compares. Four kinds of difference are expected and counted: renamed keys, renamed
ids, keys that NEW adds on purpose, and sentences that are worded in another way but have the same
numbers. Everything else is listed, and the exit code is 1.
"""

import json
import re
import subprocess
import sys
from collections import Counter

KEYS = {
    "silenced": ("suppressed",),
    "holes": ("not_assessed",),
    "saved": ("recovery",),
    "deviation": ("std",),
    "least": ("min", "smallest"),
    "greatest": ("max", "largest"),
}
"""Keys of objects: old to new. An old key that is still there counts as unchanged."""

IDS = {
    "lost-following": "tracking-loss",
    "follower-pushed": "external-disturbance",
    "lag-steadiness": "lag-variation",
    "leader-chatter": "leader-stick-slip",
    "hot-servo": "servo-temperature",
    "clock-order": "non-monotonic-time",
    "arm-agreement": "two-arm-consistency",
    "odd-duration": "duration-outlier",
    "odd-motion": "motion-outlier",
    "odd-path": "path-outlier",
    "odd-chatter": "stick-slip-outlier",
    "mixed-paces": "mixed-speeds",
}
"""Ids of checks: old to new."""

METRICS = {
    "leaps": "jumps",
    "leap_share": "jump_share",
    "play": "backlash",
    "lag_without_play": "lag_without_backlash",
}
"""Ids of metrics: old to new; both may be unchanged."""

NEW_CHECKS = {"reading-held", "motion-oscillation", "contact-outlier", "orientation-jumps"}
"""Checks that the old build does not have."""

ADDED = {"plan"}
"""Keys that the new document may have besides."""

SENTENCES = {"cause", "remedy", "recovery", "reason", "how", "note", "notes", "title", "headline", "hint", "message", "warning", "warnings"}
"""Keys whose values are sentences."""

NUMBER = re.compile(r"\d+(?:\.\d+)?")


class Differences:
    """Everything that differs, counted by kind and place."""

    def __init__(self) -> None:
        self.expected: Counter[str] = Counter()
        self.sentences: Counter[tuple[str, str, str]] = Counter()
        self.unexplained: Counter[str] = Counter()
        self.examples: dict[str, str] = {}

    def add(self, place: str, what: str, old: object, new: object) -> None:
        """A difference that no table explains; of one place the first is kept as an example."""
        kind = f"{place}: {what}"
        self.unexplained[kind] += 1
        self.examples.setdefault(kind, f"{json.dumps(old)[:160]} -> {json.dumps(new)[:160]}")

    def compare(self, place: str, old: object, new: object) -> None:
        """Compares two values, which stand at the same place in both documents."""
        if isinstance(old, dict) and isinstance(new, dict):
            self.objects(place, old, new)
        elif isinstance(old, list) and isinstance(new, list):
            self.lists(place, old, new)
        elif type(old) is type(new) and old == new:
            return
        elif isinstance(old, str) and isinstance(new, str):
            self.strings(place, old, new)
        else:
            self.add(place, "value", old, new)

    def objects(self, place: str, old: dict, new: dict) -> None:
        """Compares the values of equal and of renamed keys."""
        seen = set()
        for key, value in old.items():
            now = next((name for name in (key, *KEYS.get(key, ())) if name in new), key)
            if now not in new:
                self.add(f"{place}.{key}", "key is gone", value, None)
                continue
            if now != key:
                self.expected[f"key {key} -> {now}"] += 1
            seen.add(now)
            self.compare(f"{place}.{now}", value, new[now])
        for key in new.keys() - seen:
            if key in NEW_CHECKS:
                self.expected["entries of checks that are new"] += 1
            elif key in ADDED:
                self.expected[f"added key {key}"] += 1
            else:
                self.add(f"{place}.{key}", "key is new", None, new[key])

    def lists(self, place: str, old: list, new: list) -> None:
        """Compares in order; entries of checks are paired by check, metric and joint."""
        of_new = [entry for entry in new if is_new(entry)]
        if of_new:
            self.expected["entries of checks that are new"] += len(of_new)
            new = [entry for entry in new if not is_new(entry)]
        before, after = [name(entry, True) for entry in old], [name(entry, False) for entry in new]
        if all(before) and all(after):
            self.named(place, dict(zip(numbered(before), old)), dict(zip(numbered(after), new)))
            return
        if len(old) != len(new):
            self.add(place, "number of entries", len(old), len(new))
        for one, other in zip(old, new):
            self.compare(f"{place}[]", one, other)

    def named(self, place: str, old: dict[tuple, object], new: dict[tuple, object]) -> None:
        """Compares entries that say what they are about; each that only one side has is a difference."""
        both, there = [key for key in old if key in new], [key for key in new if key in old]
        if both != there:
            if kept(both) == kept(there):
                self.expected["entries in another place, since their id was renamed"] += 1
            else:
                self.add(place, "order of entries", both, there)
        for key in old.keys() - new.keys():
            self.add(f"{place}[{key[0]}]", "entry is gone", old[key], None)
        for key in new.keys() - old.keys():
            self.add(f"{place}[{key[0]}]", "entry is new", None, new[key])
        for key in both:
            self.compare(f"{place}[]", old[key], new[key])

    def strings(self, place: str, old: str, new: str) -> None:
        """Compares ids, and sentences by their numbers."""
        key = place.removesuffix("[]").rpartition(".")[2]
        if IDS.get(old) == new or METRICS.get(old) == new:
            self.expected[f"id {old} -> {new}"] += 1
        elif key in SENTENCES and NUMBER.findall(old) == NUMBER.findall(new):
            self.sentences[(key, old, new)] += 1
        else:
            self.add(place, "text", old, new)


def is_new(entry: object) -> bool:
    """Whether an entry of a list is about a check that the old build does not have."""
    about = entry.get("check", entry.get("id")) if isinstance(entry, dict) else entry
    return isinstance(about, str) and about in NEW_CHECKS


def name(entry: object, renamed: bool) -> str:
    """What an entry is about, in the new names; empty where it is about no check."""
    if not isinstance(entry, dict) or "check" not in entry:
        return ""
    parts = [str(entry.get(key)) for key in ("check", "metric", "joint")]
    return "/".join(IDS.get(part, METRICS.get(part, part)) if renamed else METRICS.get(part, part) for part in parts)


def numbered(names: list[str]) -> list[tuple[str, int]]:
    """The names, those that are there several times told apart by their turn."""
    turns: Counter[str] = Counter()
    found = []
    for one in names:
        found.append((one, turns[one]))
        turns[one] += 1
    return found


def kept(names: list[tuple[str, int]]) -> list[tuple[str, int]]:
    """Those entries whose id is the old one."""
    return [name for name in names if name[0].split("/")[0] not in IDS.values()]


def audited(tool: str, data: str) -> dict:
    """The whole report that a build prints for a dataset."""
    path, _, profile = data.partition("=")
    command = [tool, "audit", path, "--format", "json", *(["--profile", profile] if profile else [])]
    # Builds before this option always wrote everything.
    if b"--json-detail" in subprocess.run([tool, "audit", "--help"], capture_output=True, check=False).stdout:
        command += ["--json-detail", "full"]
    done = subprocess.run(command, capture_output=True, check=False)
    if done.returncode not in (0, 1):
        sys.exit(f"{' '.join(command)}: exit {done.returncode}\n{done.stderr.decode()}")
    return json.loads(done.stdout) | {"exit": done.returncode}


def main() -> int:
    """Compares all datasets, and prints what differs."""
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    old, new, *datasets = sys.argv[1:]
    total = 0
    for data in datasets:
        found = Differences()
        found.compare("", audited(old, data), audited(new, data))
        print(f"== {data}")
        print(f"{sum(found.expected.values())} places renamed or added on purpose:")
        for what, count in sorted(found.expected.items()):
            print(f"  {count:6} {what}")
        print(f"{len(found.sentences)} sentences reworded, numbers the same:")
        for (key, before, after), count in sorted(found.sentences.items()):
            print(f"  {count:6} {key}: {before}\n         {' ' * len(key)}-> {after}")
        print(f"{sum(found.unexplained.values())} unexplained differences:")
        for what, count in sorted(found.unexplained.items()):
            print(f"  {count:6} {what}: {found.examples[what]}")
        total += sum(found.unexplained.values())
    return 1 if total else 0


if __name__ == "__main__":
    sys.exit(main())
