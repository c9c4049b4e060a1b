"""How much deck each post carries: against statics by integration, polygons, and the whole deck."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from server.codes import statics
from server.framing import areas
from server.framing.placing import place
from tests.framed import beam, deck


@st.composite
def lines(draw: st.DrawFn) -> list[float]:
    """Supports a foot apart at least."""
    gaps = draw(st.lists(st.integers(12, 200), min_size=2, max_size=5))
    return [float(sum(gaps[: count + 1])) for count in range(len(gaps))]


def influence(stands: list[float], index: int, at: float) -> float:
    """What one support carries of a pound at a place: by moments about its neighbour in the span that holds the place."""
    spans = list(zip(stands, stands[1:], strict=False))
    inside = [n for n, (_, right) in enumerate(spans) if at <= right]
    span = inside[0] if inside else len(spans) - 1
    left, right = spans[span]
    if index == span:
        return (right - at) / (right - left)
    return (at - left) / (right - left) if index == span + 1 else 0.0


@given(lines(), st.floats(0, 900), st.floats(0.5, 900))
def test_reactions_are_those_of_integrated_influence_lines(stands: list[float], low: float, length: float) -> None:
    found = areas.reactions(stands, low, low + length)
    assert sum(found) == pytest.approx(length)
    marks = sorted(mark for mark in stands if low < mark < low + length)
    for index, carried in enumerate(found):
        pieces = zip([low, *marks], [*marks, low + length], strict=True)
        summed = sum(integrate.quad(lambda at, of=index: influence(stands, of, at), *piece)[0] for piece in pieces)
        assert carried == pytest.approx(summed, abs=1e-6 * max(1.0, abs(summed)))


def test_a_joist_end_loads_its_beam_as_a_lever() -> None:
    """w (L + a)² / 2L on the beam, w (L² - a²) / 2L on the ledger."""
    ledger, (strip,) = areas.strips(deck(), place(deck()))
    assert strip == pytest.approx(statics.overhang_reaction(1.0, 138, 18))
    assert ledger == pytest.approx(statics.far_reaction(1.0, 138, 18))


def test_posts_hold_the_polygons_between_middles_where_no_joist_runs_past() -> None:
    job = deck(out=240.0, beams=(beam(120.0, 30, 100, 200, 290), beam(240.0, 10, 150, 312)))
    stands = [0.0, 120.0, 240.0]
    floor = shapely.box(0, 0, job.width, job.out)
    for number, row in enumerate(areas.post_areas(job, place(job)), 1):
        posts = place(job)[number - 1].posts
        near = (stands[number - 1] + stands[number]) / 2
        far = (stands[number] + stands[number + 1]) / 2 if number + 1 < len(stands) else 999
        for index, area in enumerate(row):
            left = (posts[index - 1] + posts[index]) / 2 if index else -999
            right = (posts[index] + posts[index + 1]) / 2 if index + 1 < len(posts) else 999
            part = floor.intersection(shapely.box(left, near, right, far))
            assert area == pytest.approx(part.area / 144)


@given(st.booleans(), st.lists(st.integers(14, 120), min_size=2, max_size=4), st.integers(0, 40), st.integers(2, 9))
def test_posts_and_ledger_carry_the_whole_deck(attached: bool, gaps: list[int], past: int, count: int) -> None:
    setbacks = [float(sum(gaps[: n + 1])) for n in range(len(gaps))]
    orders = tuple(beam(at, *(12.0 + n * 288 / (count - 1) for n in range(count))) for at in setbacks)
    job = deck(attached=attached, out=setbacks[-1] + past, beams=orders)
    carried = sum(map(sum, areas.post_areas(job, place(job)))) + areas.ledger_area(job, place(job))
    assert carried == pytest.approx(job.width * job.out / 144)


def test_an_end_post_takes_its_whole_cantilever() -> None:
    assert areas.lengths((20.0, 100.0, 200.0), 210.0) == (60.0, 90.0, 60.0)
