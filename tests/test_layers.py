"""The layer rule: what each file may import. A stage imports no other stage; the field imports only math and itself."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SERVER = ROOT / "server"

NOUNS = {"model", "errors", "words", "places", "settings"}
FIELD = {"field"}
CODES = {"codes"}
STAGES = {"job", "choosing", "framing", "yard", "steps", "drawing", "carry", "bundle", "report"}
STORY = {"plan", "book", "store", "phone", "shell_tree", "talk", "spans", "offer", "rehearse", "lan"}
FACES = {"web", "cli", "__main__", "__init__"}

# Files that belong to one part and are used by it alone.
PARTS = {"book_quick": "book", "job_checks": "job", "job_fields": "job", "job_schema": "job",
         "span_fields": "spans", "span_say": "spans", "span_cli": "cli", "refusal": "cli",
         "rehearse_cli": "cli", "serve_cli": "cli", "job_files": "cli", "api_schema": "web",
         "report_fold": "report", "report_log": "report", "backup_cli": "cli"}
ALLOWED = {
    "model": set(),
    "places": set(),
    "settings": set(),
    "words": {"field"},
    "errors": {"model", "words"},
    "units": set(),
    "codes": NOUNS,
    **{stage: NOUNS | FIELD | CODES | {"units"} for stage in STAGES},
    "phone": {"places"},
    "plan": NOUNS | FIELD | CODES | STAGES | {"phone"},
    "book": NOUNS | FIELD,
    "store": NOUNS | FIELD | {"job", "plan"},
    "shell_tree": NOUNS | {"phone"},
    "spans": NOUNS | FIELD | {"codes", "job"},
    "offer": NOUNS | FIELD | {"choosing", "units"},
    "talk": NOUNS | FIELD | {"book"},
    "rehearse": NOUNS | FIELD | {"job"},
    "lan": NOUNS,
    "web": NOUNS | FIELD | CODES | STAGES | STORY | {"units"},
    "cli": NOUNS | FIELD | CODES | STAGES | STORY | {"units", "web"},
    "__main__": {"cli"},
    "__init__": {"web"},
}
# The one place that may import each of these; every other library is free to any file above the field.
ONLY_IN = {
    "flask": {"web", "__init__"},
    "flask_caching": {"web"},
    "waitress": {"web"},
    "apispec": {"web"},
    "cheroot": {"lan"},
    "cryptography": {"lan"},
    "psutil": {"lan"},
    "segno": {"web", "serve_cli"},
    "marshmallow": {"job", "book", "job_checks", "job_fields", "job_schema", "api_schema"},
    "sqlalchemy": {"store"},
    "pint": {"units"},
    "pscript": {"phone"},
    "click": {"cli", "span_cli", "rehearse_cli", "serve_cli", "backup_cli", "refusal"},
}


def files() -> list[Path]:
    return sorted(SERVER.rglob("*.py"))


def part_of(path: Path) -> str:
    """The part a file belongs to: the module or the package beneath server/."""
    name = path.relative_to(SERVER).parts[0].removesuffix(".py")
    return PARTS.get(name, name)


def imports(path: Path) -> set[str]:
    """Every module a file imports, as dotted names; relative ones made whole."""
    package = ["server", *path.relative_to(SERVER).parts[:-1]]
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = ".".join([*package[: len(package) - node.level + 1], node.module or ""]).strip(".")
            base = base if node.level else node.module or ""
            found |= {f"{base}.{name.name}" if base in ("server", ".".join(package)) else base for name in node.names}
    return found


@pytest.mark.parametrize("path", files(), ids=lambda path: path.relative_to(SERVER).as_posix())
def test_a_file_imports_only_what_its_layer_may(path: Path) -> None:
    part = part_of(path)
    own = {name.split(".")[1] for name in imports(path) if name.startswith("server.") and name.count(".") >= 1}
    others = {PARTS.get(name, name) for name in own if (SERVER / name).is_dir() or (SERVER / f"{name}.py").is_file()}
    if part == "field":
        assert others <= {"field"}
        assert {name for name in imports(path) if not name.startswith("server.field")} <= {"math"}
        return
    assert others - {part} <= ALLOWED[part], f"{part} may not import {others - {part} - ALLOWED[part]}"


@pytest.mark.parametrize("path", files(), ids=lambda path: path.relative_to(SERVER).as_posix())
def test_each_library_has_its_one_place(path: Path) -> None:
    name = path.relative_to(SERVER).parts[0].removesuffix(".py")
    for module in imports(path):
        allowed = ONLY_IN.get(module.split(".")[0])
        assert allowed is None or name in allowed, f"{module} belongs in {allowed}"


def test_every_part_has_a_rule() -> None:
    assert {part_of(path) for path in files()} - {"field"} <= set(ALLOWED)


def test_stages_do_not_import_each_other() -> None:
    for stage in STAGES:
        assert not ALLOWED[stage] & STAGES


def test_the_top_level_stays() -> None:
    fixed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "server", "pwa", "tests", "seed_data", "LICENSE"}
    built = {"build", "dist", "node_modules"}
    seen = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    seen = {name for name in seen - built if not name.endswith(".egg-info")}
    assert seen == fixed


def test_at_most_40_modules_on_the_phone() -> None:
    assert 5 < len(list((ROOT / "pwa").rglob("*.js"))) <= 40
