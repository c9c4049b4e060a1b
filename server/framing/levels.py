"""One member of a frame, checked: what it is asked to do, the most it may, and how sure the answer is."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field

from server.codes.answers import Answer, Source
from server.framing.placing import SLACK
from server.model import Message, Plain

HOLDS, MEMORY, ENGINEER, FAILS = "holds", "memory", "engineer", "fails"
WORST_FIRST = (FAILS, ENGINEER, MEMORY, HOLDS)


@dataclass(frozen=True)
class Limit:
    """The most a member may do (inches), where that stands, what governs it, and the same by calculation."""

    most: float
    source: Source | None
    governs: str
    computed: float


@dataclass(frozen=True)
class Member:
    """A checked member; `beam` is 0 where it belongs to no beam. Lengths are inches."""

    id: str
    kind: str
    beam: int
    actual: float
    limit: Limit
    level: str
    say: Message
    fix: Message | None = field(default=None)

    def plain(self) -> Plain:
        return {
            "id": self.id,
            "say": self.say.plain(),
            "kind": self.kind,
            "beam": self.beam,
            "actual": self.actual,
            "most": self.limit.most,
            "level": self.level,
            "source": source_plain(self.limit.source),
            "governs": self.limit.governs,
            "computed": self.limit.computed,
            "fix": self.fix.plain() if self.fix else None,
        }


def limit_of(answer: Answer) -> Limit:
    return Limit(answer.most, answer.source, answer.governs, answer.computed)


def level(actual: float, most: float, source: Source | None) -> str:
    """How a member stands: fails beyond its most; engineer where no cell says so; memory where only memory does."""
    if actual > most + SLACK:
        return FAILS
    if source is None:
        return ENGINEER
    return MEMORY if source.confidence == "memory" else HOLDS


def source_plain(source: Source | None) -> Plain | None:
    return asdict(source) if source else None
