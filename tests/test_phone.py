"""Compiled field modules answer as CPython does, in a real browser, or the gate refuses them."""
import inspect
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from server import phone
from server.phone.gate import check
from tests import field_ordinary, field_traps
from tests.module_page import Vector, alike, call_all, serve_modules

ROOT = Path(__file__).resolve().parent.parent
TRAPS = {
    name: "import math\n\n" + inspect.getsource(function)
    for name, function in inspect.getmembers(field_traps, inspect.isfunction)
}
OPEN = {name: source for name, source in TRAPS.items() if not check(source, name)}
ROOM = r"^const (\w+) = \(\(\) => \{$"
ORDINARY = [name for name, _ in inspect.getmembers(field_ordinary, inspect.isfunction)]
ASKED = [name for name in ORDINARY if not inspect.signature(getattr(field_ordinary, name)).parameters]


def in_browser(chromium: Browser, sources: dict[str, str], calls: list[Vector]) -> list[dict[str, Any]]:
    """What the compiled modules answer in a page of their own."""
    page = chromium.new_page()
    serve_modules(page, phone.compile_modules(sources))
    answers = call_all(page, calls, {})
    page.close()
    return answers


@pytest.fixture(scope="module")
def trap_answers(chromium: Browser) -> dict[str, dict[str, Any]]:
    """What each trap that the gate lets through answers in the page."""
    sources = {f"trap_{name}": source for name, source in OPEN.items()}
    answers = in_browser(chromium, sources, [(f"trap_{name}", name, []) for name in OPEN])
    return dict(zip(OPEN, answers, strict=True))


@pytest.fixture(scope="module")
def ordinary_answers(chromium: Browser) -> dict[str, dict[str, Any]]:
    """What each ordinary function answers in the page."""
    sources = {"ordinary": inspect.getsource(field_ordinary)}
    answers = in_browser(chromium, sources, [("ordinary", name, []) for name in ASKED])
    return dict(zip(ASKED, answers, strict=True))


@pytest.mark.parametrize("name", TRAPS)
def test_a_trap_is_refused_or_equal(name: str, trap_answers: dict[str, dict[str, Any]]) -> None:
    if name not in OPEN:
        assert check(TRAPS[name], name)
        return
    expected = getattr(field_traps, name)()
    assert "value" in trap_answers[name], trap_answers[name]
    assert alike(expected, trap_answers[name]["value"]), (expected, trap_answers[name])


@pytest.mark.parametrize("name", ASKED)
def test_ordinary_code_answers_alike(name: str, ordinary_answers: dict[str, dict[str, Any]]) -> None:
    theirs, function = ordinary_answers[name], getattr(field_ordinary, name)
    if name.startswith("raises_"):
        with pytest.raises(Exception) as problem:  # noqa: PT011 - which one is what is compared
            function()
        assert theirs.get("raised") == problem.type.__name__, theirs
    else:
        assert alike(function(), theirs.get("value")), (function(), theirs)


def test_a_value_error_carries_its_text(ordinary_answers: dict[str, dict[str, Any]]) -> None:
    assert ordinary_answers["raises_its_own"] == {"raised": "ValueError", "text": "ValueError: cannot read this"}


def test_siblings_speak_to_each_other(chromium: Browser) -> None:
    sources = {
        "near": "from . import far\n\ndef twice(x):\n    return far.double(x) + far.ONE\n",
        "far": "import math\n\nONE = 1\n\ndef double(x):\n    return math.floor(x) * 2\n",
    }
    assert in_browser(chromium, sources, [("near", "twice", [3.5])])[0]["value"] == 7


def test_a_missing_sibling_function_stops(chromium: Browser) -> None:
    sources = {"near": "from . import far\n\ndef ask():\n    return far.gone()\n", "far": "ONE = 1\n"}
    assert in_browser(chromium, sources, [("near", "ask", [])])[0]["raised"] == "TypeError"


def test_the_field_compiles_to_one_module_with_a_room_for_each_file() -> None:
    names = sorted(path.stem for path in phone.FIELD.glob("[!_]*.py"))
    whole = phone.compile_field()
    assert re.findall(r"^(?:import|export).*", whole, re.MULTILINE) == [f"export {{ {', '.join(names)} }};"]
    assert sorted(re.findall(ROOM, whole, re.MULTILINE)) == sorted([*names, "math", "runtime"])


def test_a_room_stands_behind_those_it_calls() -> None:
    first, second, third = "X = 1\n", "from . import zebra\n\nY = 2\n", "from . import middle\n\nZ = 3\n"
    whole = phone.compile_modules({"ant": third, "middle": second, "zebra": first})
    assert re.findall(ROOM, whole, re.MULTILINE)[2:] == ["zebra", "middle", "ant"]


def test_modules_in_a_circle_are_refused() -> None:
    sources = {"here": "from . import there\n\nX = 1\n", "there": "from . import here\n\nY = 1\n"}
    with pytest.raises(phone.FieldError, match="modules import in a circle"):
        phone.compile_modules(sources)


def test_a_sibling_that_is_not_there_is_refused() -> None:
    with pytest.raises(phone.FieldError, match=r"near.py line 1: gone: no such module beside this one"):
        phone.compile_modules({"near": "from . import gone\n\nX = 1\n"})


def test_nothing_compiled_calls_for_eval() -> None:
    assert [word for word in ("eval(", "new Function") if word in phone.compile_field()] == []


def test_the_digest_is_the_same_in_every_process() -> None:
    script = "from server import phone; print(phone.field_digest())"
    seen = {
        subprocess.run([sys.executable, "-c", script], env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
                       check=True, capture_output=True, text=True).stdout.strip()
        for seed in ("1", "2")
    }
    assert seen == {phone.field_digest()}


def test_another_text_has_another_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    now = phone.field_digest()
    changed = phone.compile_field() + "\n"
    monkeypatch.setattr(phone, "compile_field", lambda: changed)
    phone.field_digest.cache_clear()
    assert phone.field_digest() != now
    phone.field_digest.cache_clear()


def test_every_refusal_of_every_module_is_told_at_once() -> None:
    sources = {"one": "def a():\n    return int(2)\n\ndef b():\n    return {1}\n", "two": "import os\n", "three": "X = 1\n"}
    with pytest.raises(phone.FieldError) as problem:
        phone.compile_modules(sources)
    assert [(name, refusal.line) for name, found in problem.value.refused.items() for refusal in found] == [
        ("one", 2), ("one", 5), ("two", 1),
    ]
    assert "one.py line 2: int(2)" in str(problem.value)


def test_a_field_module_may_not_take_the_name_of_what_it_stands_on() -> None:
    with pytest.raises(phone.FieldError, match="a file the modules stand on has this name"):
        phone.compile_modules({"runtime": "X = 1\n"})


def test_the_wheel_carries_the_files_the_modules_stand_on() -> None:
    packed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
    assert "server.phone" in packed["packages"]
    assert "*.js" in packed["package-data"]["server.phone"]
