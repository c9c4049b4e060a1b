"""Sections against the printed ones; statics and columns against integration and root finding by scipy."""
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import cumulative_trapezoid, solve_bvp
from scipy.optimize import brentq

from server.codes import beams, joists, posts, statics, wood
from server.codes.tables import NotInTables, rows

# Lengths in inches, loads in lb/in and lb, stiffness in lb·in²: the range of a deck.
spans = st.floats(24, 300)
loads = st.floats(0.5, 100)
shares = st.floats(0.05, 0.9)
stiffness = st.floats(1e7, 2e9)


# NDS Supplement Table 1B.


@pytest.mark.parametrize("row", rows("sections"), ids=lambda row: row["nominal"])
def test_section_properties_are_those_printed(row) -> None:
    section = wood.section(row["nominal"])
    assert section.area == pytest.approx(float(row["A_in2"]), abs=1e-9)
    assert section.modulus == pytest.approx(float(row["S_in3"]), abs=5.1e-5)
    assert section.inertia == pytest.approx(float(row["I_in4"]), abs=5.1e-5)


# The elastic beam on two points, integrated: x from the far support, the support beside the overhang at `span`.


def bent(w_span: float, w_out: float, tip: float, span: float, out: float, ei: float):
    """Moment, shear and sag along the beam by integrating load -> shear -> moment -> slope -> sag; x, M, V, y arrays."""
    x = np.unique(np.concatenate([np.linspace(0, span, 4001), np.linspace(span, span + out, 2001)]))
    far = (w_span * span**2 / 2 - w_out * out**2 / 2 - tip * out) / span
    near = w_span * span + w_out * out + tip - far
    left = x <= span
    shear = np.where(left, far - w_span * x, far + near - w_span * span - w_out * (x - span))
    # The shear jumps at the support: the moment is integrated on each side of it.
    before = cumulative_trapezoid(shear[left], x[left], initial=0)
    after_x = x[~left]
    after = before[-1] + cumulative_trapezoid(
        np.concatenate([[far + near - w_span * span], shear[~left]]), np.concatenate([[span], after_x])
    )
    moment = np.concatenate([before, after])
    slope = cumulative_trapezoid(-moment / ei, x, initial=0)
    sag = cumulative_trapezoid(slope, x, initial=0)
    sag = sag - sag[np.searchsorted(x, span)] * x / span
    return x, moment, shear, sag, far, near


@given(w=loads, span=spans, ei=stiffness)
def test_a_simple_span(w: float, span: float, ei: float) -> None:
    x, moment, shear, sag, _, _ = bent(w, 0, 0, span, span / 10, ei)
    inside = x <= span
    assert statics.moment(w, span) == pytest.approx(moment[inside].max(), rel=1e-5)
    assert statics.shear(w, span) == pytest.approx(np.abs(shear[inside]).max(), rel=1e-9)
    assert statics.deflection(w, span, ei) == pytest.approx(sag[inside].max(), rel=1e-5)


@given(w=loads, span=spans, share=shares, ei=stiffness)
def test_a_span_with_a_loaded_overhang(w: float, span: float, share: float, ei: float) -> None:
    out = span * share
    x, moment, _, sag, far, near = bent(w, w, 0, span, out, ei)
    assert statics.overhang_reaction(w, span, out) == pytest.approx(near, rel=1e-9)
    assert statics.far_reaction(w, span, out) == pytest.approx(far, rel=1e-7, abs=1e-7 * w * span)
    assert statics.overhang_moment(w, out) == pytest.approx(-moment[np.searchsorted(x, span)], rel=1e-5)
    assert statics.span_moment(w, span, out) == pytest.approx(moment.max(), rel=1e-4, abs=1e-6 * w * span**2)
    scale = w * span**4 / ei
    assert statics.tip_deflection_uniform(w, span, out, ei) == pytest.approx(sag[-1], rel=1e-4, abs=1e-6 * scale)


