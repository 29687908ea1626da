"""How a stranger stores an arm: names and shapes of columns."""

from __future__ import annotations

import numpy as np

from .arm import Take
from .draw import Draw
from .session import Episode, Session

LAYOUTS = ["lists", "scalars", "structs", "named"]


def stamps(draw_kind: str, stamp_s: np.ndarray, start_s: float) -> dict:
    """A time column: seconds from the start, nanoseconds of a monotonic clock, or milliseconds."""
    if draw_kind == "seconds":
        return {"time_s": stamp_s}
    if draw_kind == "nanos":
        return {"stamp_ns": np.round((stamp_s + start_s) * 1e9).astype(np.int64)}
    return {"time": stamp_s + start_s}


class Layout:
    """One session's columns."""

    def __init__(self, draw: Draw, names: list[str], which: str | None = None, time: str | None = None):
        """Draws shape, words and the form of time."""
        self.which = which or draw.choose(LAYOUTS)
        self.time = time or draw.choose(["seconds", "nanos", "monotonic"])
        self.start_s = float(draw.between(10, 5000))
        self.names = names
        self.words = draw.choose([("leader", "follower"), ("commanded", "measured"), ("target", "actual")])

    def columns(self, stamp_s, action, state, extra: dict | None = None) -> dict:
        """Columns of one episode. Without an action there is none."""
        self.start_s += 30.0
        out = stamps(self.time, stamp_s, self.start_s)
        a, s = self.words
        if self.which == "lists" or self.which == "named":
            out |= {"state": state} | ({"action": action} if action is not None else {})
        elif self.which == "structs":
            out[s] = dict(zip(self.names, state.T))
            if action is not None:
                out[a] = dict(zip(self.names, action.T))
        else:
            out |= {f"{s}_{n}": state[:, i] for i, n in enumerate(self.names)}
            if action is not None:
                out |= {f"{a}_{n}": action[:, i] for i, n in enumerate(self.names)}
        return out | (extra or {})

    def episode(self, made: Take, extra: dict | None = None) -> Episode:
        """An episode of a take."""
        return Episode(self.columns(made.stamp_s, made.action, made.state, extra), made.faults)

    def finish(self, session: Session) -> Session:
        """Names of lists, where they are written down; the answer key has them in any case."""
        session.joints = self.names
        if self.which == "named":
            session.names = {"state": self.names, "action": self.names}
        return session
