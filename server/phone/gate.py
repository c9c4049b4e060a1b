"""The gate: which Python field modules may use. An allow-list over the syntax tree: what it does not know, it refuses.

What is allowed means the same in Python and in the compiled module (see lowering.py and runtime.js), or stops there
with an error of the same name. What no reading of the code can see: a whole float (4.0) that reaches an f-string
through a parameter, whole numbers beyond 2**53, the sign of a whole zero, a name read before it has a value, and a
tuple told apart from a list.
"""
import ast
import builtins
import re
from collections.abc import Callable

from server.phone.calls import Calls
from server.phone.expressions import Names, Refusal, is_plain, target_names
from server.phone.inference import Inference, Values, assigned, boolean_functions, parameters
from server.phone.subset import BOOLEAN_PREFIXES, FUNCTIONS, INSTEAD, JAVASCRIPT_WORDS

__all__ = ["Refusal", "check", "own_names"]

COMPILER_NAMES = re.compile(r"py_\w*|_py\w*|stub\d\w*|err_\d+|flx_\w*|PSCRIPT\w*|__\w+__")
COMPILER_CALLS = {*dir(builtins), *dir(str), *dir(list), *dir(dict), "perf_counter", "repeat", "time"}


def check(source: str, name: str) -> list[Refusal]:
    """Every construct of a field module that is not in the subset, in the order of its lines."""
    try:
        tree = ast.parse(source, filename=name)
    except SyntaxError as problem:
        return [Refusal(problem.lineno or 0, "syntax", str(problem.msg), "write Python that Python can read")]
    module = _Module(tree)
    module.check()
    return sorted(module.refusals, key=lambda refusal: refusal.line)


def own_names(tree: ast.Module) -> Names:
    """What the module defines and imports."""
    siblings = {alias.name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    imports = {alias.name for node in tree.body if isinstance(node, ast.Import) for alias in node.names}
    functions = frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))
    return Names(functions, frozenset(_constants(tree)), frozenset(siblings), frozenset(siblings | imports))


def _constants(tree: ast.Module) -> dict[str, list[ast.expr]]:
    """The module's constants and what they are given."""
    values: dict[str, list[ast.expr]] = {}
    for node in tree.body:
        match node:
            case ast.Assign(targets=[ast.Name(id=name)], value=ast.expr() as value):
                values.setdefault(name, []).append(value)
            case ast.AnnAssign(target=ast.Name(id=name), value=ast.expr() as value):
                values.setdefault(name, []).append(value)
    return values


class _Module:
    """Checks the top level of a module, and each of its functions."""

    def __init__(self, tree: ast.Module) -> None:
        self.refusals: list[Refusal] = []
        self._body = tree.body
        self._names = own_names(tree)
        self._constants = _constants(tree)
        self._booleans = boolean_functions(tree)
        inference = Inference(self._constants, self._booleans)
        self._top = Calls(self._names, frozenset(), inference, self.refusals)

    def check(self) -> None:
        for at, node in enumerate(self._body):
            match node:
                case ast.Expr(value=ast.Constant(value=str())) if at == 0:
                    pass
                case ast.Import() | ast.ImportFrom():
                    self._import(node)
                case ast.FunctionDef():
                    self._function(node)
                case ast.Assign(targets=[ast.Name() as target]) | ast.AnnAssign(target=ast.Name() as target):
                    self._constant(target, node.value)
                case _:
                    instead = INSTEAD.get(type(node).__name__, "put it in a function")
                    self._top.refuse(node, "only imports, constants and functions stand at the top level", instead)

    def _import(self, node: ast.Import | ast.ImportFrom) -> None:
        sibling = isinstance(node, ast.ImportFrom) and node.module is None and node.level == 1
        plain = isinstance(node, ast.Import) and all(alias.name == "math" for alias in node.names)
        if not (sibling or plain) or any(alias.asname for alias in node.names):
            instead = "from . import NAME, or import math"
            self._top.refuse(node, "a field module imports only math and its siblings", instead)

    def _constant(self, target: ast.Name, value: ast.expr | None) -> None:
        self._bind(target, target.id)
        if value is None or len(self._constants.get(target.id, [])) > 1:
            self._top.refuse(target, "a constant is given one value, once", "use another name")
        self._top.values(value)

    def _function(self, node: ast.FunctionDef) -> None:
        self._bind(node, node.name)
        if node.name in COMPILER_CALLS or node.name[0].isupper():
            self._refuse_name(node, node.name, "the compiler takes a call of it for something else")
        if node.decorator_list:
            self._top.refuse(node.decorator_list[0], "decorators are not in the field subset", "call it inside")
        if node.name.startswith(BOOLEAN_PREFIXES) and node.name not in self._booleans:
            self._refuse_name(node, node.name, "a function named so answers True or False in each return")
        self._parameters(node)
        _Function(node, self._names, self._constants, self._booleans, self.refusals, self._bind).check()

    def _parameters(self, node: ast.FunctionDef) -> None:
        given = node.args
        if not is_plain(given):
            self._top.refuse(node, "parameters are plain and positional", "take a list or a dict")
        for default in given.defaults:
            if not isinstance(default, ast.Constant):
                self._top.refuse(default, "a default is a constant", "use None and test `is None`")
            self._top.value(default)
        for argument in given.args:
            self._bind(argument, argument.arg)

    def _bind(self, node: ast.AST, name: str) -> None:
        """Check a name that is given a value."""
        if name in JAVASCRIPT_WORDS or not name.isascii():
            self._refuse_name(node, name, "JavaScript cannot use this name")
        elif name in FUNCTIONS or name in self._names.imports:
            self._refuse_name(node, name, "it hides a function or module")
        elif COMPILER_NAMES.fullmatch(name):
            self._refuse_name(node, name, "the compiler makes names of this kind")

    def _refuse_name(self, node: ast.AST, name: str, why: str) -> None:
        self.refusals.append(Refusal(getattr(node, "lineno", 0), name, why, "use another name"))


