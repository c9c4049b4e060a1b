"""Questions to the field math, made from a seed: the same ones are put to CPython and to the compiled modules.

A vector is (module, function, arguments). A large argument that many vectors use, such as a job's document, is kept
once in SHARED and named by {"shared": key}. To add a module, write one generator and name it in GENERATORS.
"""
import copy
import importlib
import json
import math
import random
from collections.abc import Callable, Iterator
from typing import Any

from server.places import SEED
from server.plan import plan
from tests.module_page import Vector
from tests.network_vectors import fit_vectors, histories, point_vectors, put_off, seek_vectors, viewed
from tests.tape_texts import tape_text
from tests.together_vectors import phones, revisions

SEED_NUMBER = 20240611
UNITS = ("inch", "millimetre")
TAPE = {"sigma": 0.0625, "sigma_per_10_ft": 0.03125}

JOBS = {path.stem: json.loads(path.read_text("utf-8")) for path in sorted(SEED.glob("*.json"))}
DOCUMENTS = {name: plan(name, job).document for name, job in JOBS.items()}
SHARED: dict[str, Any] = {}
for _name, _document in DOCUMENTS.items():
    SHARED[_name] = _document
    SHARED[_name + " yard"] = _document["yard"]
    SHARED[_name + " words"] = _document["words"]
SHARED["faced"] = plan("faced", JOBS["long-side-deck"] | {"string_face": "yard-face"}).document
HISTORIES = {_name: histories(_document, 6) for _name, _document in DOCUMENTS.items()}
for _name, _states in HISTORIES.items():
    for _number, _state in enumerate(_states):
        SHARED[f"{_name} view {_number}"] = put_off(viewed(DOCUMENTS[_name], _state), random.Random(f"{_name} {_number}"))


def shared(key: str) -> dict[str, str]:
    """An argument that is kept once."""
    return {"shared": key}


def is_shared(argument: Any) -> bool:
    """Whether an argument only names what is kept once."""
    return isinstance(argument, dict) and argument.keys() == {"shared"}


def whole_argument(argument: Any) -> Any:
    """An argument as the function gets it: a copy, with what is shared looked up."""
    return SHARED[argument["shared"]] if is_shared(argument) else copy.deepcopy(argument)


def answered(vector: Vector) -> dict[str, Any]:
    """What CPython answers: {"value", "after": the arguments as they are left} or {"raised", "text"}."""
    module, function, arguments = vector
    given = [whole_argument(argument) for argument in arguments]
    try:
        value = getattr(importlib.import_module(f"server.field.{module}"), function)(*given)
    except Exception as problem:
        return {"raised": type(problem).__name__, "text": str(problem)}
    after = [as_named if is_shared(as_named) else left for as_named, left in zip(arguments, given, strict=True)]
    return {"value": value, "after": after}


def tape_vectors(rng: random.Random) -> Iterator[Vector]:
    """Tape text in every form, nonsense and half-broken text; lengths shown, the edges of a sixteenth included."""
    for _ in range(2400):
        yield "tape", "parse", [tape_text(rng), rng.choice(UNITS)]
    for _ in range(1200):
        target = rng.uniform(1.0, 400.0)
        yield "tape", "reading", [tape_text(rng, target), target, rng.choice(UNITS), rng.random() < 0.3]
    for _ in range(900):
        inches = rng.choice((rng.uniform(-400, 2000), rng.randrange(-200, 20000) / 32.0, rng.gauss(0.0, 0.1), 0.0))
        yield "tape", rng.choice(("show", "total")), [inches, rng.choice(UNITS)]


def square_vectors(rng: random.Random) -> Iterator[Vector]:
    """Triangles, shapes and doubts, a side of nothing included."""
    for _ in range(150):
        a, b, c = (rng.uniform(1, 400) for _ in range(3))
        yield "square", "length", [a - 200, b - 200]
        yield "square", "tape_sigma", [c, TAPE]
        yield "square", "angle_sigma", [rng.choice((a, 0.0)), b, TAPE]
        yield "square", "area", [[[a, b], [b, c], [a + b, rng.uniform(-9, 9)]]]
    for _ in range(25):
        wall, string = rng.uniform(5, 400), rng.uniform(5, 300)
        yield "square", "triangle", [wall, string, rng.uniform(60, 400), rng.choice((12.0, 500 / 25.4))]
    for _ in range(200):
        near, target = rng.uniform(100, 400), rng.uniform(100, 500)
        off = [rng.choice((0.0, rng.gauss(0, 0.5))) for _ in range(3)]
        yield "square", "shape", [near, near + off[0], target + off[1], target + off[2], target, 0.25]


