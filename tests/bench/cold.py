"""`python -m tests.bench.cold`: what each part of a first document costs this process, milliseconds as JSON."""
from __future__ import annotations

import json
import time
from collections.abc import Callable
from typing import Any

from server import bundle, drawing, framing, job, phone, plan, steps, yard
from tests.demo import spec

JOB = "long-side-deck"
PARTS = {
    "compile the field math": [(phone, "compile_field"), (phone, "field_digest")],
    "read the job": [(job, "read")],
    "plan": [(framing, "frame"), (yard, "yard"), (steps, "steps")],
    "draw": [(drawing, "draw")],
    "JSON": [(bundle, "canonical")],
}


class Clock:
    """Milliseconds by part; a part's time is its own, what it calls in another part taken off."""

    def __init__(self) -> None:
        self.costs: dict[str, float] = {}
        self.inner = [0.0]

    def timed(self, part: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def timing(*given: Any) -> Any:
            self.inner.append(0.0)
            start = time.perf_counter()
            result = work(*given)
            whole = (time.perf_counter() - start) * 1000
            own = whole - self.inner.pop()
            self.inner[-1] += whole
            self.costs[part] = self.costs.get(part, 0.0) + own
            return result

        return timing


def costs() -> dict[str, float]:
    """A first `plan.plan` with its stages timed; the digest and all that is in no stage is "the rest"."""
    clock = Clock()
    contents = spec(JOB)
    for part, places in PARTS.items():
        for module, name in places:
            setattr(module, name, clock.timed(part, getattr(module, name)))
    clock.timed("digest and the rest", plan.plan)(JOB, contents)
    if missing := PARTS.keys() - clock.costs.keys():
        raise RuntimeError(f"never called: {sorted(missing)}")
    return clock.costs


if __name__ == "__main__":
    print(json.dumps(costs()))
