"""Conversions against figures that are exact by definition (1 in = 25.4 mm)."""
import pytest
from pint import DimensionalityError

from server.units import area, convert, floor, millimetres, volume


def test_an_inch_is_25_4_millimetres_by_definition():
    assert millimetres(1.0) == pytest.approx(25.4, abs=1e-12)
    assert convert(3048, "millimetre", "inch") == pytest.approx(120.0, abs=1e-9)


@pytest.mark.parametrize(
    ("square_inches", "units", "said"),
    [(312.0 * 156.0, "inch", "338 sq ft"), (4800 * 3600 / 25.4**2, "millimetre", "17.3 m²")],
)
def test_area_as_it_is_said(square_inches, units, said):
    assert area(square_inches, units) == said


def test_a_length_is_no_area():
    with pytest.raises(DimensionalityError):
        convert(1.0, "inch", "foot ** 2")


def test_a_volume_is_said_as_the_job_says_it() -> None:
    """1 cu ft is 0.0283168 m³ (exact: 0.3048³)."""
    assert volume(12.27, "inch") == "12.3 cu ft"
    assert volume(12.27, "millimetre") == f"{12.27 * 0.3048**3:.2f} m³"


def test_a_floor_given_in_square_feet() -> None:
    assert floor(338, "inch") == "338 sq ft"
    assert floor(338, "millimetre") == "31.4 m²"