def solve_vectors(rng: random.Random) -> Iterator[Vector]:
    """Systems that have a root, systems that have none, and what is made of a root."""
    for _ in range(60):
        n = rng.randrange(1, 7)
        low = [[rng.uniform(-2, 2) if j < i else 0.0 for j in range(n)] for i in range(n)]
        for i in range(n):
            low[i][i] = rng.uniform(0.5, 3)
        matrix = [[sum(low[i][k] * low[j][k] for k in range(n)) for j in range(n)] for i in range(n)]
        right = [rng.uniform(-9, 9) for _ in range(n)]
        yield "solve", "root", [matrix]
        yield "solve", "root", [[[-value for value in row] for row in matrix]]
        yield "solve", "solve", [low, right]
        yield "solve", "forward", [low, right]
        yield "solve", "dot", [right, low[-1]]
        yield "solve", "zeros", [n, n + 1]


def network_vectors(rng: random.Random) -> Iterator[Vector]:
    """Points, adjustments, next pulls and doubts over the histories of the demo jobs."""
    for name, document in DOCUMENTS.items():
        yard, named = shared(name + " yard"), shared(name)
        marks = sorted(key for key, point in document["yard"]["points"].items() if point["kind"] == "flag" and "as" not in point)
        for number, state in enumerate(HISTORIES[name]):
            view = f"{name} view {number}"
            seen = viewed(document, state)
            yield from point_vectors(rng, yard, shared(view), SHARED[view], state)
            yield from fit_vectors(rng, seen, state, marks)
            yield from seek_vectors(rng, document, named, seen, state, marks)
    for _ in range(60):
        dx, dy, xx, xy, yy = rng.gauss(0, 0.3), rng.gauss(0, 0.3), rng.random(), rng.random() / 9, rng.random()
        yield "network", "radius", [dx, dy, xx, xy, yy]
        yield "network", "shift_number", [f"~{rng.randrange(400)}"]
        yield "seek", "blunt", [[rng.random(), rng.random(), rng.random()]]
        yield "seek", "root_of", [rng.gauss(0, 1)]


def walk_vectors(rng: random.Random) -> Iterator[Vector]:
    """Whole walks of the demo jobs by a crew that slips now and then, asked and folded along the way."""
    for name in DOCUMENTS:
        for number in range(7):
            yield from _walk(rng, name, f"{name}-{number}")


def _walk(rng: random.Random, name: str, device: str) -> Iterator[Vector]:
    """One walk, a part of it or the whole."""
    walk = importlib.import_module("server.field.walk")
    document, entries = DOCUMENTS[name], []
    state = walk.start()
    stops = rng.choice((5, 15, 40, 120))
    for n in range(stops):
        ask = walk.next_ask(document, state)
        given = _given(rng, ask)
        yield "reply", "answer", [shared(name), ask, given]
        answer = walk.answer(document, state, ask, copy.deepcopy(given))
        if answer["status"] == "ok":
            entries.append(answer["entry"] | {"id": f"{device}-{n}", "n": n + 1, "device": device})
            if rng.random() < 0.4:
                yield "walk", "apply", [shared(name), copy.deepcopy(state), copy.deepcopy(entries[-1])]
            walk.apply(document, state, copy.deepcopy(entries[-1]))
        if rng.random() < 0.04 and entries:
            struck = rng.choice(entries)["id"]
            entries.append({"kind": "strike", "strikes": struck, "id": f"{device}-{n}s", "n": n + 1, "device": device})
            state = walk.fold(document, copy.deepcopy(entries))
        if rng.random() < 0.1 or n == stops - 1:
            yield from _questions(rng, name, copy.deepcopy(entries))


