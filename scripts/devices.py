"""Makes sessions of other origin: `scripts/devices OUT --seed N [--kinds a,b] [--episodes 40]`."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from foreign import registry
from foreign.session import write


def main() -> int:
    """Reads the arguments and writes one folder a kind."""
    parser = argparse.ArgumentParser(prog="scripts/devices", description=__doc__)
    parser.add_argument("out", type=Path, nargs="?")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", help="kinds, or kind@rate, separated by commas; default all")
    parser.add_argument("--episodes", type=int, default=40)
    parser.add_argument("--half", choices=["tune", "report"], help="whose choices; default by the seed's parity")
    parser.add_argument("--physics", action="store_true", help="the kinds of the physics engine")
    parser.add_argument("--skip-made", action="store_true", help="leave sessions alone that are there")
    parser.add_argument("--list", action="store_true", help="print the kinds and stop")
    said = parser.parse_args()
    known = registry.every(said.physics)
    wanted = said.kinds.split(",") if said.kinds else known
    names = [n for n in known if any(n == w or n.split("@")[0] == w for w in wanted)]
    names += [w for w in wanted if "@" in w and w not in names]
    if said.list or said.out is None:
        print("\n".join(known))
        return 0 if said.list else 2
    for name in names:
        if said.skip_made and (said.out / f"{name}-s{said.seed}" / "truth.json").exists():
            continue
        began = time.perf_counter()
        session = registry.make(name, said.seed, said.episodes, said.half)
        write(session, said.out / f"{name}-s{said.seed}")
        print(f"{name}-s{said.seed} {time.perf_counter() - began:.1f} s", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
