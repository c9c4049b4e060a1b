"""The field math gives the same answers on the phone as on the desk: the same vectors, in CPython and in a browser."""
from collections import Counter

import pytest
from playwright.sync_api import Browser

from server import phone
from tests.module_page import Vector, alike, call_all, serve_modules
from tests.vectors import SHARED, answered, vectors

OURS = ("ValueError",)  # errors the field math raises itself: their text is compared too


@pytest.fixture(scope="module")
def all_vectors() -> list[Vector]:
    return vectors()


def test_the_compiled_field_answers_as_python_does(chromium: Browser, all_vectors: list[Vector]) -> None:
    page = chromium.new_page()
    serve_modules(page, phone.compile_field())
    theirs = call_all(page, all_vectors, SHARED)
    page.close()
    differ = []
    for vector, answer in zip(all_vectors, theirs, strict=True):
        ours = answered(vector)
        if ours.get("raised") in OURS:
            ours["text"] = f"{ours['raised']}: {ours['text']}"
        elif "raised" in ours:
            answer.pop("text", None)
            ours.pop("text")
        if not alike(ours, answer):
            differ.append((vector, ours, answer))
    assert differ == [], differ[:3]


def test_every_part_of_the_field_has_its_vectors(all_vectors: list[Vector], capsys: pytest.CaptureFixture[str]) -> None:
    counts = Counter(f"{module}.{function}" for module, function, _ in all_vectors)
    with capsys.disabled():
        print("\nvectors:", ", ".join(f"{name} {count}" for name, count in sorted(counts.items())))
    assert counts.total() >= 5000
    assert {name.split(".")[0] for name in counts} >= {"tape", "square", "solve", "network", "walk", "say", "window", "naming"}