def _questions(rng: random.Random, name: str, entries: list[dict[str, Any]]) -> Iterator[Vector]:
    """Everything a face may ask after these entries, in whatever order they came."""
    walk = importlib.import_module("server.field.walk")
    document = DOCUMENTS[name]
    mixed = rng.sample(entries, len(entries))
    state = walk.fold(document, copy.deepcopy(mixed))
    step = rng.choice(document["steps"])["id"]
    yield "walk", "fold", [shared(name), mixed]
    lead = sorted(entries, key=walk.order)[: rng.randrange(len(entries) + 1)]
    kept = {"ids": [entry["id"] for entry in lead], "state": walk.fold(document, copy.deepcopy(lead))}
    yield "walk", "resume", [shared(name), kept, mixed]
    yield "walk", "next_ask", [shared(name), state]
    yield "walk", "answer", [shared(name), state, walk.next_ask(document, copy.deepcopy(state)), {"done": True}]
    yield "walk", "step_ask", [shared(name), state, rng.choice((step, "nowhere"))]
    yield "walk", "step_list", [shared(name), state]
    yield "walk", "truth", [shared(name), state]
    yield "walk", "undo", [shared(name), mixed, step]
    yield "walk", "tries", [shared(name), state, step]
    said = walk.next_ask(document, state)["say"]
    yield "say", "sentence", [shared(name + " words"), said, document["job"]["units"]]


def crew_vectors(rng: random.Random) -> Iterator[Vector]:
    """Several phones in one book, several revisions of one job."""
    for name, document in DOCUMENTS.items():
        yield from phones(rng, name, document)
        yield from revisions(rng, name, JOBS[name], document)


def window_vectors(rng: random.Random) -> Iterator[Vector]:
    """Frames of every sort, those that break a limit or know no span included, and moves along and out of their windows."""
    for _ in range(160):
        limits = _limits(rng)
        beam = rng.choice(limits["beams"])
        n, m = beam["number"], rng.randrange(1, len(beam["posts"]) + 1)
        yield "window", "bay", [limits, n, m]
        for _ in range(6):
            dx, dy = (rng.choice((0.0, rng.randrange(-400, 400) / 16.0, rng.gauss(0, 6))) for _ in range(2))
            yield "window", "move", [limits, n, m, dx, dy]
        yield "window", rng.choice(("upward", "downward")), [limits, rng.choice((rng.uniform(-40, 40), 0.0, 7.5))]
        yield "window", "placed", [limits, *_walked(rng, limits)]
    yield "window", "bay", [_limits(rng), 9, 1]


def _limits(rng: random.Random) -> dict[str, Any]:
    """Limits as a document has them, now and then with the step and widths of footings that `placed` adds."""
    width = rng.uniform(120, 400)
    beams = [_limit_beam(rng, n, width) for n in range(1, rng.randrange(2, 4))]
    more = rng.choice(({}, {"step": 0.0625}, {"step": 1 / 25.4})) | rng.choice(({}, {}, {"patched": False}, {"patched": True}))
    return {"width": width, "share": 0.25, "beams": beams, **more}


def _limit_beam(rng: random.Random, number: int, width: float) -> dict[str, Any]:
    count = rng.randrange(2, 7)
    past = width / count * rng.uniform(0.0, 0.3)
    run = (width - 2 * past) / (count - 1)
    setback = rng.uniform(40, 160)
    posts = [past + run * i + rng.choice((0.0, rng.gauss(0, 4))) for i in range(count)]
    near, far = (rng.choice((None, setback + off * rng.uniform(-2, 20))) for off in (-1, 1))
    sides = rng.choice(({}, {"sides": [rng.choice((0.0, 12.0, 16.0)) for _ in posts]}))
    sides |= rng.choice(({}, {"off_plan": False}, {"off_plan": True}))
    span = rng.choice((0.0, run * rng.uniform(0.9, 1.4)))
    return {
        "number": number, "setback": setback, "posts": posts, "span": span, "near": near, "far": far,
        "near_key": "walk.window.limit.end", "far_key": "walk.window.limit.bay", **sides,
    }  # fmt: skip