class _Function:
    """Checks the statements of one function."""

    def __init__(
        self,
        node: ast.FunctionDef,
        names: Names,
        constants: Values,
        booleans: frozenset[str],
        refusals: list[Refusal],
        bind: Callable[[ast.AST, str], None],
    ) -> None:
        given = assigned(node)
        own = parameters(node)
        local = own | given.keys()
        outside = {name: value for name, value in constants.items() if name not in local}
        self._expressions = Calls(names, local, Inference({**outside, **given}, booleans, own), refusals)
        self._refuse = self._expressions.refuse
        self._bind = bind
        self._node = node

    def check(self) -> None:
        body = self._node.body
        documented = isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant)
        self._block(body[1:] if documented else body)
        for inner in ast.walk(self._node):
            if isinstance(inner, ast.comprehension):
                self._targets(inner.target)
            elif isinstance(inner, ast.Lambda):
                for argument in inner.args.args:
                    self._bind(inner, argument.arg)

    def _block(self, body: list[ast.stmt]) -> None:
        for node in body:
            method = getattr(self, f"_{type(node).__name__.lower()}", None)
            if method is None:
                self._expressions.refuse_kind(node)
            else:
                method(node)

    def _pass(self, node: ast.stmt) -> None:
        """Nothing to check."""

    _break = _continue = _pass

    def _expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call):
            self._expressions.value(node.value)
        else:
            self._refuse(node, "a line that does nothing", "take it out")

    def _return(self, node: ast.Return) -> None:
        self._expressions.values(node.value)

    def _assign(self, node: ast.Assign) -> None:
        if len(node.targets) > 1:
            self._refuse(node, "one name gets a value at a time", "write two lines")
        for target in node.targets:
            items = target.elts if isinstance(target, ast.Tuple) else [target]
            for item in items:
                self._target(item)
        self._expressions.value(node.value)

    def _annassign(self, node: ast.AnnAssign) -> None:
        self._target(node.target)
        self._expressions.values(node.value)

    def _augassign(self, node: ast.AugAssign) -> None:
        self._target(node.target)
        if any(isinstance(inner, ast.Call) for inner in ast.walk(node.target)):
            self._refuse(node, "the left side would be worked out twice", "name it first")
        same = ast.copy_location(ast.BinOp(node.target, node.op, node.value), node)
        self._expressions.value(same)

    def _target(self, target: ast.expr) -> None:
        if isinstance(target, ast.Name):
            self._bind(target, target.id)
        elif isinstance(target, ast.Subscript) and not isinstance(target.slice, ast.Slice):
            self._expressions.value(target)
        else:
            self._refuse(target, "a value goes to a name, d[key] or items[i]", "take the parts out one by one")

    def _targets(self, target: ast.expr) -> None:
        names = target_names(target)
        if names is None:
            self._refuse(target, "only names stand between for and in", "take the parts out in the loop")
        for name in names or []:
            self._bind(target, name)

    def _if(self, node: ast.If) -> None:
        self._expressions.test(node.test)
        self._block(node.body)
        self._block(node.orelse)

    def _while(self, node: ast.While) -> None:
        self._expressions.test(node.test)
        self._loop(node)

    def _for(self, node: ast.For) -> None:
        self._targets(node.target)
        self._expressions.iterated(node.iter)
        self._loop(node)

    def _loop(self, node: ast.For | ast.While) -> None:
        self._block(node.body)
        if node.orelse:
            self._refuse(node.orelse[0], "a loop has no else here", "keep what was found in a name")

    def _raise(self, node: ast.Raise) -> None:
        call = node.exc
        if node.cause or not (isinstance(call, ast.Call) and _is_value_error(call.func) and len(call.args) == 1):
            self._refuse(node, "only a ValueError is raised here", "write: raise ValueError(text)")
        else:
            self._expressions.values(*call.args)

    def _try(self, node: ast.Try) -> None:
        if node.orelse or node.finalbody or len(node.handlers) != 1:
            self._refuse(node, "try has one except and nothing else here", "put the rest after it")
        self._block(node.body)
        for handler in node.handlers:
            if handler.name or handler.type is None or not _is_value_error(handler.type):
                self._refuse(handler, "only `except ValueError:` stands here", "look at the values before instead")
            self._block(handler.body)


def _is_value_error(node: ast.expr) -> bool:
    return isinstance(node, ast.Name) and node.id == "ValueError"

