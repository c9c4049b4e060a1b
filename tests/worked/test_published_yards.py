"""Yards whose numbers others published, walked and adjusted; each test names its source."""

from __future__ import annotations

import cmath
import math
from typing import Any

import pytest

from server.field import network, points, question, square, walk
from server.talk import Walker
from tests.demo import Memory, bare, document

FINE = {"length": 1e4, "sigma": 1e-5, "sigma_per_10_ft": 0.0, "set": 1e-5, "eye": 12.0}
USUAL = {"length": 400.0, "sigma": 1 / 16, "sigma_per_10_ft": 1 / 32, "set": 1 / 32, "eye": 12.0}


def fourteen_by_fourteen() -> dict[str, Any]:
    beam = {"setback": "14'", "plies": 2, "size": "2x10", "posts": {"count": 3, "cantilever": "1'"}}
    return document(**bare(width="14'", out="14'", beams=[beam], tape="25'"))


def test_a_deck_with_equal_diagonals_and_unequal_ends() -> None:
    """Fine Homebuilding forum, 21 May 2004, a real deck: 14 × 14 ft, ledger end 168 in., far end 170 in., both diagonals
    238.25 in., "2 in. difference unexplained". A trapezoid; both side strings lean out, an inch each at 14 ft."""
    walker = Walker(fourteen_by_fourteen(), Memory())  # type: ignore[arg-type]
    read = {frozenset(("FL", "FR")): 170.0, frozenset(("WL", "FR")): 238.25, frozenset(("WR", "FL")): 238.25}
    taken = []
    while (ask := walker.ask())["ask"] != "move":
        given: dict[str, Any] = {"done": True}
        if ask["ask"] in ("pull", "again"):
            pair = frozenset((ask["from"], ask["to"]))
            given = {"inches": read[pair]} if pair in read else {"cannot": "blocked"}
            taken += [pair] if pair in read else []
        assert walker.take(ask, given)["status"] == "ok"
    assert taken == list(read), "each once: three readings that agree with each other are not asked again"
    assert ask["verdict"]["key"] == "walk.shape.trapezoid"
    assert ask["verdict"]["slots"]["widths"] == 2.0
    assert ask["verdict"]["slots"]["target"] == pytest.approx(237.588, abs=0.001)
    moves = {one["point"]: one["by"][0] for one in walker.state["acts"]["frame/2"]["moves"]}
    nail = walker.document["yard"]["points"]["NL"]["y"]
    assert moves == {"NL": pytest.approx(nail / 168, rel=0.02), "NR": pytest.approx(-nail / 168, rel=0.02)}
    assert walk.step_list(walker.document, walker.state)


def test_the_sides_of_that_deck_by_ptolemys_theorem() -> None:
    """The same deck: legs of sqrt(238.25² - 168 · 170) = 167.938 in. as computed beside the published numbers."""
    leg = math.sqrt(238.25**2 - 168.0 * 170.0)
    assert leg == pytest.approx(167.938, abs=0.001)
    assert square.shape(168.0, 170.0, 238.25, 238.25, 237.588, 0.25) == square.TRAPEZOID


A, B, C = complex(10866.262, 10032.650), complex(10150.022, 9450.085), complex(9975.255, 9936.999)
AC, BC = 896.126, 517.328


def tied(tape: dict[str, float], eye: complex, **marks: complex) -> dict[str, Any]:
    """Two marks on a wall as far apart as A and B, and ground marks that only ties know, planned `eye` from where they are."""
    across = abs(B - A)
    yard: dict[str, Any] = {
        "WA": {"kind": "wall", "x": 0.0, "y": 0.0, "from": None, "reading": 0.0},
        "WB": {"kind": "wall", "x": across, "y": 0.0, "from": "WA", "reading": across},
    }
    for name, place in marks.items():
        at = [place.real + eye.real, place.imag + eye.imag]
        yard[name] = {"kind": "ground", "x": at[0], "y": at[1], "under": "WA", "offset": at}
    seen = points.plan_view({"tape": tape, "points": yard, "strings": {}})
    seen["loose"] = dict.fromkeys(marks, True)
    return dict(seen)


