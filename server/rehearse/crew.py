"""One virtual crew: what its tape and its hands make of the yard it stands in.

One reading's sigma = hypot(1/16 in., length/120 × 1/32 in.), from the document's own tape, read to a sixteenth (to a
millimetre in a metric job). Setting or moving: 1/32 in. A nail by eye: 3 in. A mark set by a reading carries the
tape's noise and the hand's. A slip comes in a share of the pulled readings: a foot or an inch either way, half an inch
either way, 2 in. long (a tape on a slope), one as likely as the other; in a metric job 100, 10, 5 and 50 mm.
All of it common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random

from server.field import tape
from server.model import Plain
from server.rehearse.ground import Ground, dot

EYE, HAND = 3.0, 1 / 32
STEPS = {"inch": 1 / 16, "millimetre": 1 / tape.MM}
SLIPS = {
    "inch": ((12.0, -12.0), (1.0, -1.0), (0.5, -0.5), (2.0,)),
    "millimetre": tuple(tuple(mm / tape.MM for mm in kind) for kind in ((100, -100), (10, -10), (5, -5), (50,))),
}


@dataclass(frozen=True)
class Hands:
    """What a crew's tape and hands can do: sigmas in inches, the step a tape is read to, the share of slips."""

    sigma: float
    per_ten_feet: float
    step: float
    slips: float
    kinds: tuple[tuple[float, ...], ...]

    def noise(self, length: float) -> float:
        """One sigma of a reading of so many inches."""
        return math.hypot(self.sigma, length / 120 * self.per_ten_feet)


def hands_of(document: Plain, slips: float = 0.0, sigma: float | None = None) -> Hands:
    """The hands that hold the tape of a document; `sigma` in place of the tape's own, for a poorer eye."""
    limits, units = document["yard"]["tape"], document["job"]["units"]
    own = limits["sigma"] if sigma is None else sigma
    return Hands(own, limits["sigma_per_10_ft"], STEPS[units], slips, SLIPS[units])


@dataclass(frozen=True)
class Reading:
    """One pull as it was written down: its ends, the time it was taken, its true length and its slip."""

    start: str
    end: str
    time: int
    inches: float
    length: float
    slip: float

    @property
    def pair(self) -> frozenset[str]:
        return frozenset((self.start, self.end))


@dataclass
class Crew:
    """One crew in one yard. What is by eye, and the marks on the wall, are the same for every crew of a yard."""

    hands: Hands
    ground: Ground
    seed: str
    yard: str
    readings: list[Reading] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.random = Random(self.seed)

    def set(self, name: str) -> None:
        """Set a point as its kind is set."""
        kind = self.ground.points[name]["kind"]
        self.ground.born[name] = len(self.ground.moves)
        if kind == "ground":
            for part in ("x", "y"):
                self.ground.put(f"{name}:{part}", self.random.gauss(0, HAND), HAND)
        elif kind == "nail":
            self.ground.put(name, Random(f"{self.yard} {name}").gauss(0, EYE), EYE)
        else:
            chance = Random(f"{self.yard} {name}") if kind == "wall" else self.random
            sigma = math.hypot(self.hands.noise(abs(self.ground.points[name].get("reading") or 0.0)), HAND)
            self.ground.put(name, chance.gauss(0, sigma), sigma)

    def pull(self, start: str, end: str) -> Reading:
        """Read the tape between two points, a slip now and then."""
        length = abs(self.ground.spot(start).at - self.ground.spot(end).at)
        read = length + self.random.gauss(0, self.hands.noise(length))
        slip = self._slip()
        inches = max(round(read / self.hands.step), 1) * self.hands.step
        if inches + slip <= 0:
            slip = 0.0
        reading = Reading(start, end, len(self.ground.moves), inches + slip, length, slip)
        self.readings.append(reading)
        return reading

    def _slip(self) -> float:
        """Inches that a reading is written down wrong by, mostly none."""
        if self.random.random() >= self.hands.slips:
            return 0.0
        return self.random.choice(self.random.choice(self.hands.kinds))

    def move(self, name: str, by: complex) -> None:
        """Move a nail or mark from where it stands, give or take a hand."""
        amount = dot(by, self.ground.way(name))
        number = len(self.ground.moves)
        self.ground.put(f"~{number}", self.random.gauss(0, HAND), HAND)
        self.ground.moves.append((name, amount))
