"""The plan as you see it facing the house: house at the top, y down. One SVG with an id on every part.

Faces only add classes. Units are inches of the yard. Looks sit in presentation attributes, so that the drawing stands
alone on paper and any style sheet overrides them.
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree

from server.field import tape, window
from server.model import Frame, Job, Plain, Yard
from server.words import sentence

INK, QUIET, HOUSE, GROUND, PAPER = "#14181c", "#5c6268", "#c9c2b0", "#e9efe1", "#ffffff"
TEXT_SHARE = 27  # the drawing is this many text heights wide: 14 px on a phone
HOUSE_DEPTH = 1.9  # text heights


@dataclass(frozen=True)
class Sheet:
    """The drawing being made: its root, the text height (inches of yard), units, and the points drawn on it."""

    root: ElementTree.Element
    text: float
    units: str
    points: dict[str, Plain]


def draw(job: Job, frame: Frame, yard: Yard, limits: Plain | None = None) -> str:
    """SVG text of the plan of a job's yard; with the limits of its frame, how far footings and strings may stand."""
    sheet = _sheet(job, yard)
    _house(sheet, job)
    _pulls(sheet, yard)
    for name, board in yard.boards.items():
        _board(sheet, name, board)
    for name, string in yard.strings.items():
        _line(sheet, sheet.root, string["from"], string["to"], id=f"string-{name}", **{"class": "string"}, stroke=INK)
    if limits:
        _string_windows(sheet, limits)
    _running(sheet, job, frame, yard)
    if limits:
        _footing_windows(sheet, limits)
    for name in (name for name, point in yard.points.items() if "as" not in point):
        _point(sheet, name)
    return ElementTree.tostring(sheet.root, encoding="unicode")


def _sheet(job: Job, yard: Yard) -> Sheet:
    xs = [point["x"] for point in yard.points.values()]
    left, right = min(xs), max(xs)
    text = (right - left) / (TEXT_SHARE - 3)
    left, right = left - 1.5 * text, right + 1.5 * text
    top, bottom = -HOUSE_DEPTH * text, max(point["y"] for point in yard.points.values()) + 1.8 * text
    view = f"{left:.2f} {top:.2f} {right - left:.2f} {bottom - top:.2f}"
    label = sentence("walk.drawing.label", {"width": job.width, "out": job.out}, job.units)
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": view,
            "role": "img",
            "aria-label": label,
            "class": "plan",
            "font-family": "system-ui, sans-serif",
            "font-size": f"{0.68 * text:.2f}",
            "fill": INK,
        },
    )
    sheet = Sheet(root, text, job.units, dict(yard.points))
    _rect(sheet, left, 0.0, right - left, bottom, id="ground", fill=GROUND)
    return sheet


def _add(parent: ElementTree.Element, tag: str, **attributes: str) -> ElementTree.Element:
    names = {
        "stroke_width": "stroke-width",
        "stroke_dasharray": "stroke-dasharray",
        "text_anchor": "text-anchor",
        "font_size": "font-size",
        "font_weight": "font-weight",
        "stroke_linecap": "stroke-linecap",
    }
    return ElementTree.SubElement(parent, tag, {names.get(key, key): value for key, value in attributes.items()})


def _rect(sheet: Sheet, x: float, y: float, width: float, height: float, **attributes: str) -> None:
    _add(sheet.root, "rect", x=f"{x:.2f}", y=f"{y:.2f}", width=f"{width:.2f}", height=f"{height:.2f}", **attributes)


def _text(sheet: Sheet, parent: ElementTree.Element, x: float, y: float, text: str, **attributes: str) -> None:
    """One line of text, centred on x, its middle at y."""
    halo = {
        "stroke": PAPER,
        "stroke-width": f"{sheet.text / 3:.2f}",
        "paint-order": "stroke",
        "stroke-linejoin": "round",
    }
    given = {"text_anchor": "middle", **halo, **attributes}
    node = _add(parent, "text", x=f"{x:.2f}", y=f"{y + 0.24 * sheet.text:.2f}", **given)
    node.text = text


