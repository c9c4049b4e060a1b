"""The yard's geometry against shapely, the adjustment against scipy's least squares, the radius against the integral."""

from __future__ import annotations

import copy
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

from server.field import network, points, question, solve, square

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


def view(off: dict[str, float]) -> dict[str, Any]:
    """The yard as planned, its unknowns put off by so much."""
    seen = points.plan_view(yard())
    seen["off"] = off
    return dict(seen)


@given(slides, slides, slides, slides)
def test_corners_are_where_shapely_says_the_strings_cross(a: float, b: float, c: float, d: float) -> None:
    seen = view({"NL": a, "NR": b, "BL": c, "BR": d})
    beam = shapely.LineString([(-36, 138 + c), (348, 138 + d)])
    for name, line in (("XL", [(0, 0), (0 + a, 192)]), ("XR", [(312, 0), (312 + b, 192)])):
        oracle = shapely.LineString(line).intersection(beam)
        assert points.place(seen, 0, name) == pytest.approx([oracle.x, oracle.y], abs=1e-9)


@given(slides, slides, slides, slides, st.floats(-1, 1))
def test_a_flag_hangs_at_its_reading_along_the_string(a: float, b: float, c: float, d: float, e: float) -> None:
    seen = view({"NL": a, "NR": b, "BL": c, "BR": d, "P": e})
    start = points.place(seen, 0, "XL")
    beam = shapely.LineString([start, (348, 138 + d)])
    oracle = beam.interpolate(100 + e)
    # The flag keeps its distance from the string's first nail, not from where the side string now crosses.
    assert points.place(seen, 0, "P") == pytest.approx([oracle.x, oracle.y], abs=1e-9)
    assert points.place(seen, 0, "G") == pytest.approx([oracle.x, oracle.y + 1.5], abs=1e-9)


def test_parallel_strings_do_not_cross() -> None:
    ground = yard()
    ground["points"]["XX"] = {"kind": "crossing", "x": 0.0, "y": 0.0, "strings": ["left", "right"]}
    with pytest.raises(ValueError, match="do not cross"):
        points.place(points.plan_view(ground), 0, "XX")


def test_a_corner_hangs_on_both_ends_of_both_strings() -> None:
    assert sorted(points.hangs_on(yard(), "XR")) == ["BL", "BR", "NR", "WR"]


def shift(point: str, along: float) -> dict[str, Any]:
    return {"point": point, "along": along, "sigma": 1 / 32}


@given(slides, slides, slides)
def test_a_nail_moved_takes_its_string_along_and_leaves_what_was_plumbed(a: float, b: float, by: float) -> None:
    """Born before the move, the mark stays where its flag hung; the corner and the flag go with the string."""
    seen = points.view(yard(), [shift("BL", by)], {"P": 0, "G": 0})
    seen["off"] = {"BL": a, "NL": b, "~0": 0.25}
    beam = shapely.LineString([(-36, 138 + a + by + 0.25), (348, 138)])
    corner = shapely.LineString([(0, 0), (b, 192)]).intersection(beam)
    assert points.place(seen, 1, "XL") == pytest.approx([corner.x, corner.y], abs=1e-9)
    before = points.place(seen, 0, "P")
    run = math.dist((-36, 138 + a), before)
    flag = beam.interpolate(run)
    assert points.place(seen, 1, "P") == pytest.approx([flag.x, flag.y], abs=1e-9)
    assert points.place(seen, 1, "G") == pytest.approx([before[0], before[1] + 1.5], abs=1e-9)
    assert points.place(seen, 0, "G") == points.place(seen, 1, "G")


def test_what_a_place_hangs_on_grows_with_its_history() -> None:
    seen = points.view(yard(), [shift("BL", 1.0), shift("P", 0.5), shift("BL", -1.0)], {"P": 0, "G": 2})
    for t, more in ((0, set()), (1, {"~0"}), (3, {"~0", "~1", "~2"})):
        found: list[str] = []
        points.unknowns(seen, t, "P", found)
        assert set(found) == {"NL", "P", "BL", "BR"} | more
    found = []
    points.unknowns(seen, 3, "G", found)
    assert set(found) == {"NL", "P", "BL", "BR", "~0", "~1", "G:x", "G:y"}, "the third move came after it was plumbed"


PAIRS = [("WL", "XL"), ("WR", "XR"), ("XL", "XR"), ("WL", "XR"), ("WR", "XL"), ("WL", "P"), ("WR", "P")]


def pulls(seen: dict[str, Any], t: int, noise: list[float]) -> list[dict[str, Any]]:
    return [
        {"from": a, "to": b, "inches": points.distance(seen, t, a, b) + e, "t": t, "number": k}
        for k, ((a, b), e) in enumerate(zip(PAIRS, noise, strict=True))
    ]