def _walked(rng: random.Random, limits: dict[str, Any]) -> list[dict[str, Any]]:
    """As much of a document and a state as says how wide footings are and which stand off their marks."""
    names = [f"G{beam['number']}-{m + 1}" for beam in limits["beams"] for m in range(len(beam["posts"]))]
    offs = {name: rng.choice((None, [0.0, 0.0], [rng.gauss(0, 3), rng.gauss(0, 3)])) for name in names if rng.random() < 0.7}
    frame = rng.choice(({}, {"footings": [{"point": name, "side": 14.0} for name in names if rng.random() < 0.8]}))
    document = {"job": {"units": rng.choice(UNITS)}, "frame": frame}
    return [document, {"marks": {name: {"off": off} for name, off in offs.items()}}]


def naming_vectors(rng: random.Random) -> Iterator[Vector]:
    """Readings that slipped in every way and in none, between any two points, as typed, as held and as kept."""
    for name, document in (*DOCUMENTS.items(), ("faced", SHARED["faced"])):
        points = [key for key, point in document["yard"]["points"].items() if point["kind"] != "nail"]
        for _ in range(500):
            start, end = rng.sample(points, 2)
            expected = rng.choice((rng.uniform(1, 400), rng.randrange(16, 6000) / 16.0))
            typed = rng.choice(({}, {"held": True}, {"held": True, "text": 'long by 1"'}, {"text": '53"', "held": False}))
            reading = {"from": start, "to": end, "inches": _slipped(rng, expected, document["job"]["units"]), **typed}
            yield "naming", "slips", [shared(name), reading, expected, rng.choice((0.0, 0.05, 0.2, 1.5))]
            yield "naming", "what_it_means", [shared(name), reading, expected]
            yield "elsewhere", rng.choice(("legs", "sides", "centres")), [shared(name), reading]
            yield "digits", rng.choice(("mistaken", "run_together")), [expected, rng.choice(UNITS)]
            yield "digits", rng.choice(("swapped", "turned")), [str(rng.randrange(10 ** rng.randrange(1, 6)))]


def _slipped(rng: random.Random, inches: float, units: str) -> float:
    """A length with a slip of any sort made, or a little off."""
    mm = 1 / 25.4
    by = rng.choice((0, 12, -12, 24, -24, 1, -1, 2, 100 * mm, -100 * mm, 1000 * mm, 1.5, -1.5, 3, -3, 1.75, 2.75, 0.3, 18))
    text = str(math.floor(inches / mm if units == "millimetre" else inches))
    at = rng.randrange(len(text))
    other = rng.choice((text[:at] + text[at:][::-1], text.replace("6", "9"), text.replace("9", "6"), text[at:] + text[:at]))
    by = rng.choice((by, (int(other) - int(text)) * (mm if units == "millimetre" else 1)))
    found = inches + by + rng.choice((0.0, rng.gauss(0, 0.05)))
    return max(rng.choice((found, found, found, inches * 10, inches / 10, math.sqrt(inches**2 + 900))), 0.0625)


def _given(rng: random.Random, ask: dict[str, Any]) -> dict[str, Any]:
    """What a crew answers: mostly what was asked for, now and then a slip, a refusal or nonsense."""
    if rng.random() < 0.04:
        return rng.choice(({}, {"done": 1}, {"reading": "113"}, {"inches": "9"}, {"off": [1]}, {"cannot": "rain"}))
    if ask["ask"] in ("pull", "again"):
        if rng.random() < 0.06:
            return {"cannot": rng.choice(("blocked", "too long", "alone"))}
        inches = ask["target"] + rng.gauss(0.0, rng.choice((0.05, 0.05, 0.5, 6.0)))
        return rng.choice(({"inches": inches}, {"reading": tape_text(rng, inches), "held": rng.random() < 0.2}))
    if ask["ask"] == "stake" and rng.random() < 0.3:
        return {"off": [rng.gauss(0, 2), rng.gauss(0, 2)]}
    return {"done": True}


GENERATORS: tuple[Callable[[random.Random], Iterator[Vector]], ...] = (
    tape_vectors,
    square_vectors,
    solve_vectors,
    network_vectors,
    walk_vectors,
    crew_vectors,
    window_vectors,
    naming_vectors,
)


def vectors() -> list[Vector]:
    """Every vector, the same on every run."""
    return [vector for make in GENERATORS for vector in make(random.Random(f"{SEED_NUMBER} {make.__name__}"))]
