"""Questions to the network, made over real histories: yards walked by a crew that slips, with moves, births and knocks."""
import copy
import importlib
import random
from collections.abc import Iterator
from typing import Any

from tests.demo import Memory
from tests.module_page import Vector
from tests.virtual_crew import Crew

WAYS = ("string by string", "whole frame")
LONGEST = 160  # answers of one walk: a crew that slips too often is left where it stands


def histories(document: dict[str, Any], count: int) -> list[dict[str, Any]]:
    """States of walks broken off here and there; the last ones with the strings off and on again."""
    found = [history(document, number, number >= count - 2) for number in range(count)]
    for state in (found[2], found[-1]):
        loosen(document, state)
    return found


def loosen(document: dict[str, Any], state: dict[str, Any]) -> None:
    """Two of the marks made are no longer believed to stand where they were set, and a nail was knocked."""
    kinds = {name: document["yard"]["points"][name]["kind"] for name in state["born"]}
    for name in [name for name, kind in kinds.items() if kind in ("flag", "ground")][:2]:
        state["loose"][name] = True
    nail = next(name for name, kind in kinds.items() if kind == "nail")
    state["shifts"].append(importlib.import_module("server.field.knocks").knock_of(document, nail))
    state["knocked"].append(nail)


def history(document: dict[str, Any], number: int, again: bool) -> dict[str, Any]:
    """The state of one walk."""
    talk, walk = (importlib.import_module(f"server.{name}") for name in ("talk", "field.walk"))
    rng = random.Random(f"{document['job']['id']} {number}")
    crew = Crew(number, lambda reading: reading + (rng.choice((1.0, -0.5, 12.0)) if rng.random() < 0.06 else 0.0))
    crew.begin(copy.deepcopy(talk.yard_line(document)["yard"]))
    walker = talk.Walker(document, Memory())
    walker.keep({"kind": "way", "way": WAYS[number % 2], "step": "", "act": -1})
    answered(walker, crew, LONGEST if again else 18 + 9 * number)
    if again:
        walker.keep({"kind": "after", "what": "strings", "step": "", "act": -1})
        crew.restring()
        answered(walker, crew, 14)
    entries = sorted(walker.book.entries, key=lambda entry: entry["n"])
    return dict(walk.fold(document, [entry | {"id": str(entry["n"]), "at": "", "device": "d"} for entry in entries]))


def answered(walker: Any, crew: Crew, most: int) -> None:
    """Let the crew answer so many asks, or as many as there are."""
    talk = importlib.import_module("server.talk")
    for _ in range(most):
        ask = walker.ask()
        if ask["ask"] == "end":
            return
        walker.take(ask, crew.answer(talk.ask_line(walker, ask)))


def viewed(document: dict[str, Any], state: dict[str, Any]) -> dict[str, Any]:
    """The yard with the history of a state, nothing estimated yet."""
    return dict(importlib.import_module("server.field.readings").view_of(document, copy.deepcopy(state)))