def _line(sheet: Sheet, parent: ElementTree.Element, start: str, end: str, **attributes: str) -> None:
    a, b = sheet.points[start], sheet.points[end]
    given = {"stroke_width": f"{sheet.text / 6:.2f}", **attributes}
    _add(parent, "line", x1=f"{a['x']:.2f}", y1=f"{a['y']:.2f}", x2=f"{b['x']:.2f}", y2=f"{b['y']:.2f}", **given)


def _show(sheet: Sheet, inches: float) -> str:
    return str(tape.show(inches, sheet.units))


def _house(sheet: Sheet, job: Job) -> None:
    ends = [point["x"] for point in sheet.points.values()]
    left, width = min(ends) - sheet.text, max(ends) - min(ends) + 2 * sheet.text
    depth = HOUSE_DEPTH * sheet.text
    _rect(sheet, left, -depth, width, depth, id="house", fill=HOUSE)
    _rect(sheet, left, -sheet.text / 6, width, sheet.text / 3, id="house-wall", fill=INK)
    _text(
        sheet, sheet.root, job.width * 0.2, -depth / 2, sentence("walk.drawing.house"), stroke="none", id="house-name"
    )
    edge = {"stroke": QUIET, "stroke_width": f"{sheet.text / 12:.2f}", "stroke_dasharray": f"{sheet.text / 2:.2f}"}
    _rect(sheet, 0.0, 0.0, job.width, job.out, id="deck", fill=PAPER, **edge)
    bottom = max(point["y"] for point in sheet.points.values())
    you = {"fill": QUIET, "stroke": "none", "class": "dim"}
    _text(sheet, sheet.root, job.width / 2, bottom + 0.3 * sheet.text, sentence("walk.drawing.you"), **you)
    size = f"{_show(sheet, job.width)} × {_show(sheet, job.out)}"
    _text(sheet, sheet.root, job.width * 0.7, -depth / 2, size, id="dim-deck", stroke="none", **{"class": "dim"})


def _pulls(sheet: Sheet, yard: Yard) -> None:
    """The pulls drawn at the desk: those that square the yard show on paper, far width and setbacks when lit.

    Any other pull is drawn by the phone, between its two points.
    """
    squares = [((one["mark"], one["flag"]), 0.66) for one in yard.triangles.values()]
    squares += [(pull, 0.34) for pull in yard.frame_check.get("pulls", [])[1:]]
    reads = [(pull, 0.5) for pull in yard.frame_check.get("pulls", [])[:1]]
    for beam in yard.beams:
        n = beam["number"]
        reads += [(("WL", f"X{n}L"), 0.5), (("WR", f"X{n}R"), 0.5)]
    labelled = {pull: (share, True) for pull, share in squares}
    for pull, share in reads:
        labelled.setdefault(pull, (share, False))
    for (start, end), (share, shown) in labelled.items():
        _pull(sheet, start, end, share, shown)


def _pull(sheet: Sheet, start: str, end: str, share: float, shown: bool) -> None:
    """One pull as a dashed line with its length on it, `share` of the way from its start."""
    a, b = sheet.points[start], sheet.points[end]
    hidden = {} if shown else {"display": "none"}
    group = _add(sheet.root, "g", id=f"pull-{start}-{end}", **{"class": "pull"}, **hidden)
    dash, width = f"{sheet.text / 3:.2f}", f"{sheet.text / 9:.2f}"
    _line(sheet, group, start, end, stroke=QUIET, stroke_dasharray=dash, stroke_width=width)
    length = ((b["x"] - a["x"]) ** 2 + (b["y"] - a["y"]) ** 2) ** 0.5
    x, y = a["x"] + share * (b["x"] - a["x"]), a["y"] + share * (b["y"] - a["y"])
    aside = -0.9 * sheet.text if abs(b["y"] - a["y"]) < sheet.text else 0.0
    _text(sheet, group, x, y + aside, _show(sheet, length), font_weight="700", **{"class": "pull-length"})


def _board(sheet: Sheet, name: str, board: Plain) -> None:
    dx, dy = (along * board["length"] / 2 for along in board["along"])
    _add(
        sheet.root,
        "line",
        id=f"board-{name}",
        **{"class": "board"},
        stroke=INK,
        stroke_linecap="butt",
        stroke_width=f"{sheet.text / 2.5:.2f}",
        x1=f"{board['x'] - dx:.2f}",
        y1=f"{board['y'] - dy:.2f}",
        x2=f"{board['x'] + dx:.2f}",
        y2=f"{board['y'] + dy:.2f}",
    )


