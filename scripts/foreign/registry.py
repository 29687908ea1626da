"""All kinds: name, maker, rates."""

from __future__ import annotations

from . import kinds_action, kinds_arm, kinds_device, kinds_fault, kinds_rig
from .draw import Draw
from .session import Session

DEVICES: dict = {**kinds_arm.KINDS, **kinds_device.KINDS, **kinds_action.KINDS, **kinds_rig.KINDS, **kinds_fault.KINDS}


def kinds(physics: bool | None = None) -> dict:
    """Kinematic kinds, those of the physics engine, or both. The engine is loaded only where it is used."""
    if physics is False:
        return DEVICES
    from . import kinds_physics

    return kinds_physics.KINDS if physics else {**DEVICES, **kinds_physics.KINDS}


def every(physics: bool | None = None) -> list[str]:
    """`kind@rate` of all kinds."""
    return [f"{kind}@{rate}" for kind, (_, rates) in kinds(physics).items() for rate in rates]


def usual() -> list[str]:
    """`kind@rate` for the page: the lowest and a middle rate of each kind, more for the blind spots."""
    out = []
    for kind, (_, rates) in kinds().items():
        some = [rates[0], rates[len(rates) // 2]] if len(rates) > 2 else rates[:1]
        if kind.startswith("worthless"):
            some = rates[:1]
        if kind in ("fault-held", "fault-oscillation", "physics-faults"):
            some = rates
        if kind == "physics-healthy":
            some = rates
        out += [f"{kind}@{rate}" for rate in some]
    return out


def make(name: str, seed: int, episodes: int, half: str | None = None) -> Session:
    """A session of `kind@rate`."""
    kind, _, rate = name.partition("@")
    maker, rates = kinds(kind.startswith("physics"))[kind]
    draw = Draw(name, seed, half)
    return maker(draw, float(rate or rates[0]), episodes)
