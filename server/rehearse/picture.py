"""A rehearsal as pictures: a dot for each yard where its worst mark lay, and how true yards would be pull by pull.

Two SVGs made to be read at 360 px, as wide as a phone. What is true is a full dot on a tinted ground, what is not an
open ring: shape and place say it, not colour. A table beside them says the same. Looks are attributes; no style.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from server.field import tape
from server.model import Plain
from server.rehearse.table import crew_name, share, text

INK, QUIET, TRUE, RULE = "#14181b", "#4f5954", "#dfe8d2", "#d5d1c3"
WIDE, EDGE, SIZE = 360.0, 8.0, 14
TIMES = 4  # the axis ends at so many tolerances; what lies beyond stands at its end, and is counted there
DOT = 3.0
DASHES = {"string by string": "none", "whole frame": "7 4"}


@dataclass(frozen=True)
class Strip:
    """One line of dots: its name, and each yard's worst mark in inches."""

    name: str
    worst: Sequence[float]


def svg(high: float, label: str) -> ElementTree.Element:
    attributes = {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {WIDE:g} {high:.1f}", "role": "img"}
    return ElementTree.Element("svg", attributes | {"aria-label": label, "font-size": str(SIZE), "fill": INK})


def part(parent: ElementTree.Element, tag: str, said: str = "", **attributes: str | float) -> None:
    """One shape or text; numbers are rounded to a tenth of a pixel."""
    looks = {name.replace("_", "-"): attributes[name] for name in attributes}
    plain = {name: value if isinstance(value, str) else f"{value:.1f}" for name, value in looks.items()}
    ElementTree.SubElement(parent, tag, plain).text = said or None


def strips(lines: Sequence[Strip], tolerance: float, units: str) -> str:
    """SVG text: under each other, the worst marks of every crew against the tolerance."""
    stacks = [stacked(strip.worst, tolerance) for strip in lines]
    heights = [30 + 2 * DOT * max(len(column) for column in stack.values()) + 6 for stack in stacks]
    high = sum(heights) + 44
    told = "; ".join(f"{strip.name}: {count_true(strip, tolerance)}" for strip in lines)
    root = svg(high, text("picture.strips", units, tolerance=tolerance, told=told))
    part(root, "rect", x=EDGE, y=0.0, width=x_of(tolerance, tolerance) - EDGE, height=high - 40, fill=TRUE)
    top = 0.0
    for strip, stack, height in zip(lines, stacks, heights, strict=True):
        draw_strip(root, strip, stack, top, top + height - 6, tolerance)
        top += height
    draw_scale(root, top, tolerance, units)
    return ElementTree.tostring(root, encoding="unicode")


def count_true(strip: Strip, tolerance: float) -> str:
    true = sum(1 for one in strip.worst if one <= tolerance)
    return text("picture.true", true=str(true), yards=str(len(strip.worst)))


def x_of(inches: float, tolerance: float) -> float:
    """Pixels from the left edge."""
    return EDGE + min(inches / (TIMES * tolerance), 1.0) * (WIDE - 2 * EDGE)


def stacked(worst: Sequence[float], tolerance: float) -> dict[float, list[float]]:
    """Yards side by side where they would lie on each other: columns by their x, true and untrue ones kept apart."""
    columns: dict[float, list[float]] = {}
    middle = x_of(tolerance, tolerance)
    last = math.floor((WIDE - EDGE - middle) / (2 * DOT)) - 1
    for inches in sorted(worst):
        away = (x_of(inches, tolerance) - middle) / (2 * DOT)
        number = math.ceil(away) - 1 if inches <= tolerance else min(math.floor(away), last)
        columns.setdefault(middle + (2 * number + 1) * DOT, []).append(inches)
    return columns


def draw_strip(
    root: ElementTree.Element, strip: Strip, stack: dict[float, list[float]], top: float, floor: float, tolerance: float
) -> None:
    """A crew's name, how many of its yards are true, and its dots on a line."""
    part(root, "text", strip.name, x=EDGE, y=top + 18, font_weight="700")
    part(root, "text", count_true(strip, tolerance), x=WIDE - EDGE, y=top + 18, text_anchor="end")
    edge = x_of(tolerance, tolerance)
    part(root, "line", x1=EDGE, x2=WIDE - EDGE, y1=floor, y2=floor, stroke=INK)
    part(root, "line", x1=edge, x2=edge, y1=top + 23, y2=floor, stroke=INK, stroke_dasharray="5 3", stroke_width="1.6")
    for x, column in stack.items():
        for level, inches in enumerate(column):
            y = floor - DOT * (2 * level + 1)
            true = inches <= tolerance
            part(root, "circle", cx=x, cy=y, r=DOT - 0.4 if true else DOT - 0.9,
                 fill=INK if true else "#fff", stroke=INK, stroke_width="0.5" if true else "1.4")


def draw_scale(root: ElementTree.Element, top: float, tolerance: float, units: str) -> None:
    """Lengths below the strips, the tolerance told by a tick and its weight."""
    edge = x_of(tolerance, tolerance)
    part(root, "line", x1=edge, x2=edge, y1=top - 6, y2=top + 5, stroke=INK, stroke_width="1.6")
    said = {times: str(tape.show(times * tolerance, units)) for times in (0, 1, 2)}
    said[TIMES] = text("picture.more", units, length=TIMES * tolerance)
    for times, length in said.items():
        anchor = "start" if times == 0 else "end" if times == TIMES else "middle"
        weight = "700" if times == 1 else "400"
        x = x_of(times * tolerance, tolerance)
        part(root, "text", length, x=x, y=top + 20, text_anchor=anchor, font_weight=weight)
    part(root, "text", text("picture.axis"), x=EDGE, y=top + 38, fill=QUIET)


def curves(crews: dict[str, Plain]) -> str:
    """SVG text: the share of yards that would be true had each crew stopped after so many pulls."""
    lines = {name: crew["after_pulls"] for name, crew in crews.items() if crew["after_pulls"]}
    most = max(len(line) for line in lines.values()) - 1
    told = "; ".join(f"{crew_name(name)}: {reached(line)}" for name, line in lines.items())
    root = svg(284, text("picture.curves", told=told))
    for percent in (0, 50, 100):
        y = y_of(percent / 100)
        part(root, "line", x1=48.0, x2=WIDE - EDGE, y1=y, y2=y, stroke=RULE if percent else INK)
        part(root, "text", share(percent / 100), x=42.0, y=y + 5, text_anchor="end")
    for place, (name, line) in enumerate(lines.items()):
        draw_curve(root, line, most, DASHES[name])
        y = 14.0 + 20 * place
        part(root, "line", x1=48.0, x2=88.0, y1=y, y2=y, stroke=INK, stroke_width="2.4", stroke_dasharray=DASHES[name])
        part(root, "text", crew_name(name), x=96.0, y=y + 5, font_weight="700")
    for pulls in range(0, most + 1, 5):
        part(root, "text", str(pulls), x=pull_x(pulls, most), y=260.0, text_anchor="middle")
    part(root, "text", text("picture.pulls"), x=WIDE - EDGE, y=278.0, text_anchor="end", fill=QUIET)
    return ElementTree.tostring(root, encoding="unicode")


def reached(line: Sequence[float]) -> str:
    """Where a curve comes past nine yards of ten, or that it does not."""
    for pulls, value in enumerate(line):
        if value >= 0.9:
            return text("picture.reached", pulls=str(pulls))
    return text("picture.short", share=share(line[-1]))


def y_of(value: float) -> float:
    return 240 - 180 * value


def pull_x(pulls: int, most: int) -> float:
    return 54 + pulls / max(most, 1) * (WIDE - EDGE - 60)


def draw_curve(root: ElementTree.Element, line: Sequence[float], most: int, dashes: str) -> None:
    points = " ".join(f"{pull_x(k, most):.1f},{y_of(value):.1f}" for k, value in enumerate(line))
    part(root, "polyline", points=points, fill="none", stroke=INK, stroke_width="2.4", stroke_dasharray=dashes)
    part(root, "circle", cx=pull_x(len(line) - 1, most), cy=y_of(line[-1]), r=4.0, fill=INK)
