"""Compiled field modules answer as CPython does, in a real browser, or the gate refuses them."""
import ast
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from server import phone
from server.phone.gate import check
from tests import field_traps
from tests.module_page import alike, call_all, serve_modules

TRAPS = {
    node.name: "import math\n\n" + ast.unparse(node)
    for node in ast.parse(Path(field_traps.__file__).read_text("utf-8")).body
    if isinstance(node, ast.FunctionDef)
}
OPEN = {name: source for name, source in TRAPS.items() if not check(source, name)}


@pytest.fixture(scope="module")
def trap_answers(chromium: Browser) -> dict[str, dict[str, Any]]:
    """What each trap the gate lets through answers in the page."""
    modules = phone.standing_modules() | {f"{name}.js": phone.compile_module(text, name) for name, text in OPEN.items()}
    context = chromium.new_context()
    page = context.new_page()
    serve_modules(page, modules)
    answers = call_all(page, [(name, name, []) for name in OPEN], {})
    context.close()
    return dict(zip(OPEN, answers, strict=True))


@pytest.mark.parametrize("name", TRAPS)
def test_a_trap_is_refused_or_equal(name: str, trap_answers: dict[str, dict[str, Any]]) -> None:
    if name not in OPEN:
        assert check(TRAPS[name], name)
        return
    expected = getattr(field_traps, name)()
    assert "value" in trap_answers[name], trap_answers[name]
    assert alike(expected, trap_answers[name]["value"]), (expected, trap_answers[name])