def put_off(seen: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """A view with some of its unknowns off by as much as an adjustment may find."""
    off = {point: rng.gauss(0, 2) for point in sorted(seen["yard"]["points"]) if rng.random() < 0.6}
    return seen | {"off": off | {f"~{k}": rng.gauss(0, 0.05) for k in range(0, len(seen["shifts"]), 2)}}


def point_vectors(rng: random.Random, yard: Any, view: Any, seen: dict[str, Any], state: dict[str, Any]) -> Iterator[Vector]:
    """Where points lie at every time of a history. `yard` and `view` name what is kept once, `seen` is the view itself."""
    points = sorted(seen["yard"]["points"])
    last = len(seen["shifts"])
    for point in points:
        t = rng.choice((0, last, rng.randrange(last + 1)))
        yield "points", "place", [view, t, point]
        yield "points", "unknowns", [view, t, point, []]
        yield "points", "born_by", [view, t, point]
        yield "points", "hangs_on", [yard, point]
        start, end = rng.sample(points, 2)
        yield "points", "distance", [view, t, start, end]
        yield "points", "planned", [yard, start, end]
    movable = [name for name in points if seen["yard"]["points"][name]["kind"] in ("nail", "flag", "wall")]
    for point in rng.sample(movable, 6):
        yield "points", "direction", [yard, point]
        yield "points", "off_at", [view, rng.randrange(last + 1), point]
        yield "points", "own_unknowns", [view, rng.randrange(last + 1), point, [point]]
    first, second = rng.sample(sorted(seen["yard"]["strings"]), 2)
    yield "points", "crossing", [view, rng.randrange(last + 1), first, second]
    yield "points", "string_unknowns", [view, last, first, []]
    yield "points", "view", [yard, copy.deepcopy(state["shifts"]), copy.deepcopy(state["born"])]
    yield "points", "now", [view]
    yield "points", "label", [rng.randrange(200)]
    names: list[str] = []
    importlib.import_module("server.field.points").unknowns(seen, last, points[0], names)
    index = {name: i for i, name in enumerate(names)}
    for point in rng.sample(points, 3):
        yield "sways", "sway", [copy.deepcopy(seen), rng.randrange(last + 1), index, {}, point]


def fit_vectors(rng: random.Random, seen: dict[str, Any], state: dict[str, Any], marks: list[str]) -> Iterator[Vector]:
    """Adjustments of a history's own readings, and what is read off them."""
    network, question = (importlib.import_module(f"server.field.{name}") for name in ("network", "question"))
    readings = [one for one in copy.deepcopy(state["readings"]) if one["status"] == "live"]
    yield "network", "adjust", [copy.deepcopy(seen), copy.deepcopy(readings), marks]
    if rng.random() < 0.7 and readings:
        readings[rng.randrange(len(readings))]["inches"] += rng.choice((1.0, -0.5, 0.125))
    fit = network.adjust(copy.deepcopy(seen), readings, marks)
    points = sorted(seen["yard"]["points"])
    yield "network", "indices", [fit["names"]]
    for _ in range(3):
        name = rng.choice(fit["names"])
        yield "network", "prior_sigma", [copy.deepcopy(seen), name]
        yield "network", "stand", [copy.deepcopy(fit), rng.choice(marks), rng.choice((0.0, 0.03125))]
        way = rng.uniform(-1, 1)
        yield "network", "along_doubt", [copy.deepcopy(fit), rng.choice(marks), [way, 1.0 - abs(way)]]
        yield "network", "half", [copy.deepcopy(fit), rng.randrange(len(seen["shifts"]) + 1), rng.choice(points)]
    if fit["readings"]:
        k = rng.randrange(len(fit["readings"]))
        yield "network", "misfit", [copy.deepcopy(fit), {}, k]
        yield "network", "weight_of", [copy.deepcopy(seen), fit["readings"][k]]
    yield "network", "improve", [copy.deepcopy(fit), {}]
    yield "network", "misfits", [copy.deepcopy(fit), {}]
    yield "question", "suspects", [copy.deepcopy(fit), {}]
    yield "question", "suspects", [copy.deepcopy(fit), {name: True for name in seen["yard"]["points"] if rng.random() < 0.5}]
    ranked = question.suspects(fit, {})
    yield "question", "rivals", [copy.deepcopy(ranked)]
    for one in ranked[:2]:
        yield "question", "place_of", [copy.deepcopy(one), copy.deepcopy(fit)]
    for count in range(min(len(fit["readings"]), 3)):
        yield "question", "joint_drop", [copy.deepcopy(fit), rng.sample(range(len(fit["readings"])), count + 1)]


def seek_vectors(
    rng: random.Random, document: dict[str, Any], named: Any, seen: dict[str, Any], state: dict[str, Any], marks: list[str]
) -> Iterator[Vector]:
    """What a next pull would buy, and which pull tells two explanations apart."""
    seek, question, readings = (importlib.import_module(f"server.field.{name}") for name in ("seek", "question", "readings"))
    fit = importlib.import_module("server.field.network").adjust(
        copy.deepcopy(seen), [one for one in copy.deepcopy(state["readings"]) if one["status"] == "live"], marks
    )
    pulls = seek.reachable(document, state)
    rows = seek.grams(fit, marks, 0.002)
    yield "seek", "reachable", [named, copy.deepcopy(state)]
    yield "seek", "reachable", [named, copy.deepcopy(state) | {"alone": True}]
    yield "seek", "grams", [copy.deepcopy(fit), marks, 0.002]
    yield "seek", "doubts", [copy.deepcopy(rows)]
    some = rng.sample(pulls, min(len(pulls), 12))
    yield "seek", "best", [named, copy.deepcopy(fit), copy.deepcopy(some), copy.deepcopy(rows)]
    for pull in some[:3]:
        yield "seek", "half_row", [copy.deepcopy(fit), pull["from"], pull["to"]]
        yield "seek", "pull_key", [pull["to"], pull["from"]]
        yield "readings", "fresh_reading", [named, copy.deepcopy(state), pull]
        yield "readings", "any_reading", [copy.deepcopy(state), pull]
    for name in rng.sample(sorted(document["yard"]["points"]), 6):
        yield "seek", "is_made", [document["yard"], copy.deepcopy(state), name]
    ranked = question.suspects(fit, {})
    if len(ranked) > 1:
        yield "question", "telling", [copy.deepcopy(fit), copy.deepcopy(some), copy.deepcopy(ranked[:2])]
        yield "question", "showing", [copy.deepcopy(fit), copy.deepcopy(some), copy.deepcopy(ranked[1])]
    for one in rng.sample(state["readings"], min(len(state["readings"]), 4)):
        yield "readings", "is_stale", [named, copy.deepcopy(state), copy.deepcopy(one)]
        yield "knocks", "knocked_by", [named, copy.deepcopy(state), {"from": one["from"], "to": one["to"]}, [one["number"]]]
    act = {"act": "check", "moves": [], "pulls": []}
    nail = rng.choice([name for name in seen["yard"]["points"] if seen["yard"]["points"][name]["kind"] == "nail"])
    numbers = [one["number"] for one in readings.live_readings(state)[-2:]] or [0]
    yield "knocks", "weigh_knocked", [named, copy.deepcopy(state), act, nail, numbers]
    yield "readings", "weigh_without", [named, copy.deepcopy(state), act, numbers]
    for what in ("strings", "marks"):
        yield "after", "begin", [named, copy.deepcopy(state), what]
    yield "after", "restring", [named, copy.deepcopy(state)]
    for step in rng.sample(document["steps"], 4):
        yield "after", "is_begun", [copy.deepcopy(state), step]