@given(p=st.floats(10, 1000), span=spans, share=shares, ei=stiffness)
def test_a_load_at_the_tip(p: float, span: float, share: float, ei: float) -> None:
    _, _, _, sag, _, _ = bent(0, 0, p, span, span * share, ei)
    assert statics.tip_deflection(p, span, span * share, ei) == pytest.approx(sag[-1], rel=1e-5)


def test_the_sag_is_also_that_of_the_beam_equation_solved_as_a_boundary_value() -> None:
    """EI y'''' = w, y = y'' = 0 at both ends: 2x8 of southern pine at 16 in. under 40 psf over 142 in."""
    w, span, ei = 40 / 144 * 16, 142.0, 1.26e6 * wood.section("2x8").inertia
    x = np.linspace(0, 1, 51)

    def bend(_: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.vstack([y[1], y[2], y[3], np.full_like(y[0], w * span**4 / ei)])

    def ends(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.array([a[0], a[2], b[0], b[2]])

    found = solve_bvp(bend, ends, x, np.zeros((4, x.size)), tol=1e-8)
    assert found.success
    assert statics.deflection(w, span, ei) == pytest.approx(found.sol(0.5)[0], rel=1e-6)


# The formulas turned round: at the length they give, the limit is just met.


@given(w=loads, most=st.floats(1e3, 1e6))
def test_the_span_of_a_moment_and_of_a_shear(w: float, most: float) -> None:
    assert statics.moment(w, statics.moment_span(w, most)) == pytest.approx(most)
    assert statics.shear(w, statics.shear_span(w, most)) == pytest.approx(most)


@given(w=loads, ei=stiffness)
def test_the_span_of_a_sag(w: float, ei: float) -> None:
    span = statics.deflection_span(w, ei, 360)
    assert statics.deflection(w, span, ei) == pytest.approx(span / 360)


@given(span=spans, ei=stiffness)
def test_the_overhang_of_a_tip_load(span: float, ei: float) -> None:
    out = statics.tip_overhang(220, span, ei, 180)
    assert statics.tip_deflection(220, span, out, ei) == pytest.approx(out / 180)
    by_search = brentq(lambda a: statics.tip_deflection(220, span, a, ei) - a / 180, 1e-6 + out / 10, 10 * out)
    assert out == pytest.approx(by_search, rel=1e-9)


@given(span=spans, w=loads)
def test_a_quarter_of_the_span_keeps_a_loaded_overhang_within_its_limits(span: float, w: float) -> None:
    """Why a cantilever under a heavier load needs no check but its quarter: over the support a quarter of the moment, and
    the tip, with the span unloaded, less than overhang / 180 where the span itself sags by span / 360."""
    out = span / 4
    assert statics.overhang_moment(w, out) <= statics.moment(w, span) / 4 + 1e-9
    ei = 5 * w * span**3 * 360 / 384
    _, _, _, sag, _, _ = bent(0, w, 0, span, out, ei)
    assert sag[-1] < out / 180


def test_beams_carry_joists_that_run_a_quarter_of_their_span_past() -> None:
    assert statics.overhang_reaction(1, 144, 36) == pytest.approx(beams.SHARE * 144)


# Columns, NDS 3.7.


def by_search(stress: float, fc: float, emin: float, d: float) -> float:
    """The height at which Fc* CP equals the stress, CP as 3.7.1.5 prints it, found by search."""

    def short_of(height: float) -> float:
        ratio = 0.822 * emin / (height / d) ** 2 / fc
        half = (1 + ratio) / (2 * 0.8)
        return fc * (half - math.sqrt(half**2 - ratio / 0.8)) - stress

    return brentq(short_of, 1e-3, 1e4 * d)


@given(share=st.floats(0.02, 0.97), fc=st.floats(200, 2000), emin=st.floats(2e5, 6e5), d=st.sampled_from([3.5, 5.5, 7.5]))
def test_the_height_of_a_column(share: float, fc: float, emin: float, d: float) -> None:
    height = wood.column_height(share * fc, fc, emin, d)
    assert height == pytest.approx(min(50 * d, by_search(share * fc, fc, emin, d)), rel=1e-6)


def test_a_column_short_of_strength_has_no_height() -> None:
    assert wood.column_height(1000, 1000, 4e5, 3.5) == 0
    assert wood.column_height(1001, 1000, 4e5, 3.5) == 0


# Reference values and factors, NDS Supplement Tables 4A, 4B, 4D; NDS 4.3.


def test_southern_pine_has_its_size_in_its_values_and_others_take_a_factor() -> None:
    assert wood.reference("southern pine", "2x10").fb == 800
    assert wood.reference("douglas fir-larch", "2x6").fb == pytest.approx(900 * 1.3)
    assert wood.reference("northern species", "3x8").fb == pytest.approx(625 * 1.2)


def test_wet_service_counts_where_bending_is_more_than_1150_psi() -> None:
    """Douglas fir 2x6: 900 · 1.3 = 1170 is more, 1170 · 0.8 = 936 is not: there the editions part."""
    before = wood.joist_stresses("douglas fir-larch", "2x6", "DCA 6-2012").fb
    after = wood.joist_stresses("douglas fir-larch", "2x6", "IRC 2015").fb
    assert before == pytest.approx(1170 * 0.8 * 0.85 * 1.15)
    assert after == pytest.approx(1170 * 0.8 * 1.15)


def test_a_timber_post_takes_the_values_of_timbers() -> None:
    assert wood.post_stresses("southern pine", "6x6").fc == pytest.approx(525 * 0.91)
    assert wood.post_stresses("southern pine", "4x6").fc == pytest.approx(1400 * 0.8)
    assert wood.post_stresses("hem-fir", "4x4").fc == pytest.approx(1300 * 1.15 * 0.8 * 0.8)


def test_ponderosa_and_red_pine_are_northern_species() -> None:
    assert wood.members("ponderosa pine, red pine") == ("northern species",)
    assert wood.members("redwood, western cedars, ponderosa pine, red pine")[-1] == "northern species"


def test_a_check_can_be_done_again_from_its_numbers() -> None:
    """What a person is shown beside a number is enough to do the sum with a pencil."""
    bending, sag, _ = joists.span("hem-fir", "2x10", 16, "IRC 2015").checks
    n = bending.numbers
    assert bending.most == pytest.approx(math.sqrt(8 * n["Fb'"] * n["S"] / n["w"]))
    n = sag.numbers
    assert sag.most == pytest.approx((384 * n["E'"] * n["I"] / (5 * n["w"] * 360)) ** (1 / 3))
    tip = joists.cantilever("hem-fir", "2x10", 16, "DCA 6-2012").checks[0]
    n = tip.numbers
    assert tip.most == pytest.approx((math.sqrt(n["L"] ** 2 + 12 * n["E' I"] / (180 * n["P"])) - n["L"]) / 2 - n["less"])
    shear = beams.span("hem-fir", 2, "2x6", 216, "IRC 2015").checks[2]
    n = shear.numbers
    assert shear.most == math.floor(4 * n["Fv'"] * n["A"] / (3 * n["w"]))
    column = posts.height("hem-fir", "4x4", 100, "IRC 2021").checks[0]
    n = column.numbers
    x = n["P"] / (n["A"] * n["Fc*"])
    r = x * (1 - 0.8 * x) / (1 - x)
    assert column.most == pytest.approx(n["d"] * math.sqrt(0.822 * n["Emin'"] / (r * n["Fc*"])) - n["less"])


@pytest.mark.parametrize("ask", [lambda: wood.section("5x9"), lambda: wood.factor("CF_9"), lambda: wood.reference("oak", "2x8")])
def test_what_is_not_in_the_tables_is_refused(ask) -> None:
    with pytest.raises(NotInTables):
        ask()
