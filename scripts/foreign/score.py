"""One session audited by the binary and held against its answer key."""

from __future__ import annotations

import json
import re
import statistics
import subprocess
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from .expected import BLAMES, EPISODE, SESSION, WRONG

RANK = {"pass": 0, "warn": 1, "fail": 2}


@dataclass
class Tally:
    """Counts of one kind at one rate, over sessions."""

    sound: int = 0
    failed: int = 0
    warned: int = 0
    sessions: int = 0
    blamed: int = 0
    refused: int = 0
    false: Counter = field(default_factory=Counter)  # (check, severity) of sound episodes
    planted: Counter = field(default_factory=Counter)  # by fault
    found: Counter = field(default_factory=Counter)
    jointed: Counter = field(default_factory=Counter)  # faults with a joint that were found
    right: Counter = field(default_factory=Counter)
    wrong: Counter = field(default_factory=Counter)  # (fault, check that must not be named)
    instead: Counter = field(default_factory=Counter)  # (fault, what was named where it was not found)
    headlines: list[str] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """Adds another's counts."""
        for name, value in other.__dict__.items():
            mine = getattr(self, name)
            if isinstance(mine, Counter):
                mine.update(value)
            else:
                setattr(self, name, mine + value)


def audit(binary: Path, folder: Path) -> tuple[dict | None, str]:
    """The report and the first sentences of the page; no report where the tool refused."""
    with tempfile.TemporaryDirectory() as scratch:
        out = Path(scratch) / "card.json"
        command = [str(binary), "audit", str(folder), "-q", "--color", "never", "--json-detail", "full"]
        command += ["--out-json", str(out)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode not in (0, 1) or not out.exists():
            return None, (done.stderr.strip().splitlines() or ["no output"])[0]
        page = done.stdout.split("usable:")[0]
        return json.loads(out.read_text()), " ".join(page.split())


def same_joint(said: str | None, joint: str | None, names: list[str]) -> bool:
    """Whether a finding's joint is this one; joints without names are recognised by their number."""
    if said is None or joint is None:
        return False
    said, _, _ = said.partition(" (")
    if said.split(".")[-1] == joint or said.endswith("_" + joint):
        return True
    # Where all names begin alike, that part is left out.
    if [name for name in names if name.endswith("_" + said)] == [joint]:
        return True
    digits = re.fullmatch(r"(?:j|joint[ _]?)?(\d+)", said)
    return bool(digits) and joint in names and int(digits[1]) == names.index(joint)


def score(binary: Path, folder: Path) -> Tally:
    """Counts of this session."""
    truth = json.loads((folder / "truth.json").read_text())
    names = truth.get("names", [])
    tally = Tally(sessions=1)
    card, headline = audit(binary, folder)
    tally.headlines.append(headline)
    healthy_session = not truth["faults"]
    if card is None:
        tally.refused = 1
        tally.instead[("refused", headline[:100])] += 1
        for fault in truth["faults"]:
            tally.planted[fault["fault"]] += 1
        for some in truth["episodes"]:
            tally.sound += not some and healthy_session
            for fault in some:
                tally.planted[fault["fault"]] += 1
        return tally
    whole = card["session"]["findings"]
    if healthy_session and not any(truth["episodes"]):
        tally.blamed += bool(re.search(BLAMES, headline))
        for finding in whole:
            tally.false[(finding["check"], "session " + finding["severity"])] += 1
    for fault in truth["faults"]:
        judge(tally, fault, whole, SESSION, names)
        if fault["fault"] == "rate":
            tally.jointed["rate"] += 1
            tally.right["rate"] += rate_right(card, fault["size"])
            for check in WRONG["rate"] & {f["check"] for e in card["episodes"] for f in e["findings"]}:
                tally.wrong[("rate", check)] += 1
    cards = {str(e["episode"]): e for e in card["episodes"]}
    for number, faults in enumerate(truth["episodes"]):
        episode = cards[str(number)]
        if not faults and healthy_session:
            tally.sound += 1
            tally.failed += episode["verdict"] == "fail"
            tally.warned += episode["verdict"] == "warn"
            for check, severity in {(f["check"], f["severity"]) for f in episode["findings"]}:
                tally.false[(check, severity)] += 1
        for fault in faults:
            judge(tally, fault, episode["findings"], EPISODE, names)
    return tally


def judge(tally: Tally, fault: dict, findings: list[dict], table: dict, names: list[str]) -> None:
    """Whether these findings name the fault, and its joint."""
    name, joint = fault["fault"], fault.get("joint")
    checks, jointed, severity = table[name]
    tally.planted[name] += 1
    hits = [f for f in findings if f["check"] in checks and RANK[f["severity"]] >= RANK[severity]]
    if hits:
        tally.found[name] += 1
        if jointed and joint is not None:
            tally.jointed[name] += 1
            tally.right[name] += any(same_joint(f["joint"], joint, names) for f in hits)
    else:
        tally.instead.update({(name, f["check"]) for f in findings} or {(name, "nothing")})
    for check in WRONG.get(name, set()) & {f["check"] for f in findings}:
        tally.wrong[(name, check)] += 1


def rate_right(card: dict, rate_hz: float) -> bool:
    """Whether the rate that `frame-rate` measured is the planted one within 0.3 %."""
    said = [r["value"] for e in card["episodes"] for r in e["readings"] if r["metric"] == "mean_rate"]
    return bool(said) and abs(statistics.median(said) / rate_hz - 1) < 0.003

