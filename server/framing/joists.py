"""Joists checked: every span between supports, and what runs past the outer ones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from server.codes import joists, rules
from server.codes.answers import Answer
from server.field import tape
from server.framing.levels import Limit, Member, level, limit_of
from server.framing.placing import SLACK, support_name, supports
from server.model import Beam, Job, Message, Slot

QUARTER = "quarter of the span"
SIXTEENTH = 1 / 16


def checked(job: Job) -> bool:
    """Whether the job says enough for its frame to be checked: a species and its joists."""
    return bool(job.species and job.joist_size and job.joist_spacing)


def span_answer(job: Job, beams: tuple[Beam, ...]) -> Answer:
    """The most the joists may span, inches.

    A cell for joists without a cantilever (IRC 2015 as kept here) does not serve joists that run past a beam: for them
    it is calculated, and never above the cell.
    """
    answer = joists.span(job.species, job.joist_size, job.joist_spacing, job.edition, job.live)
    if answer.source is None or cantilever_answer(job).source is not None or not runs_past(job, beams):
        return answer
    return replace(answer, most=min(answer.most, answer.computed), source=None)


def runs_past(job: Job, beams: tuple[Beam, ...]) -> bool:
    """Whether joists run past an outer beam by more than a sixteenth."""
    house = 0.0 if job.attached else beams[0].setback
    return max(job.out - beams[-1].setback, house) > SIXTEENTH + SLACK


def cantilever_answer(job: Job) -> Answer:
    return joists.cantilever(job.species, job.joist_size, job.joist_spacing, job.edition, job.live)


def cantilever_share(job: Job) -> float:
    """The share of the actual span beside it that a joist may run past its support."""
    return rules.joist_cantilever_share(job.edition).number


def cantilever_limit(job: Job, span: float) -> Limit:
    """The lesser of the table's cantilever and a quarter of the actual span beside it, inches."""
    answer, rule = cantilever_answer(job), rules.joist_cantilever_share(job.edition)
    if rule.number * span < answer.most:
        return Limit(rule.number * span, rule.source, QUARTER, answer.computed)
    return limit_of(answer)


def members(job: Job, beams: tuple[Beam, ...]) -> Iterator[Member]:
    """Joist spans from the house outward, then the cantilevers, then the spacing."""
    stands = supports(job, beams)
    for index, (near, far) in enumerate(zip(stands, stands[1:], strict=False)):
        yield _span(job, beams, index, far - near)
    if not job.attached and len(beams) > 1:
        yield _cantilever(job, "house", stands[0], stands[1] - stands[0], beams[0].number)
    if job.out - stands[-1] > SLACK and len(stands) > 1:
        yield _cantilever(job, "yard", job.out - stands[-1], stands[-1] - stands[-2], beams[-1].number)
    yield _spacing(job)


def _span(job: Job, beams: tuple[Beam, ...], index: int, actual: float) -> Member:
    limit, beam = limit_of(span_answer(job, beams)), beams[index if job.attached else index + 1].number
    say = Message(
        "walk.frame.say.joist-span",
        {
            "from": support_name(job, index),
            "to": support_name(job, index + 1),
            "actual": actual,
            "most": limit.most,
            "size": job.joist_size,
            "spacing": spacing_text(job.joist_spacing, job.units),
        },
    )
    stands = level(actual, limit.most, limit.source)
    return Member(f"joist-span-{index + 1}", "joist-span", beam, actual, limit, stands, say)


def _cantilever(job: Job, side: str, actual: float, span: float, beam: int) -> Member:
    limit = cantilever_limit(job, span)
    slots: dict[str, Slot] = {"actual": actual, "most": limit.most, "beam": str(beam)}
    say = Message(f"walk.frame.say.joist-cantilever-{side}", slots)
    stands = level(actual, limit.most, limit.source)
    return Member(f"joist-cantilever-{side}", "joist-cantilever", beam, actual, limit, stands, say)


def _spacing(job: Job) -> Member:
    """Decking over the joists: 5/4 boards laid square span 16 in., 2 in. boards 24 in.: IRC 2018 R507.7."""
    thin, thick = (rules.rule(f"decking_{size}_max_joist_spacing") for size in ("5/4", "2in"))
    rule = thin if job.joist_spacing <= square(thin.value) else thick
    most = square(rule.value)
    key = "walk.frame.say.spacing" if rule is thin else "walk.frame.say.spacing-thick"
    say = Message(key, {"spacing": spacing_text(job.joist_spacing, job.units)})
    stands = level(job.joist_spacing, most, rule.source)
    limit = Limit(most, rule.source, "decking", most)
    return Member("spacing", "spacing", 0, float(job.joist_spacing), limit, stands, say)


def square(value: str) -> float:
    """The first figure of "16 square / 12 diagonal": boards laid square to the joists, inches."""
    return float(value.split()[0])


def decking(job: Job) -> float:
    """The thickness of decking the joists ask for, inches: 1, or 1 1/2 where they lie more than 16 in. apart."""
    return 1.0 if job.joist_spacing <= square(rules.rule("decking_5/4_max_joist_spacing").value) else 1.5


def spacing_text(inches: float, units: str) -> str:
    """A spacing as the trade says it: 16 in., never 1' 4"."""
    return f"{inches:g} in." if units == "inch" else str(tape.show(inches, units))
