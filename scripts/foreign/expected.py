"""What a fault has to be called: accepted checks, and whether the joint has to be right.

Where two names say the same to the person at the rig, both are accepted (a motor that let go is lost
following or a frozen follower).
"""

from __future__ import annotations

FOLLOWING = {"tracking-loss", "dead-joint", "frozen-follower"}

# fault: (checks, joint has to be named, minimum severity)
EPISODE: dict[str, tuple[set[str], bool, str]] = {
    "reading-held": ({"reading-held"}, True, "fail"),
    "oscillation": ({"motion-oscillation"}, True, "fail"),
    "motor-off": (FOLLOWING, True, "fail"),
    "arm-off": (FOLLOWING, False, "fail"),
    "obstacle": ({"contact-outlier", "tracking-loss", "tracking-error"}, True, "warn"),
    "frozen-rows": ({"frozen-follower", "stale-readings", "reading-held"}, False, "fail"),
    "stale-rows": ({"stale-readings"}, False, "fail"),
    "spikes": ({"spikes"}, True, "fail"),
    "missing": ({"missing-values"}, True, "fail"),
    "dropped": ({"dropped-frames"}, False, "fail"),
    "gap": ({"dropped-frames"}, False, "fail"),
    "doubled": ({"repeated-frames"}, False, "fail"),
    "clock-step": ({"non-monotonic-time"}, False, "fail"),
    "jitter": ({"timestamp-jitter", "non-monotonic-time"}, False, "warn"),
    "idle-tail": ({"idle-time"}, False, "warn"),
    "cut-off": ({"cut-short"}, False, "warn"),
    "aborted": ({"duration", "duration-outlier"}, False, "warn"),
    # Of the physics engine.
    "torque-limit": (FOLLOWING | {"limit-dwell", "tracking-error", "gravity-sag"}, True, "warn"),
    "push": ({"external-disturbance"}, False, "warn"),
    "late-commands": ({"tracking-lag", "lag-variation"}, False, "warn"),
}

SESSION: dict[str, tuple[set[str], bool, str]] = {
    "offset": ({"neutral-offset"}, True, "fail"),
    "gain": ({"gain-mismatch"}, True, "fail"),
    "swap": ({"joint-swap"}, True, "fail"),
    "sign": ({"sign-flip"}, True, "fail"),
    "unit": ({"unit-mismatch"}, False, "fail"),
    "sides": ({"arm-swap"}, False, "fail"),
    "late": ({"tracking-lag"}, False, "warn"),
    "late-joint": ({"tracking-lag", "lag-variation"}, True, "warn"),
    "dead": ({"dead-joint"}, True, "fail"),
    "rate": ({"frame-rate"}, False, "warn"),
    "worthless-noise": ({"action-kind"}, False, "warn"),
    "worthless-two-ahead": ({"action-kind"}, False, "warn"),
    "worthless-rounded-next": ({"action-kind"}, False, "warn"),
    "worthless-random-age": ({"action-kind"}, False, "warn"),
    "worthless-none": ({"action-kind"}, False, "warn"),
    # Of the physics engine.
    "weak-gain": ({"tracking-error", "gravity-sag", "tracking-lag", "lag-variation"}, True, "warn"),
    "payload": ({"gravity-sag", "tracking-error", "neutral-offset", "session-drift"}, False, "warn"),
    "joint-friction": ({"backlash", "tracking-error", "tracking-lag", "lag-variation", "leader-stick-slip"}, True, "warn"),
    "tilted-base": ({"gravity-sag", "neutral-offset", "session-drift", "tracking-error"}, False, "warn"),
}

# Causes that may not be named for a fault, together with or in place of the right one.
WRONG = {
    "reading-held": {"limit-dwell", "gain-mismatch", "neutral-offset"},
    "motor-off": {"limit-dwell"},
    "rate": {"dropped-frames", "timestamp-jitter"},
    "obstacle": {"gain-mismatch", "neutral-offset", "limit-dwell"},
}

# Of these the headline says what to train on, not what to repair.
BLAMES = r"(?i)\b(fix|repair|look at|check|mend)\b[^.]*\b(rig|hardware|servo|wire|bus)\b"
