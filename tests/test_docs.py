"""What is written about the project is true of it: commands, codes, sentences, the wheel's contents."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from server import job
from server.cli import main
from server.errors import Fault, YardtrueError
from server.words import words
from tests.demo import document

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
SOURCES = [path for folder in ("server", "pwa") for path in (ROOT / folder).rglob("*") if path.suffix in (".py", ".js", ".html")]


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, flags=re.S)


def test_ci_runs_the_readmes_second_command_as_written() -> None:
    second = next(block.strip() for block in blocks("sh") if "-m tests" in block)
    assert second in (ROOT / ".ci/run").read_text(encoding="utf-8")


def test_every_command_is_in_the_readme_and_no_other() -> None:
    told = set(re.findall(r"^\| `yardtrue ([\w-]+)", README, flags=re.M))
    assert told == set(main.commands)


def test_every_option_in_the_readmes_table_is_an_option() -> None:
    for name, rest in re.findall(r"^\| `yardtrue ([\w-]+)([^`]*)`", README, flags=re.M):
        known = {option for parameter in main.commands[name].params for option in parameter.opts}
        assert set(re.findall(r"(?<!\w)--?[a-z]+(?:-[a-z]+)*", rest)) <= known


def test_the_readmes_job_file_is_a_job() -> None:
    (text,) = blocks("json")
    assert job.read_text(text).name == "Long side deck"


def test_every_error_says_what_to_do() -> None:
    codes = {key for key in words() if key.startswith("errors.") and not key.endswith(".fix")}
    assert codes
    assert {f"{code}.fix" for code in codes} <= set(words())


def test_every_step_kind_and_entry_kind_is_in_the_map() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    acts = {act["act"] for step in document()["steps"] for act in step["acts"]}
    assert acts == {"heed", "set", "check", "seek", "stake"}
    for kind in ("heed", "set", "reading", "move", "stake", "strike", "note", "way", "after"):
        assert re.search(rf"\b{kind}\b", told)


def test_every_literal_key_in_the_code_has_its_sentence() -> None:
    """Keys written out whole; keys put together at run time are walked through in test_walk."""
    missing = {
        (path.name, key)
        for path in SOURCES
        for key in re.findall(r"[\"'`]((?:walk|phone|cli)\.[a-z][a-z0-9.-]*[a-z0-9])[\"'`]", path.read_text(encoding="utf-8"))
        if key not in words() and not key.endswith((".js", ".json"))
    }
    assert not missing


def test_no_sentence_says_approved() -> None:
    assert not [key for key, text in words().items() if "approved" in text.lower()]


def test_the_shape_of_every_error() -> None:
    """One JSON shape: code, message, fix, and each fault with its place, message and fix."""
    error = YardtrueError("job-faults", [Fault("beams.0.setback", "setback-zero", {"given": 3.0})])
    shape = json.loads(json.dumps(error.plain()))
    assert set(shape) == {"error"}
    assert set(shape["error"]) == {"code", "message", "fix", "faults"}
    assert set(shape["error"]["faults"][0]) == {"place", "code", "message", "fix"}


def test_every_package_and_its_data_is_in_the_packaging() -> None:
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    packages = {".".join(path.parent.relative_to(ROOT).parts) for path in (ROOT / "server").rglob("__init__.py")}
    assert packages | {"server.pwa", "server.seed_data"} == set(told["packages"])


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Names in a wheel built from a copy of the project, as `pip install .` builds it."""
    folder = tmp_path_factory.mktemp("wheel")
    copy = folder / "project"
    listed = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=True)
    for name in listed.stdout.splitlines():
        if (ROOT / name).is_file():
            (copy / name).parent.mkdir(parents=True, exist_ok=True)
            (copy / name).write_bytes((ROOT / name).read_bytes())
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(copy)]
    subprocess.run(command, check=True, capture_output=True)
    (built,) = folder.glob("*.whl")
    return set(zipfile.ZipFile(built).namelist())


def test_phone_words_and_demo_jobs_travel_in_the_wheel(wheel: set[str]) -> None:
    pwa = {f"server/pwa/{path.relative_to(ROOT / 'pwa').as_posix()}" for path in (ROOT / "pwa").rglob("*") if path.is_file()}
    data = {f"server/{path.relative_to(ROOT / 'server').as_posix()}" for path in (ROOT / "server").rglob("*") if path.suffix in (".js", ".json", ".html", ".css", ".py")}
    assert pwa <= wheel
    assert data <= wheel
    assert {"server/seed_data/long-side-deck.json", "server/seed_data/pear-tree-platform.json"} <= wheel
