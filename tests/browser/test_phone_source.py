"""What is true of the phone's files as written: words, parts, and what they may not do."""
import json
import re
from pathlib import Path

import pytest

from server.places import PWA
from server.words import section

MODULES = sorted(path for path in PWA.rglob("*.js") if path.name != "sw.js")
SOURCE = "\n".join(path.read_text(encoding="utf-8") for path in MODULES)
SAID = re.findall(r"[\"`](phone\.[^\"`]*)[\"`]", SOURCE)
IMPORTED = re.compile(r"(?:from |import\()\"(\.[^\"]+)\"|\"(\./[^\"]+\.js)\"")
FORBIDDEN = ["innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "new Function", "localStorage.clear", ".style."]


def pattern(said: str) -> str:
    """A key as said in the code, its ${slots} open."""
    return ".+".join(re.escape(part) for part in re.split(r"\$\{[^}]*(?:\}\)?|$)", said))


def test_every_sentence_said_is_there() -> None:
    words = section("phone.")
    missing = [said for said in SAID if not any(re.fullmatch(pattern(said), key) for key in words)]
    assert missing == []


def test_every_sentence_there_is_said() -> None:
    patterns = [pattern(said) for said in SAID]
    fixes = [f"{one}\\.fix" for one in patterns]
    unsaid = [key for key in section("phone.") if not any(re.fullmatch(one, key) for one in patterns + fixes)]
    assert unsaid == []


def test_modules_are_few_and_short() -> None:
    assert len(MODULES) <= 40
    long = {path.name: lines for path in MODULES if (lines := len(path.read_text("utf-8").splitlines())) > 250}
    assert long == {}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PWA).as_posix())
def test_a_module_imports_only_what_is_shipped(path: Path) -> None:
    named = [a or b for a, b in IMPORTED.findall(path.read_text(encoding="utf-8"))]
    assert [name for name in named if not (path.parent / name).resolve().is_relative_to(PWA) or not (path.parent / name).exists()] == []


def test_text_is_never_set_as_html_and_no_style_inline() -> None:
    assert [word for word in FORBIDDEN if word in SOURCE] == []


def test_the_page_has_nothing_inline_and_names_only_what_is_there() -> None:
    page = (PWA / "index.html").read_text(encoding="utf-8")
    assert re.findall(r"<script(?![^>]*src=)|<style|\son\w+=|\sstyle=", page) == []
    assert "default-src 'self'" in page
    named = [name for name in re.findall(r"(?:href|src)=\"([^\"]+)\"", page) if name != "words.json"]
    assert [name for name in named if not (PWA / name).exists()] == []


def test_the_manifest_names_icons_that_are_there() -> None:
    manifest = json.loads((PWA / "manifest.webmanifest").read_text(encoding="utf-8"))
    assert [icon["src"] for icon in manifest["icons"] if not (PWA / icon["src"]).exists()] == []
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("./", "./", "standalone")
