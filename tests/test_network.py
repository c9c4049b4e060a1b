"""The yard's geometry against shapely, the adjustment against scipy's least squares, the radius against the integral."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import scipy.integrate
import scipy.optimize
import scipy.stats
import shapely
from hypothesis import given
from hypothesis import strategies as st

from server.field import network, solve, square

TAPE = {"length": 360.0, "sigma": 1 / 16, "sigma_per_10_ft": 1 / 32, "set": 1 / 32, "eye": 12.0}
slides = st.floats(-6, 6)


def yard(width: float = 312.0, out: float = 192.0, line: float = 138.0) -> dict[str, Any]:
    """Two side strings and one beam string with a flag; a rectangle only while every nail is on its plan."""
    return {
        "tape": TAPE,
        "points": {
            "WL": {"kind": "wall", "x": 0.0, "y": 0.0, "from": None, "reading": 0.0},
            "WR": {"kind": "wall", "x": width, "y": 0.0, "from": "WL", "reading": width},
            "NL": {"kind": "nail", "x": 0.0, "y": out, "board": [1.0, 0.0]},
            "NR": {"kind": "nail", "x": width, "y": out, "board": [1.0, 0.0]},
            "BL": {"kind": "nail", "x": -36.0, "y": line, "board": [0.0, 1.0]},
            "BR": {"kind": "nail", "x": width + 36.0, "y": line, "board": [0.0, 1.0]},
            "XL": {"kind": "crossing", "x": 0.0, "y": line, "strings": ["left", "beam"]},
            "XR": {"kind": "crossing", "x": width, "y": line, "strings": ["right", "beam"]},
            "P": {"kind": "flag", "x": 100.0, "y": line, "string": "beam", "from": "XL", "reading": 100.0},
            "G": {"kind": "ground", "x": 100.0, "y": line + 1.5, "under": "P", "offset": [0.0, 1.5]},
        },
        "strings": {
            "left": {"from": "WL", "to": "NL"},
            "right": {"from": "WR", "to": "NR"},
            "beam": {"from": "BL", "to": "BR"},
        },
    }


@given(slides, slides, slides, slides)
def test_corners_are_where_shapely_says_the_strings_cross(a: float, b: float, c: float, d: float) -> None:
    ground = yard()
    offsets = {"NL": a, "NR": b, "BL": c, "BR": d}
    beam = shapely.LineString([(-36, 138 + c), (348, 138 + d)])
    for name, line in (("XL", [(0, 0), (0 + a, 192)]), ("XR", [(312, 0), (312 + b, 192)])):
        oracle = shapely.LineString(line).intersection(beam)
        assert network.place(ground, offsets, name) == pytest.approx([oracle.x, oracle.y], abs=1e-9)


@given(slides, slides, slides, slides, st.floats(-1, 1))
def test_a_flag_hangs_at_its_reading_along_the_string(a: float, b: float, c: float, d: float, e: float) -> None:
    ground = yard()
    offsets = {"NL": a, "NR": b, "BL": c, "BR": d, "P": e}
    start = network.place(ground, offsets, "XL")
    beam = shapely.LineString([start, (348, 138 + d)])
    oracle = beam.interpolate(100 + e)
    assert network.place(ground, offsets, "P") == pytest.approx([oracle.x, oracle.y], abs=1e-9)
    assert network.place(ground, offsets, "G") == pytest.approx([oracle.x, oracle.y + 1.5], abs=1e-9)


def test_parallel_strings_do_not_cross() -> None:
    ground = yard()
    ground["points"]["XX"] = {"kind": "crossing", "x": 0.0, "y": 0.0, "strings": ["left", "right"]}
    with pytest.raises(ValueError, match="do not cross"):
        network.place(ground, {}, "XX")


def test_a_corner_hangs_on_both_ends_of_both_strings() -> None:
    found: list[str] = []
    network.unknowns(yard(), "XR", found)
    assert sorted(found) == ["BL", "BR", "NR", "WR"]


def pulls(ground: dict[str, Any], offsets: dict[str, float], noise: list[float]) -> list[dict[str, Any]]:
    pairs = [("WL", "XL"), ("WR", "XR"), ("XL", "XR"), ("WL", "XR"), ("WR", "XL"), ("WL", "P"), ("WR", "P")]
    return [
        {"from": a, "to": b, "inches": network.distance(ground, offsets, a, b) + e}
        for (a, b), e in zip(pairs, noise, strict=True)
    ]


@pytest.mark.parametrize("seed", range(8))
def test_adjusts_to_scipys_least_squares(seed: int) -> None:
    """scipy.optimize.least_squares over the same equations, covariance from its Jacobian."""
    random = np.random.default_rng(seed)
    ground = yard()
    truth = dict(zip(("NL", "NR", "BL", "BR"), random.normal(0, 3, 4), strict=True))
    readings = pulls(ground, truth, list(random.normal(0, 0.08, 7)))
    fit = network.adjust(ground, readings, [], [])
    names = fit["names"]

    def residuals(values: np.ndarray) -> np.ndarray:
        offsets = dict(zip(names, values, strict=True))
        prior = [values[i] / network.prior_sigma(ground, name) for i, name in enumerate(names)]
        missed = [
            (network.distance(ground, offsets, one["from"], one["to"]) - one["inches"])
            / square.tape_sigma(one["inches"], TAPE)
            for one in readings
        ]
        return np.array(prior + missed)

    oracle = scipy.optimize.least_squares(residuals, np.zeros(len(names)), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    covariance = np.linalg.inv(oracle.jac.T @ oracle.jac)
    for i, name in enumerate(names):
        assert fit["offsets"][name] == pytest.approx(oracle.x[i], abs=2e-4)
        doubt = 1.959964 * math.sqrt(covariance[i][i] * fit["scale"])
        assert network.give_or_take(fit, name) == pytest.approx(doubt, rel=2e-3)


def test_one_bad_reading_among_seven_is_the_odd_one() -> None:
    ground = yard()
    noise = [0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]
    fit = network.adjust(ground, pulls(ground, {}, noise), [], [])
    assert fit["odd"] == 4
    assert fit["oddness"] > network.ODD


def test_readings_that_agree_are_not_odd() -> None:
    ground = yard()
    fit = network.adjust(
        ground, pulls(ground, {"NL": 2.0, "BR": -1.0}, [0.03, -0.05, 0.04, 0.0, 0.06, -0.02, 0.05]), [], []
    )
    assert fit["oddness"] < network.ODD
    assert fit["scale"] == 1.0


def exact_radius(mean: np.ndarray, covariance: np.ndarray) -> float:
    """95 % radius about the origin by integrating the normal density over a disc (scipy)."""
    values, vectors = np.linalg.eigh(covariance)
    m = vectors.T @ mean
    s = np.sqrt(values)

    def inside(r: float) -> float:
        def strip(x: float) -> float:
            half = math.sqrt(max(r * r - x * x, 0.0))
            across = scipy.stats.norm.cdf(half, m[1], s[1]) - scipy.stats.norm.cdf(-half, m[1], s[1])
            return float(scipy.stats.norm.pdf(x, m[0], s[0]) * across)

        return float(scipy.integrate.quad(strip, -r, r, limit=200, points=[m[0]] if abs(m[0]) < r else None)[0])

    top = float(np.linalg.norm(mean) + 5 * s.max())
    return float(scipy.optimize.brentq(lambda r: inside(r) - 0.95, 1e-6, top, xtol=1e-6))


@pytest.mark.parametrize("ratio", [1.0, 0.7, 0.4, 0.2, 0.1])
@pytest.mark.parametrize("far", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("angle", [0.0, 0.6, 1.57])
def test_radius_holds_95_in_100(ratio: float, far: float, angle: float) -> None:
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    covariance = turn @ np.diag([0.01, 0.01 * ratio * ratio]) @ turn.T
    mean = np.array([0.1 * far, 0.0])
    exact = exact_radius(mean, covariance)
    found = network.radius(mean[0], mean[1], covariance[0][0], covariance[0][1], covariance[1][1])
    assert found == pytest.approx(exact, rel=0.04)


@given(st.lists(st.floats(-3, 3), min_size=9, max_size=9))
def test_roots_and_solutions_are_numpys(values: list[float]) -> None:
    half = np.array(values).reshape(3, 3)
    matrix = half @ half.T + 0.5 * np.eye(3)
    right = [1.0, -2.0, 0.5]
    low = solve.root(matrix.tolist())
    assert np.array(low) == pytest.approx(np.linalg.cholesky(matrix), abs=1e-9)
    assert solve.solve(low, right) == pytest.approx(np.linalg.solve(matrix, right), abs=1e-8)


def test_a_matrix_that_is_not_positive_definite_is_refused() -> None:
    with pytest.raises(ValueError, match="positive definite"):
        solve.root([[1.0, 2.0], [2.0, 1.0]])
