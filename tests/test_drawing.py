"""The plan with how far footings and strings may stand: bars and ticks at the field's own numbers, else nothing new."""

from __future__ import annotations

import json
from typing import Any
from xml.etree import ElementTree

import pytest

from server import drawing, framing, job, yard
from server.field import window
from server.model import Frame, Job, Yard
from server.places import SEED

SVG = "{http://www.w3.org/2000/svg}"


def laid_out() -> tuple[Job, Frame, Yard]:
    wanted = job.read(json.loads((SEED / "pear-tree-platform.json").read_text("utf-8")))
    frame = framing.frame(wanted)
    return wanted, frame, yard.yard(wanted, frame)


def limits_of(wanted: Job, frame: Frame, **rest: Any) -> dict[str, Any]:
    beams = [
        {"number": beam.number, "setback": beam.setback, "posts": list(beam.posts), "span": 84.0}
        | {"near": beam.setback - 5, "far": beam.setback + 9, "near_key": "", "far_key": ""}
        | rest
        for beam in frame.beams
    ]
    return {"width": wanted.width, "share": 0.25, "beams": beams}


def windows(svg: str) -> dict[str, ElementTree.Element]:
    root = ElementTree.fromstring(svg)
    return {node.attrib["id"]: node for node in root.iter() if node.get("class") == "window"}


def test_without_limits_nothing_of_them_is_drawn() -> None:
    plain = drawing.draw(*laid_out())
    assert drawing.draw(*laid_out(), None) == plain
    assert windows(plain) == {}


def test_each_footing_has_its_window_along_its_beam() -> None:
    wanted, frame, ground = laid_out()
    limits = limits_of(wanted, frame)
    drawn = windows(drawing.draw(wanted, frame, ground, limits))
    posts = [(beam.number, m) for beam in frame.beams for m in range(1, len(beam.posts) + 1)]
    assert set(drawn) == {f"window-G{n}-{m}" for n, m in posts} | {f"window-beam{beam.number}" for beam in frame.beams}
    for n, m in posts:
        bar, between = drawn[f"window-G{n}-{m}"], window.bay(limits, n, m)
        assert float(bar.attrib["x"]) == pytest.approx(between["low"], abs=0.01)
        assert float(bar.attrib["width"]) == pytest.approx(between["high"] - between["low"], abs=0.02)


def test_the_strings_window_has_ticks_at_both_sides() -> None:
    wanted, frame, ground = laid_out()
    path = windows(drawing.draw(wanted, frame, ground, limits_of(wanted, frame)))["window-beam1"].find(f"{SVG}path")
    assert path is not None
    starts = [piece.split("H")[0].split("V")[0].split() for piece in path.attrib["d"].split("M")[1:]]
    setback = frame.beams[0].setback
    assert [float(y) for _, y in starts] == pytest.approx([setback - 5, setback + 9, setback - 5] * 2, abs=0.01)
    xs = [float(x) for x, _ in starts]
    assert max(xs[:3]) < 0
    assert min(xs[3:]) > wanted.width


def test_what_holds_nowhere_has_no_window() -> None:
    wanted, frame, ground = laid_out()
    drawn = windows(drawing.draw(wanted, frame, ground, limits_of(wanted, frame, near=None, far=None, span=60.0)))
    assert "window-beam1" not in drawn
    assert "window-G1-2" not in drawn
