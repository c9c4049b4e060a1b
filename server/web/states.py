"""The plan with the state of the yard on it: classes on the parts of our own drawing, and signs that say the same."""
from __future__ import annotations

from collections.abc import Mapping
from xml.etree import ElementTree

from markupsafe import Markup

from server.model import Plain
from server.report import MADE
from server.web.thumb import SVG

SIGNS = {"open": "○", "set": "◐", "true": "◉", "staked": "●", "off": "△", "twice": "▲", "gone": "–"}
STEP_SIGNS = {"open": "○", "done": "●", "unsure": "◐"}

ElementTree.register_namespace("", SVG)


def marked(drawing: str, report: Plain) -> Markup:
    """The drawing with the class of its state on every point and string, and `is-now` on what is asked now."""
    root = ElementTree.fromstring(drawing)
    classes = classes_of(report)
    for element in root.iter():
        found = classes.get(element.get("id", ""))
        if found:
            element.set("class", f"{element.get('class', '')} {found}".strip())
    return Markup(ElementTree.tostring(root, encoding="unicode"))  # noqa: S704 (our own drawing, escaped by its maker)


def classes_of(report: Plain) -> Mapping[str, str]:
    """Classes by the id of a part of the drawing."""
    found = {f"point-{row['point']}": f"is-{row['state']}" for row in report["points"]}
    found |= {f"string-{row['string']}": f"is-{row['state']}" for row in report["strings"]}
    for row in report["marks"]:
        if row["state"] in MADE and not row["inside"]:
            found[f"point-{row['point']}"] += " is-outside"
    for part in report["now"]["lit"]:
        found[part] = f"{found.get(part, '')} is-now".strip()
    return found
