"""Statics of one span: two supports, x from the left one, loads down, an overhang past the right one.

w is a uniform load in lb/in, p a load in lb at the tip, span and out (the overhang) in inches, ei in lb·in².
Every formula is that of the elastic beam on two points; `moment_span` and the like turn one round, to the length that
just holds.
"""

from __future__ import annotations

from math import sqrt


def moment(w: float, span: float) -> float:
    """The greatest moment of a simple span, lb·in: w L² / 8."""
    return w * span**2 / 8


def shear(w: float, span: float) -> float:
    """The greatest shear of a simple span, lb: w L / 2."""
    return w * span / 2


def deflection(w: float, span: float, ei: float) -> float:
    """The sag in the middle of a simple span, inches: 5 w L⁴ / 384 EI."""
    return 5 * w * span**4 / (384 * ei)


def overhang_reaction(w: float, span: float, out: float) -> float:
    """What the support beside the overhang carries, lb, w on span and overhang: w (L + a)² / 2L."""
    return w * (span + out) ** 2 / (2 * span)


def far_reaction(w: float, span: float, out: float) -> float:
    """What the support far from the overhang carries, lb, w on both; below 0 it lifts: w (L² - a²) / 2L."""
    return w * (span**2 - out**2) / (2 * span)


def overhang_moment(w: float, out: float) -> float:
    """The moment over the support beside the overhang, lb·in (tension on top): w a² / 2."""
    return w * out**2 / 2


def span_moment(w: float, span: float, out: float) -> float:
    """The greatest sagging moment of a span beside a loaded overhang, lb·in: w (L + a)² (L - a)² / 8L²."""
    return w * (span + out) ** 2 * max(0.0, span - out) ** 2 / (8 * span**2)


def tip_deflection(p: float, span: float, out: float, ei: float) -> float:
    """How far the tip of an overhang sinks under p at the tip, inches, the span behind turning: P a² (L + a) / 3EI."""
    return p * out**2 * (span + out) / (3 * ei)


def tip_deflection_uniform(w: float, span: float, out: float, ei: float) -> float:
    """How far the tip sinks under w on span and overhang, inches: w a (4 a² L - L³ + 3 a³) / 24EI; below 0 it rises."""
    return w * out * (4 * out**2 * span - span**3 + 3 * out**3) / (24 * ei)


def moment_span(w: float, most: float) -> float:
    """The span at which w brings a simple span to the moment `most`, inches: sqrt(8 M / w)."""
    return sqrt(8 * most / w)


def shear_span(w: float, most: float) -> float:
    """The span at which w brings a simple span to the shear `most`, inches: 2 V / w."""
    return 2 * most / w


def deflection_span(w: float, ei: float, share: float) -> float:
    """The span that sags by span / share under w, inches: (384 EI / (5 w share))^(1/3)."""
    return float((384 * ei / (5 * w * share)) ** (1 / 3))


def tip_overhang(p: float, span: float, ei: float, share: float) -> float:
    """The overhang whose tip sinks by out / share under p, inches: P a (L + a) / 3EI = 1 / share, solved for a."""
    return (sqrt(span**2 + 12 * ei / (p * share)) - span) / 2
