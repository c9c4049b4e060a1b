"""Square checks against worked numbers, sympy's algebra and brute force."""

from __future__ import annotations

import math

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from server.field import network, points, square

TAPE = {"length": 360.0, "sigma": 1 / 16, "sigma_per_10_ft": 1 / 32, "set": 1 / 32, "eye": 12.0}


def brute_triangle(wall: float, string: float, reach: float) -> tuple[float, float, float]:
    """The best whole-foot triangle by looking at every one."""
    fits = [
        (math.hypot(a, b) / (a * b), a, b)
        for a in range(12, int(wall) + 1, 12)
        for b in range(12, int(string) + 1, 12)
        if math.hypot(a, b) <= reach
    ]
    return min(fits)


@pytest.mark.parametrize(
    ("wall", "string", "reach", "legs"),
    [
        (26 * 12, 15.5 * 12, 30 * 12, (25, 15)),
        (16 * 12, 14.5 * 12, 25 * 12, (16, 14)),
        (5 * 12, 5 * 12, 5 * 12, (3, 4)),
        (4 * 12, 3 * 12, 5 * 12, (4, 3)),
        (24 * 12, 22 * 12, 30 * 12, (21, 21)),
    ],
)
def test_the_largest_triangle_that_fits(wall: float, string: float, reach: float, legs: tuple[int, int]) -> None:
    found = square.triangle(wall, string, reach, 12.0)
    assert {found["a"] / 12, found["b"] / 12} == set(legs)
    assert found["c"] == pytest.approx(math.hypot(found["a"], found["b"]))


@given(st.integers(48, 480), st.integers(48, 400), st.integers(120, 480))
def test_no_triangle_that_fits_squares_better(wall: int, string: int, reach: int) -> None:
    found = square.triangle(wall, string, reach, 12.0)
    least, _, _ = brute_triangle(wall, string, reach)
    assert found["a"] <= wall
    assert found["b"] <= string
    assert found["c"] <= reach + 1e-6
    assert found["c"] / (found["a"] * found["b"]) == pytest.approx(least)


def test_no_triangle_where_a_foot_does_not_fit() -> None:
    assert square.triangle(11.0, 100.0, 300.0, 12.0) is None


def test_a_larger_triangle_squares_better() -> None:
    """Common practice, no source: 3-4-5 < 6-8-10 < 9-12-15."""
    doubts = [square.angle_sigma(36.0 * k, 48.0 * k, TAPE) for k in (1, 2, 3)]
    assert doubts[0] > doubts[1] > doubts[2]


def test_doubt_of_a_triangle_at_the_nail() -> None:
    """Doubt with 1/16 in. a reading at 16 ft: 3-4-5 in feet about 0.59 in., 12-16-20 about 0.15 in. (closed form)."""
    flat = {**TAPE, "sigma_per_10_ft": 0.0}
    assert 192 * square.angle_sigma(36.0, 48.0, flat) == pytest.approx(0.59, abs=0.005)
    assert 192 * square.angle_sigma(144.0, 192.0, flat) == pytest.approx(0.15, abs=0.005)


def test_the_doubt_is_the_law_of_cosines_differentiated() -> None:
    """sympy as oracle: with cos C = (a² + b² - c²)/2ab, dC/dc at a right angle is c/(ab), dC/da is -1/b, dC/db -1/a."""
    a, b, c = sympy.symbols("a b c", positive=True)
    angle = sympy.acos((a**2 + b**2 - c**2) / (2 * a * b))
    right = {c: sympy.sqrt(a**2 + b**2)}
    assert sympy.simplify(angle.diff(c).subs(right) - sympy.sqrt(a**2 + b**2) / (a * b)) == 0
    assert sympy.simplify(angle.diff(a).subs(right) + 1 / b) == 0
    assert sympy.simplify(angle.diff(b).subs(right) + 1 / a) == 0
    variance = (angle.diff(c) ** 2 + angle.diff(a) ** 2 + angle.diff(b) ** 2).subs(right)
    expected = sympy.sqrt(sympy.simplify(variance)).subs({a: 108, b: 144}) / 16
    flat = {**TAPE, "sigma_per_10_ft": 0.0}
    assert square.angle_sigma(108.0, 144.0, flat) == pytest.approx(float(expected), rel=1e-9)


def corner_yard(out: float, a: float, b: float) -> dict[str, object]:
    """One wall, one string, one triangle."""
    return {
        "tape": TAPE,
        "points": {
            "WL": {"kind": "wall", "x": 0.0, "y": 0.0, "from": None, "reading": 0.0},
            "TL": {"kind": "wall", "x": a, "y": 0.0, "from": "WL", "reading": a},
            "NL": {"kind": "nail", "x": 0.0, "y": out, "board": [1.0, 0.0]},
            "SL": {"kind": "flag", "x": 0.0, "y": b, "string": "left", "from": "WL", "reading": b},
        },
        "strings": {"left": {"from": "WL", "to": "NL"}},
    }


@pytest.mark.parametrize("off", [-1.5, -0.3125, 0.3125, 0.75, 2.0])
def test_the_move_is_minus_length_times_cot(off: float) -> None:
    """A closing side off by `off`: the nail moves -L·cot C, C from the law of cosines (sympy as oracle)."""
    a, b, out = 108.0, 144.0, 180.0
    reading = 180.0 + off
    cos = sympy.Rational(108**2 + 144**2) / (2 * 108 * 144) - sympy.Float(reading) ** 2 / (2 * 108 * 144)
    move = -out * float(sympy.cot(sympy.acos(cos)))
    seen = points.plan_view(corner_yard(out, a, b))
    network.adjust(seen, [{"from": "TL", "to": "SL", "inches": reading, "t": 0}], ["NL"])
    # The nail slides along a straight board and by eye it was not known at all: 0.2 % is the flag's and mark's share.
    assert -seen["off"]["NL"] == pytest.approx(move, rel=4e-3)


@pytest.mark.parametrize(
    ("far", "first", "second", "name"),
    [
        (168.0, 237.588, 237.588, square.SQUARE),
        (168.0, 238.5, 236.7, square.PARALLELOGRAM),
        (170.0, 238.25, 238.25, square.TRAPEZOID),
        (170.0, 239.5, 236.5, square.OTHER),
        (168.0, 240.0, 240.0, square.OTHER),
    ],
)
def test_names_the_shape(far: float, first: float, second: float, name: str) -> None:
    assert square.shape(168.0, far, first, second, 237.588, 0.25) == name
