"""The field math for the phone: server/field compiled to one ES module, field.js, with a room for each field module.

The gate refuses what would change its meaning, the lowering writes Python's operations as calls into runtime.js, and
PScript turns what is left into JavaScript. It loads as it is, under a content security policy without eval.
A ValueError raised in the field is thrown as a JavaScript Error with name "ValueError" and message "ValueError: text".
"""
import ast
import hashlib
from collections.abc import Collection, Mapping
from functools import cache
from graphlib import CycleError
from pathlib import Path

from pscript import py2js

from server.phone.gate import Refusal, check, own_names
from server.phone.joining import STANDING, Compiled, joined
from server.phone.lowering import PREFIX, lowered

FIELD = Path(__file__).resolve().parent.parent / "field"
FILE = "field.js"


class FieldError(Exception):
    """A field module that the gate refuses: for whoever writes the module, before it ships."""

    def __init__(self, refused: Mapping[str, list[Refusal]]) -> None:
        self.refused = {name: list(refusals) for name, refusals in refused.items() if refusals}
        lines = [f"{name}.py {refusal}" for name, refusals in self.refused.items() for refusal in refusals]
        super().__init__("\n".join(lines))


@cache
def compile_field() -> str:
    """The field math as the text of one ES module. Raises FieldError with every refusal."""
    return compile_modules({path.stem: path.read_text("utf-8") for path in sorted(FIELD.glob("[!_]*.py"))})


@cache
def field_digest() -> str:
    """Sixteen hex digits that name this very text."""
    return hashlib.sha256(compile_field().encode()).hexdigest()[:16]


def compile_modules(sources: Mapping[str, str]) -> str:
    """Modules (name -> source) as one ES module that exports each by its name. Raises FieldError with all refusals."""
    refused = {name: _refusals(source, name, sources.keys()) for name, source in sources.items()}
    if any(refused.values()):
        raise FieldError(refused)
    compiled = {name: _compiled(source, name) for name, source in sources.items()}
    try:
        return joined(compiled)
    except CycleError as circle:
        names = " -> ".join(circle.args[1])
        raise FieldError({circle.args[1][0]: [Refusal(1, names, "modules import in a circle", "break it")]}) from None


def _refusals(source: str, name: str, known: Collection[str]) -> list[Refusal]:
    """What the gate refuses, a module's name that is taken already, and siblings that are not there."""
    found = check(source, name)
    if f"{name}.js" in STANDING:
        found.insert(0, Refusal(1, name, "a file the modules stand on has this name", "use another name"))
    if not found:
        gone = sorted(own_names(ast.parse(source)).siblings - set(known))
        found += [Refusal(1, sibling, "no such module beside this one", "import one that is there") for sibling in gone]
    return found


def _compiled(source: str, name: str) -> Compiled:
    """A module that has passed the gate, as JavaScript."""
    tree = ast.parse(source)
    own = own_names(tree)
    script = py2js(ast.unparse(lowered(tree, own.imports)), docstrings=False)
    unknown = {used.split(".")[0] for used in script.meta["vars_unknown"]}
    operations = {used: used.removeprefix(PREFIX) for used in unknown if used.startswith(PREFIX)}
    if lost := sorted(unknown - operations.keys() - own.imports):
        raise FieldError({name: [Refusal(0, used, "no such name", "define it or import its module") for used in lost]})
    return Compiled(own.siblings, operations, str(script), own.functions | own.constants)