def test_two_taped_distances_fix_a_point() -> None:
    """"Trilateration Problem", surveying text set (Scribd 795531250): A(N 10032.650, E 10866.262), B(N 9450.085,
    E 10150.022), AC = 896.126, BC = 517.328 give C(N 9936.999, E 9975.255), angles A 32-59-46.9, B 70-37-14.7,
    C 76-22-58.4; the other root is N 9179.805, E 10591.131. One unit is taken for an inch."""
    turn = (B - A) / abs(B - A)
    local = ((C - A) / turn).conjugate()  # seen from the wall A to B, C lies in the yard
    assert local.imag > 0
    seen = tied(FINE, complex(4.0, -3.0), G=local)
    pulls = [{"from": "WA", "to": "G", "inches": AC, "t": 0}, {"from": "WB", "to": "G", "inches": BC, "t": 0}]
    fit = network.adjust(seen, pulls, ["G"])
    here = network.stand(fit, "G", 0.0)
    found = A + complex(here["x"], here["y"]).conjugate() * turn
    assert (found.imag, found.real) == (pytest.approx(9936.9987, abs=2e-3), pytest.approx(9975.2555, abs=2e-3))
    corners = {"A": (A, B, found), "B": (B, A, found), "C": (found, A, B)}
    published = {"A": (32, 59, 46.9), "B": (70, 37, 14.7), "C": (76, 22, 58.4)}
    for name, (at, one, other) in corners.items():
        angle = abs(math.degrees(cmath.phase((one - at) / (other - at))))
        degrees, minutes, seconds = published[name]
        assert angle == pytest.approx(degrees + minutes / 60 + seconds / 3600, abs=1 / 3600)


SIX = [("WA", "WB"), ("WA", "G"), ("WA", "H"), ("WB", "G"), ("WB", "H"), ("G", "H")]
BRACED = {"G": complex(40.0, 150.0), "H": complex(270.0, 140.0)}


def braced(wrong: tuple[str, str], more: tuple[tuple[str, str], ...] = ()) -> dict[str, Any]:
    """Four points and the six distances among them, one two inches long; two of the points stand on the wall."""
    seen = tied(USUAL, complex(0.5, -0.5), **BRACED)
    across = {"WA": 0.0, "WB": 312.0, "WM": 156.0}
    seen["yard"]["points"]["WB"] |= {"x": 312.0, "reading": 312.0}
    seen["yard"]["points"]["WM"] = {"kind": "wall", "x": 156.0, "y": 0.0, "from": "WA", "reading": 156.0}
    true = {name: complex(x, 0.0) for name, x in across.items()} | BRACED
    pairs = [*SIX, *more]
    readings = [
        {"from": a, "to": b, "inches": abs(true[a] - true[b]) + (2.0 if (a, b) == wrong else 0.0), "t": 0, "number": k}
        for k, (a, b) in enumerate(pairs)
    ]
    return dict(network.adjust(seen, readings, ["G", "H", "WM"]))


def explained(fit: dict[str, Any]) -> list[tuple[str, str]]:
    """The pulls that would explain what does not fit, the likeliest first."""
    some = question.rivals(question.suspects(fit, {}))
    return [(*SIX, *MORE)[one["readings"][0]] for one in some if one["readings"]]


MORE = (("WM", "G"), ("WM", "H"))


@pytest.mark.parametrize("wrong", SIX[1:5])
def test_a_braced_quadrilateral_shows_that_a_side_is_wrong_and_one_more_pull_names_it(wrong: tuple[str, str]) -> None:
    """Braced quadrilateral (trilateration of four points, six distances, one to spare): a wrong side is detected, and with
    one distance to spare no side can be told from another. The pull to a third mark on the wall that tells most names it."""
    fit = braced(wrong)
    assert set(explained(fit)) == set(SIX[1:]), "any of them may be it"
    pulls = [{"from": a, "to": b, "inches": points.distance(fit["seen"], 0, a, b)} for a, b in MORE]
    found = question.telling(fit, pulls, question.rivals(question.suspects(fit, {})))
    assert found is not None
    assert found["to"] in wrong
    after = ranked(braced(wrong, tuple(pair for pair in MORE if pair[1] == found["to"])))
    assert after[0][0] == wrong
    assert after[0][1] > after[1][1] + question.CLEAR


def ranked(fit: dict[str, Any]) -> list[tuple[tuple[str, str], float]]:
    """Suspected pulls with their scores; what is suspected of the third wall mark itself is left out."""
    taken = [(one["from"], one["to"]) for one in fit["readings"]]
    return [(taken[one["readings"][0]], one["score"]) for one in question.suspects(fit, {}) if one["readings"]]


def test_the_side_between_two_marks_needs_a_pull_to_each_of_them() -> None:
    """The same figure: one more pull fixes one mark, and three sides are left that may be it."""
    wrong = ("G", "H")
    assert set(explained(braced(wrong))) == set(SIX[1:])
    for more, left in ((MORE[:1], {"WA", "WB", "G"}), (MORE[1:], {"WA", "WB", "H"})):
        pairs = explained(braced(wrong, more))
        assert wrong in pairs
        assert {end for pair in pairs for end in pair} >= left
        assert len(pairs) >= 3
    both = ranked(braced(wrong, MORE))
    assert both[0][0] == wrong
    assert both[0][1] > both[1][1] + question.CLEAR
