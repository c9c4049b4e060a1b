"""The field math for the phone: server/field compiled to ES modules NAME.js, standing on runtime.js and math.js.

The gate refuses what would change its meaning, the lowering writes Python's operations as calls into runtime.js, and
PScript turns what is left into JavaScript. The modules load as they are, under a content security policy without eval.
A ValueError raised in the field is thrown as a JavaScript Error with name "ValueError" and message "ValueError: text".
"""
import ast
import hashlib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

from pscript import py2js

from server.phone.gate import Refusal, check, own_names
from server.phone.lowering import PREFIX, lowered

FIELD = Path(__file__).resolve().parent.parent / "field"
HERE = Path(__file__).resolve().parent
STANDING = ("math.js", "operators.js", "runtime.js", "text.js")


class FieldError(Exception):
    """A field module that the gate refuses: for whoever writes the module, before it ships."""

    def __init__(self, refused: Mapping[str, Iterable[Refusal]]) -> None:
        self.refused = {name: list(refusals) for name, refusals in refused.items()}
        lines = [f"{name}.py {refusal}" for name, refusals in self.refused.items() for refusal in refusals]
        super().__init__("\n".join(lines))


@cache
def compile_field() -> dict[str, str]:
    """Every file the phone needs for the field math: file name -> text. Raises FieldError with every refusal."""
    sources = {path.stem: path.read_text("utf-8") for path in sorted(FIELD.glob("*.py")) if path.stem != "__init__"}
    refused = {name: refusals for name, source in sources.items() if (refusals := check(source, name))}
    if refused:
        raise FieldError(refused)
    return standing_modules() | {f"{name}.js": compile_module(source, name) for name, source in sources.items()}


@cache
def field_digest() -> str:
    """Sixteen hex digits that name this very set of files."""
    digest = hashlib.sha256()
    for name, text in sorted(compile_field().items()):
        digest.update(f"{name}\0{text}\0".encode())
    return digest.hexdigest()[:16]


def standing_modules() -> dict[str, str]:
    """What every compiled module stands on: Python's operations, and Python's math."""
    return {name: (HERE / name).read_text("utf-8") for name in STANDING}


def compile_module(source: str, name: str) -> str:
    """One field module as ES module text. Raises FieldError when the gate refuses any of it."""
    if refusals := check(source, name):
        raise FieldError({name: refusals})
    tree = ast.parse(source)
    modules = own_names(tree).imports
    script = py2js(ast.unparse(lowered(tree, modules)), docstrings=False)
    unknown = {used.split(".")[0] for used in script.meta["vars_unknown"]}
    operations = sorted(used for used in unknown if used.startswith(PREFIX))
    if lost := sorted(unknown - set(operations) - modules):
        raise FieldError({name: [Refusal(0, used, "no such name", "define it or import its module") for used in lost]})
    return "\n".join([*_imports(modules, operations), str(script).strip(), _exports(tree)]) + "\n"


def _imports(modules: Iterable[str], operations: Iterable[str]) -> list[str]:
    """The import lines of a compiled module."""
    names = ", ".join(f"{operation.removeprefix(PREFIX)} as {operation}" for operation in operations)
    siblings = [f'import * as {module} from "./{module}.js";' for module in sorted(modules)]
    return [*siblings, f'import {{ {names} }} from "./runtime.js";'] if names else siblings


def _exports(tree: ast.Module) -> str:
    """The export line: every function and constant by its own name."""
    own = own_names(tree)
    names = own.functions | own.constants
    return f"export {{ {', '.join(sorted(names))} }};"