@pytest.mark.parametrize("seed", range(8))
def test_adjusts_to_scipys_least_squares(seed: int) -> None:
    """scipy.optimize.least_squares over the same equations, covariance from its Jacobian; pulls before a move and after."""
    random = np.random.default_rng(seed)
    shifts = [shift("NL", -2.0), shift("BR", 1.0)]
    true = points.view(yard(), shifts, {"P": 0})
    true["off"] = dict(zip(("NL", "NR", "BL", "BR"), random.normal(0, 3, 4), strict=True))
    true["off"] |= {"~0": 0.04, "~1": -0.02}
    readings = pulls(true, 0, list(random.normal(0, 0.08, 7))) + pulls(true, 2, list(random.normal(0, 0.08, 7)))
    fit = network.adjust(points.view(yard(), shifts, {"P": 0}), readings, [])
    names = fit["names"]
    assert {"~0", "~1", "NL", "NR", "BL", "BR", "P", "WR"} == set(names)
    seen = points.view(yard(), shifts, {"P": 0})

    def residuals(values: np.ndarray) -> np.ndarray:
        seen["off"] = dict(zip(names, values, strict=True))
        prior = [values[i] / network.prior_sigma(seen, name) for i, name in enumerate(names)]
        missed = [
            (points.distance(seen, one["t"], one["from"], one["to"]) - one["inches"])
            / square.tape_sigma(one["inches"], TAPE)
            for one in readings
        ]
        return np.array(prior + missed)

    oracle = scipy.optimize.least_squares(residuals, np.zeros(len(names)), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    covariance = np.linalg.inv(oracle.jac.T @ oracle.jac)
    for i, name in enumerate(names):
        assert fit["seen"]["off"][name] == pytest.approx(oracle.x[i], abs=2e-4)
        unit = [1.0 if j == i else 0.0 for j in range(len(names))]
        half = solve.forward(fit["root"], unit)
        assert solve.dot(half, half) == pytest.approx(covariance[i][i], rel=4e-3)
    for nail, along in (("NL", [1.0, 0.0]), ("BR", [0.0, 1.0])):
        own, moved = names.index(nail), names.index("~0" if nail == "NL" else "~1")
        variance = covariance[own][own] + covariance[moved][moved] + 2 * covariance[own][moved]
        assert network.along_doubt(fit, nail, along) == pytest.approx(1.959964 * math.sqrt(variance), rel=2e-3)


def test_one_bad_reading_among_seven_is_the_odd_one() -> None:
    noise = [0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]
    fit = network.adjust(view({}), pulls(view({}), 0, noise), [])
    some = question.rivals(question.suspects(fit, {}))
    assert some[0]["readings"] == [4]
    assert some[0]["bias"] == pytest.approx(1.0, abs=0.2)


def test_readings_that_agree_are_not_odd() -> None:
    noise = [0.03, -0.05, 0.04, 0.0, 0.06, -0.02, 0.05]
    fit = network.adjust(view({}), pulls(view({"NL": 2.0, "BR": -1.0}), 0, noise), [])
    assert question.rivals(question.suspects(fit, {})) == []


@pytest.mark.parametrize("seed", range(6))
def test_leaving_a_reading_out_is_what_its_rank_one_step_says(seed: int) -> None:
    """Drop and bias of every suspect against an adjustment made again without it (chi-square, what the others read)."""
    random = np.random.default_rng(seed)
    readings = pulls(view({"NL": 1.0}), 0, list(random.normal(0, 0.1, 7)))
    readings[seed]["inches"] += 0.5
    fit = network.adjust(view({}), readings, [])
    for one in question.suspects(fit, {}):
        if one["mark"]:
            continue
        (k,) = one["readings"]
        rest = network.adjust(view({}), readings[:k] + readings[k + 1 :], ["P", "XR", "XL"])
        expected = points.distance(rest["seen"], 0, readings[k]["from"], readings[k]["to"])
        assert one["bias"] == pytest.approx(readings[k]["inches"] - expected, abs=3e-3)
        assert one["drop"] == pytest.approx(network.misfits(fit, {}) - network.misfits(rest, {}), rel=0.02, abs=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_leaving_readings_of_one_pull_out_together_is_what_an_adjustment_without_them_says(seed: int) -> None:
    """Two readings of a pull that differ by less than `ALIKE`, before and after a move: chi-square falls by what both explain, no more."""
    random = np.random.default_rng(seed)
    readings = pulls(view({"NL": 1.0}), 0, list(random.normal(0, 0.08, 7)))
    twice = copy.deepcopy(readings[seed]) | {"number": 7}
    readings[seed]["inches"] += 0.6
    twice["inches"] += 0.75
    both = [*readings, twice]
    fit = network.adjust(view({}), both, [])
    (group,) = [one for one in question.suspects(fit, {}) if len(one["readings"]) == 2]
    assert group["readings"] == [seed, 7]
    rest = network.adjust(view({}), [one for one in readings if one is not readings[seed]], [])
    assert group["drop"] == pytest.approx(network.misfits(fit, {}) - network.misfits(rest, {}), rel=0.02, abs=0.02)
    assert group["drop"] <= network.misfits(fit, {})


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
