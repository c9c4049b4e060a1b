"""Square checks: which triangle to pull, what shape four strings make, what a tape can see. Inches, wall frame."""

import math

SQUARE = "square"
PARALLELOGRAM = "parallelogram"
TRAPEZOID = "trapezoid"
OTHER = "other"


def length(dx, dy):
    """Distance of two points that lie dx, dy apart (written out: hypot differs in the last bit between machines)."""
    return math.sqrt(dx * dx + dy * dy)


def tape_sigma(inches, tape):
    """One standard deviation of a tape reading: hypot(1/16, length/120 × 1/32) with the usual tape.

    Common practice, no source: a sixteenth to read, and a thirty-second more for every 10 ft of pull.
    """
    return length(tape["sigma"], inches / 120.0 * tape["sigma_per_10_ft"])


def angle_sigma(a, b, tape):
    """Doubt of the corner angle (radians) from legs a, b and their closing side: sqrt(2)·c·sigma/(ab)."""
    c = length(a, b)
    return math.sqrt(2.0) * c * tape_sigma(c, tape) / (a * b)


def triangle(wall, string, reach, step):
    """The right triangle that squares a string best: {"a" on the wall, "b" on the string, "c" closing}, or None.

    Legs are whole steps (a foot, half a metre); a <= wall, b <= string, c <= reach (the tape). Of those that fit, the
    one whose corner is surest for the same doubt in every reading: c/(ab) least, which is the largest in effect.
    """
    best = None
    least = 0.0
    for i in range(1, math.floor(wall / step + 1e-9) + 1):
        for j in range(1, math.floor(string / step + 1e-9) + 1):
            a = i * step
            b = j * step
            c = length(a, b)
            if c <= reach + 1e-9:
                looseness = c / (a * b)
                if best is None or looseness < least - 1e-12:
                    least = looseness
                    best = {"a": a, "b": b, "c": c}
    return best


def shape(near, far, first, second, target, doubt):
    """Name what four corners make from near and far width, both diagonals and the computed diagonal.

    square: all hold. parallelogram: widths equal, diagonals not. trapezoid: diagonals equal, widths not (equal
    diagonals alone prove nothing). other: neither pair equal, or all equal and yet not the computed diagonal. `doubt`
    is what two readings may differ by.
    """
    widths = abs(far - near) <= doubt
    diagonals = abs(first - second) <= doubt
    if widths and diagonals:
        if abs((first + second) / 2.0 - target) <= doubt:
            return SQUARE
        return OTHER
    if widths:
        return PARALLELOGRAM
    if diagonals:
        return TRAPEZOID
    return OTHER


def area(ring):
    """Area inside a ring of corners [[x, y], ...] in order, by coordinates; square inches for inches."""
    total = 0.0
    for i in range(len(ring)):
        here = ring[i]
        after = ring[0]
        if i + 1 < len(ring):
            after = ring[i + 1]
        total = total + here[0] * after[1] - after[0] * here[1]
    return abs(total) / 2.0