def _running(sheet: Sheet, job: Job, frame: Frame, yard: Yard) -> None:
    """Setback of each string at the left, running dimensions under it; tight ones take turns on two rows."""
    for beam, plan in zip(frame.beams, yard.beams, strict=True):
        n, line = beam.number, plan["line"]
        beside = yard.points[f"B{n}L"]["x"] / 2
        label = {"id": f"dim-setback-{n}", "fill": QUIET, "class": "dim"}
        _text(sheet, sheet.root, beside, line - 0.7 * sheet.text, _show(sheet, line), **label)
        bays = [b - a for a, b in zip(beam.posts, beam.posts[1:], strict=False)]
        tight = min(bays) < 3.6 * sheet.text
        # Under the string, and beyond the deck's edge where that would run through the numbers.
        edge = (job.out - line) / sheet.text
        first = edge + 0.6 if 0.6 < edge < 1.7 else 1.15
        for m, x in enumerate(beam.posts, 1):
            row = first + (0.8 if tight and m % 2 == 0 else 0.0)
            _text(
                sheet,
                sheet.root,
                x,
                line + row * sheet.text,
                _show(sheet, x),
                id=f"dim-{n}-{m}",
                fill=QUIET,
                **{"class": "dim"},
            )


def _footing_windows(sheet: Sheet, limits: Plain) -> None:
    """Each footing's window along its beam as a thin bar under its mark; none where no place holds.

    Bars of neighbours take turns below and above the string, so that none runs into the next one.
    """
    thick = sheet.text / 6
    for beam in limits["beams"]:
        for m in range(1, len(beam["posts"]) + 1):
            name = f"window-G{beam['number']}-{m}"
            between = window.bay(limits, beam["number"], m)
            low, high = between["low"], between["high"]
            row = beam["setback"] + (0.74 if m % 2 else -0.74) * sheet.text - thick / 2
            if low <= high:
                _rect(sheet, low, row, high - low, thick, id=name, **{"class": "window"}, fill=QUIET)


def _string_windows(sheet: Sheet, limits: Plain) -> None:
    """The setbacks a beam's string may have, as a thin line between two ticks beyond each side of the deck."""
    for beam in limits["beams"]:
        near, far = beam["near"], beam["far"]
        if near is not None and far is not None and near <= far:
            name = f"window-beam{beam['number']}"
            group = _add(sheet.root, "g", id=name, **{"class": "window"}, stroke=QUIET, fill="none")
            sides = (-0.45 * sheet.text, limits["width"] + 0.45 * sheet.text)
            path = "".join(_ticks(x, near, far, sheet.text / 3) for x in sides)
            _add(group, "path", d=path, stroke_width=f"{sheet.text / 10:.2f}")


def _ticks(x: float, near: float, far: float, half: float) -> str:
    """A thin line out from the wall with a tick across each end."""
    ends = "".join(f"M{x - half:.2f} {y:.2f}H{x + half:.2f}" for y in (near, far))
    return f"{ends}M{x:.2f} {near:.2f}V{far:.2f}"


def _point(sheet: Sheet, name: str) -> None:
    """A wall mark, nail, corner or flag as a dot; a footing mark as a ring with its X."""
    point = sheet.points[name]
    x, y, kind = point["x"], point["y"], point["kind"]
    group = _add(sheet.root, "g", id=f"point-{name}", **{"class": f"point point-{kind}"})
    size = {"ground": 0.62, "wall": 0.3, "nail": 0.3, "flag": 0.2, "crossing": 0.16}[kind] * sheet.text
    look = (
        {"fill": PAPER, "stroke": INK, "stroke_width": f"{sheet.text / 8:.2f}"} if kind == "ground" else {"fill": INK}
    )
    _add(group, "circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{size:.2f}", **look)
    if kind == "ground":
        r = size * 0.5
        path = f"M{x - r:.2f} {y - r:.2f}L{x + r:.2f} {y + r:.2f}M{x - r:.2f} {y + r:.2f}L{x + r:.2f} {y - r:.2f}"
        _add(group, "path", d=path, fill="none", stroke=INK, stroke_width=f"{sheet.text / 10:.2f}")
