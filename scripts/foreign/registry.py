"""All kinds: name, maker, rates."""

from __future__ import annotations

from . import kinds_action, kinds_arm, kinds_device, kinds_fault, kinds_rig
from .draw import Draw
from .session import Session

KINDS: dict = {**kinds_arm.KINDS, **kinds_device.KINDS, **kinds_action.KINDS, **kinds_rig.KINDS, **kinds_fault.KINDS}


def every() -> list[str]:
    """`kind@rate` of all kinds."""
    return [f"{kind}@{rate}" for kind, (_, rates) in KINDS.items() for rate in rates]


def make(name: str, seed: int, episodes: int, half: str | None = None) -> Session:
    """A session of `kind@rate`."""
    kind, _, rate = name.partition("@")
    maker, rates = KINDS[kind]
    draw = Draw(name, seed, half)
    return maker(draw, float(rate or rates[0]), episodes)
