"""The page of figures: `benches/TRUTH.md`, and the short table for the terminal."""

from __future__ import annotations

from scipy.stats import beta

from .score import Tally


def interval(hits: int, of: int) -> tuple[float, float]:
    """Clopper-Pearson, 95 %."""
    if of == 0:
        return 0.0, 1.0
    low = beta.ppf(0.025, hits, of - hits + 1) if hits else 0.0
    high = beta.ppf(0.975, hits + 1, of - hits) if hits < of else 1.0
    return float(low), float(high)


def share(hits: int, of: int) -> str:
    """`3 of 120, 2.5 % (0.5 to 7.1)`."""
    if of == 0:
        return "–"
    low, high = interval(hits, of)
    return f"{hits} of {of}, {100 * hits / of:.1f} % ({100 * low:.1f} to {100 * high:.1f})"


def worst(tally: Tally, n=3) -> str:
    """The checks that spoke on sound data."""
    return ", ".join(f"`{c}` {s} {k}" for (c, s), k in tally.false.most_common(n))


def within(tally: Tally) -> bool:
    """Whether a healthy kind is within the budget: FAIL <= 0.5 %, warn <= 3 %, no blame, not refused."""
    n = max(tally.sound, 1)
    return tally.failed <= 0.005 * n and tally.warned <= 0.03 * n and not tally.blamed and not tally.refused


def healthy(tallies: dict[str, Tally]) -> list[str]:
    """Rows of the table of sound episodes."""
    rows = ["| kind, rate | sound episodes that FAIL (95 %) | that warn (95 %) | sessions that blame | refused | most often |", "|---|---|---|--:|--:|---|"]
    for name, t in tallies.items():
        if t.sound == 0:
            continue
        mark = "" if within(t) else " **beyond**"
        rows.append(f"| {name}{mark} | {share(t.failed, t.sound)} | {share(t.warned, t.sound)} | {t.blamed} of {t.sessions} | {t.refused or ''} | {worst(t)} |")
    return rows


def faults(tallies: dict[str, Tally]) -> list[str]:
    """Rows of the table of planted faults."""
    rows = ["| fault, in kind | found (95 %) | right joint | wrong cause named | instead |", "|---|---|---|---|---|"]
    for name, t in tallies.items():
        for fault, planted in sorted(t.planted.items()):
            instead = ", ".join(f"`{c}` {k}" for (f, c), k in t.instead.most_common() if f == fault)
            wrong = ", ".join(f"`{c}` {k}" for (f, c), k in t.wrong.items() if f == fault)
            joint = share(t.right[fault], t.jointed[fault])
            rows.append(f"| {fault}, {name} | {share(t.found[fault], planted)} | {joint} | {wrong} | {instead[:120]} |")
    return rows


def pooled(tallies: dict[str, Tally]) -> dict[str, Tally]:
    """By fault kind over the rates (`fault-held@30` and `@100` together)."""
    out: dict[str, Tally] = {}
    for name, t in tallies.items():
        out.setdefault(name.split("@")[0], Tally()).add(t)
    return out


def summary(tallies: dict[str, Tally]) -> list[str]:
    """A few lines over all kinds."""
    total = Tally()
    for t in tallies.values():
        total.add(t)
    kinds = [t for t in tallies.values() if t.sound]
    return [
        f"Sound episodes that FAIL: {share(total.failed, total.sound)}; that warn: {share(total.warned, total.sound)}.",
        f"Kinds and rates within FAIL 0.5 %, warn 3 %, no blame: {sum(within(t) for t in kinds)} of {len(kinds)}.",
        f"Faults found: {share(sum(total.found.values()), sum(total.planted.values()))}; "
        f"right joint: {share(sum(total.right.values()), sum(total.jointed.values()))}.",
    ]
