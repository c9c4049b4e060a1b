"""Worked numbers that others published; each test names its source."""

from __future__ import annotations

import math

import pytest
import shapely

from server.field import square, tape


def test_diagonal_of_50_by_84_ft() -> None:
    """Hansen Construction Manual, Building Layout: 97.754795 ft = 97 ft 9-1/16 in."""
    diagonal = square.length(50 * 12.0, 84 * 12.0)
    assert diagonal / 12 == pytest.approx(97.754795, abs=1e-6)
    assert tape.show(diagonal, "inch") == "97' 9 1/16\""


def test_equal_diagonals_and_unequal_ends_are_a_trapezoid() -> None:
    """Fine Homebuilding forum, 21 May 2004, a real deck: 14 ft square, far end 170 in., both diagonals 238.25 in."""
    target = square.length(168.0, 168.0)
    assert square.shape(168.0, 170.0, 238.25, 238.25, target, 0.25) == square.TRAPEZOID
    assert target == pytest.approx(237.588, abs=0.001)


def test_one_continuous_tape_in_metres() -> None:
    """FAO Irrigation Water Management Training Manual 2, sec. 4.1: 12 m loop at 0, 3, 8, 12 squares a corner 3-4-5."""
    found = square.triangle(3.0, 4.0, 5.0, 1.0)
    assert (found["a"], found["b"], found["c"]) == (3.0, 8.0 - 4.0, 8.0 - 3.0)


def test_30_40_50_on_one_tape() -> None:
    """Old handbook reprint, To set out a right angle: pegs 40 ft apart, 80 ft of tape, the 50 ft mark pulled."""
    found = square.triangle(30 * 12.0, 40 * 12.0, 50 * 12.0, 120.0)
    assert (found["a"], found["b"], found["c"]) == (360.0, 480.0, 600.0)


@pytest.mark.parametrize(("a", "b", "c"), [(3, 4, 5), (6, 8, 10), (9, 12, 15), (12, 16, 20), (15, 20, 25)])
def test_multiples_of_3_4_5(a: int, b: int, c: int) -> None:
    """Common practice, no source: every multiple of 3-4-5 is a right triangle."""
    found = square.triangle(a * 12.0, b * 12.0, c * 12.0, 12.0 * a / 3)
    assert found["c"] == pytest.approx(c * 12.0)


def test_inches_to_decimal_feet() -> None:
    """Ask Dr. Math 58323: 16 ft 10-5/8 in = 16.88541667 ft; the companion 15.92708333 ft is 15 ft 11-1/8 in."""
    assert tape.parse("16 ft 10-5/8 in", "inch")["inches"] / 12 == pytest.approx(16.88541667, abs=1e-8)
    assert tape.show(tape.parse("15.92708 ft", "inch")["inches"], "inch") == "15' 11 1/8\""


@pytest.mark.parametrize(
    ("feet", "inches"),
    [
        ("0.9167", '11"'),
        ("0.0781", '15/16"'),
        ("0.0729", '7/8"'),
        ("0.0677", '13/16"'),
        ("0.0625", '3/4"'),
        ("0.0573", '11/16"'),
        ("0.0521", '5/8"'),
        ("0.0469", '9/16"'),
        ("0.0417", '1/2"'),
        ("0.0365", '7/16"'),
        ("0.0313", '3/8"'),
        ("0.0260", '5/16"'),
        ("0.0208", '1/4"'),
        ("0.0156", '3/16"'),
        ("0.0104", '1/8"'),
        ("0.0052", '1/16"'),
    ],
)
def test_decimal_foot_table(feet: str, inches: str) -> None:
    """Hansen Construction Manual, table 4-1."""
    assert tape.show(tape.parse(f"{feet} ft", "inch")["inches"], "inch") == inches


def test_adding_sixteenths() -> None:
    """Woodworker's Journal: 3-1/16 + 1-5/8 = 4-11/16."""
    total = tape.parse('3-1/16"', "inch")["inches"] + tape.parse('1-5/8"', "inch")["inches"]
    assert tape.show(total, "inch") == '4 11/16"'


def test_height_stack() -> None:
    """homestery.com, deck checklist: surface 48 less decking 1, joist 9-1/4 and beam 9-1/4 leaves 28-1/2."""
    parts = [tape.parse(text, "inch")["inches"] for text in ('48"', '1"', '9 1/4"', '9 1/4"')]
    assert tape.show(parts[0] - sum(parts[1:]), "inch") == "2' 4 1/2\""


def test_area_by_coordinates() -> None:
    """J. Mahun, Open Access Surveying Library, Traverse Computations ch. G ex. 1: half of 3,590,045.6 - 3,384,174.1."""
    ring = [(500.0, 2000.0), (323.614, 1561.426), (526.996, 1488.321), (719.336, 1686.956)]
    assert square.area(ring) == pytest.approx((3590045.6 - 3384174.1) / 2, abs=0.1)
    assert square.area(ring) == pytest.approx(shapely.Polygon(ring).area)


def test_a_wide_far_end_is_never_called_square() -> None:
    """From the same deck as above: the far end 2 in. wide stays a trapezoid up to a doubt just below 2 in."""
    target = math.hypot(168.0, 168.0)
    names = {square.shape(168.0, 170.0, 238.25, 238.25, target, doubt / 10) for doubt in range(1, 20)}
    assert names == {square.TRAPEZOID}
