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

    def __init__(self, refused: Mapping[str, list[Refusal]]) -> None:
        self.refused = {name: list(refusals) for name, refusals in refused.items() if refusals}
        lines = [f"{name}.py {refusal}" for name, refusals in self.refused.items() for refusal in refusals]
        super().__init__("\n".join(lines))


@cache
def compile_field() -> dict[str, str]:
    """Every file the phone needs for the field math: file name -> text. Raises FieldError with every refusal."""
    return compile_modules({path.stem: path.read_text("utf-8") for path in sorted(FIELD.glob("[!_]*.py"))})


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


def compile_modules(sources: Mapping[str, str]) -> dict[str, str]:
    """Modules (name -> source) as files, and what they stand on. Raises FieldError with the refusals of all."""
    standing = standing_modules()
    refused = {name: _refusals(source, name) for name, source in sources.items()}
    if any(refused.values()):
        raise FieldError(refused)
    return standing | {f"{name}.js": _compiled(source, name) for name, source in sources.items()}


def _refusals(source: str, name: str) -> list[Refusal]:
    """What the gate refuses, and a module's name that a file it stands on has already."""
    taken = Refusal(1, name, "a file the modules stand on has this name", "use another name")
    return [taken, *check(source, name)] if f"{name}.js" in STANDING else check(source, name)


def compile_module(source: str, name: str) -> str:
    """One field module as ES module text. Raises FieldError when the gate refuses any of it."""
    return compile_modules({name: source})[f"{name}.js"]


def _compiled(source: str, name: str) -> str:
    """A module that has passed the gate, as ES module text."""
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
