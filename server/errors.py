"""One family of errors: each says what was wrong, where, and what to do; one JSON shape for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from server.model import Plain, Slot
from server.words import sentence


@dataclass(frozen=True)
class Fault:
    """One thing wrong with what was given: its place (dotted path), code, and the values its sentence needs."""

    place: str
    code: str
    slots: Mapping[str, Slot] = field(default_factory=dict)

    def plain(self, units: str = "inch") -> Plain:
        return {
            "place": self.place,
            "code": self.code,
            "message": sentence(f"errors.{self.code}", self.slots, units),
            "fix": sentence(f"errors.{self.code}.fix", self.slots, units),
        }


class YardtrueError(Exception):
    """Base of every error a person may see. `code` names it, `faults` lists each thing wrong."""

    status = 400

    def __init__(self, code: str, faults: Iterable[Fault] = (), slots: Mapping[str, Slot] | None = None) -> None:
        self.code = code
        self.faults = tuple(faults)
        self.slots = slots or {}
        super().__init__(sentence(f"errors.{code}", self.slots))

    def plain(self, units: str = "inch") -> Plain:
        """The JSON shape of every error: {"error": {"code", "message", "fix", "faults": [...]}}."""
        return {
            "error": {
                "code": self.code,
                "message": sentence(f"errors.{self.code}", self.slots, units),
                "fix": sentence(f"errors.{self.code}.fix", self.slots, units),
                "faults": [fault.plain(units) for fault in self.faults],
            }
        }


class Faults(YardtrueError, ValueError):
    """Something given that cannot be taken; carries every fault found, not only the first."""

    name = ""

    def __init__(self, faults: Iterable[Fault]) -> None:
        super().__init__(self.name, faults)


class JobFaults(Faults):
    """A job that cannot be planned as given."""

    name = "job-faults"


class BookFault(YardtrueError, ValueError):
    """A field book that cannot be read or does not belong to the job."""


class FrameOpen(YardtrueError):
    """A job whose frame is still to be chosen: there is nothing to lay out yet."""

    status = 409

    def __init__(self) -> None:
        super().__init__("frame-open")


class NotFound(YardtrueError, LookupError):
    """A job or document that is not here."""

    status = 404


class Refused(YardtrueError):
    """A request this server will not take (from another site, too large, not JSON)."""

    status = 403


class NoSession(YardtrueError):
    """Nobody has entered here, or the session has ended."""

    status = 401


class StoreBusy(YardtrueError):
    """A database that cannot be reached or written just now; nothing of the request was kept."""

    status = 503
