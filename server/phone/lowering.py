"""Rewrites a field module so that every operation JavaScript would do its own way becomes a call into runtime.js.

`a + b` becomes `py_add(a, b)`, `d[k]` becomes `py_at(d, k)`, `if x` becomes `if py_truth(x)`. What is left for the
compiler is what both languages agree on: names, constants, calls, assignments, if, loops, return, raise and try.
Docstrings, annotations and imports are taken out. Only what the gate has let through is understood here.
"""
import ast
import re
from typing import cast

from server.phone.inference import Inference, asked_for_number, boolean_functions
from server.phone.subset import FUNCTIONS, TYPES

PREFIX = "py_"
ARITHMETIC = {
    ast.Add: "add", ast.Sub: "subtract", ast.Mult: "multiply", ast.Div: "divide", ast.Mod: "modulo",
    ast.FloorDiv: "floor_divide",
}
COMPARISONS = {
    ast.Eq: "equal", ast.NotEq: "differs", ast.Lt: "less", ast.LtE: "at_most", ast.Gt: "more", ast.GtE: "at_least",
}

NOT_KEYS = ("__proto__", "length")  # JavaScript finds something that is no function under these


def lowered(tree: ast.Module, modules: frozenset[str]) -> ast.Module:
    """The same module with Python's operations written as calls; `modules` are the names it imports."""
    body = [node for node in tree.body if not isinstance(node, ast.Import | ast.ImportFrom | ast.Expr)]
    lowering = _Lowering(Inference({}, boolean_functions(tree)), modules)
    return ast.fix_missing_locations(ast.Module(lowering.block(body), []))


def _call(name: str, *arguments: ast.expr) -> ast.Call:
    return ast.Call(ast.Name(PREFIX + name, ast.Load()), list(arguments), [])


def _none() -> ast.expr:
    return ast.Constant(None)


def _arguments(*names: str) -> ast.arguments:
    return ast.arguments([], [ast.arg(name) for name in names], None, [], [], None, [])


class _Lowering(ast.NodeTransformer):
    def __init__(self, inference: Inference, modules: frozenset[str]) -> None:
        self._inference = inference
        self._modules = modules

    def _value(self, node: ast.expr) -> ast.expr:
        return cast(ast.expr, self.visit(node))

    def _test(self, node: ast.expr) -> ast.expr:
        """An expression of which only the truth matters, as a JavaScript true or false."""
        if isinstance(node, ast.BoolOp) and asked_for_number(node) is None:
            return ast.BoolOp(node.op, [self._test(part) for part in node.values])
        boolean = self._inference.is_boolean(node)
        return self._value(node) if boolean else _call("truth", self._value(node))

    def _through(self, node: ast.expr, target: ast.expr) -> ast.expr:
        """What a loop goes through, as a list; with several names before `in`, as a list of rows that long."""
        things = _call("each", self._value(node))
        if isinstance(target, ast.Tuple):
            return _call("rows", things, ast.Constant(len(target.elts)))
        return things

    # Statements

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        body = node.body
        if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
            body = body[1:]
        plain = ast.parse("PSCRIPT_OVERLOAD = False").body  # the compiler's own meaning of + * == and truth stays out
        arguments = _arguments(*(argument.arg for argument in node.args.args))
        arguments.defaults = node.args.defaults
        return ast.FunctionDef(node.name, arguments, [*plain, *self.block(body)], [], None)

    def block(self, body: list[ast.stmt]) -> list[ast.stmt]:
        lines: list[ast.stmt] = []
        for node in body:
            new = self.visit(node)
            lines.extend(new if isinstance(new, list) else [new])
        return lines

    def visit_Assign(self, node: ast.Assign) -> list[ast.stmt]:
        return self._assigned(node.targets[0], self._value(node.value))

    def visit_AnnAssign(self, node: ast.AnnAssign) -> list[ast.stmt]:
        return [ast.Pass()] if node.value is None else self._assigned(node.target, self._value(node.value))

    def visit_AugAssign(self, node: ast.AugAssign) -> list[ast.stmt]:
        operation = "add_to" if isinstance(node.op, ast.Add) else ARITHMETIC[type(node.op)]
        return self._assigned(node.target, _call(operation, self._read(node.target), self._value(node.value)))

    def _read(self, target: ast.expr) -> ast.expr:
        """The value a target has now."""
        if isinstance(target, ast.Subscript):
            return _call("at", self._value(target.value), self._value(target.slice))
        return ast.Name(cast(ast.Name, target).id, ast.Load())

    def _assigned(self, target: ast.expr, value: ast.expr) -> list[ast.stmt]:
        """Lines that give a target its (lowered) value."""
        if isinstance(target, ast.Subscript):
            return [ast.Expr(_call("put", value, self._value(target.value), self._value(target.slice)))]
        if not isinstance(target, ast.Tuple):
            return [ast.Assign([target], value)]
        row = _call("unpack", value, ast.Constant(len(target.elts)))
        names = [ast.Name(f"{PREFIX}part{at}", ast.Store()) for at in range(len(target.elts))]
        lines: list[ast.stmt] = [ast.Assign([ast.Tuple(list(names), ast.Store())], row)]
        for name, item in zip(names, target.elts, strict=True):
            lines.extend(self._assigned(item, ast.Name(name.id, ast.Load())))
        return lines

    def visit_If(self, node: ast.If) -> ast.If:
        return ast.If(self._test(node.test), self.block(node.body), self.block(node.orelse))

    def visit_While(self, node: ast.While) -> ast.While:
        return ast.While(self._test(node.test), self.block(node.body), [])

    def visit_For(self, node: ast.For) -> ast.For:
        return ast.For(node.target, self._through(node.iter, node.target), self.block(node.body), [])

    def visit_Try(self, node: ast.Try) -> ast.Try:
        handlers = [ast.ExceptHandler(one.type, None, self.block(one.body)) for one in node.handlers]
        return ast.Try(self.block(node.body), handlers, [], [])

    # Expressions

    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        return _call(ARITHMETIC[type(node.op)], self._value(node.left), self._value(node.right))

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.expr:
        if isinstance(node.op, ast.Not):
            return ast.UnaryOp(ast.Not(), self._test(node.operand))
        return node if _is_number(node.operand) else _call("negate", self._value(node.operand))

    def visit_BoolOp(self, node: ast.BoolOp) -> ast.expr:
        if number := asked_for_number(node):
            return _call("is_number", self._value(number))
        return ast.BoolOp(node.op, [*map(self._test, node.values[:-1]), self._value(node.values[-1])])

    def visit_Compare(self, node: ast.Compare) -> ast.expr:
        sides = [self._value(side) for side in (node.left, *node.comparators)]
        pairs = [self._compared(op, sides[at], sides[at + 1]) for at, op in enumerate(node.ops)]
        return pairs[0] if len(pairs) == 1 else ast.BoolOp(ast.And(), pairs)

    def _compared(self, operator: ast.cmpop, left: ast.expr, right: ast.expr) -> ast.expr:
        if isinstance(operator, ast.Is | ast.IsNot):
            return ast.Compare(left, [operator], [right])
        if isinstance(operator, ast.In | ast.NotIn):
            inside = _call("within", left, right)
            return inside if isinstance(operator, ast.In) else ast.UnaryOp(ast.Not(), inside)
        return _call(COMPARISONS[type(operator)], left, right)

    def visit_IfExp(self, node: ast.IfExp) -> ast.expr:
        return ast.IfExp(self._test(node.test), self._value(node.body), self._value(node.orelse))

    def visit_Subscript(self, node: ast.Subscript) -> ast.expr:
        base, key = self._value(node.value), node.slice
        if isinstance(key, ast.Constant) and isinstance(key.value, str) and key.value not in NOT_KEYS:
            return _call("found", ast.Subscript(base, key, ast.Load()), key)
        if not isinstance(key, ast.Slice):
            return _call("at", base, self._value(key))
        bounds = [_none() if bound is None else self._value(bound) for bound in (key.lower, key.upper)]
        return _call("slice", base, *bounds)

    def visit_Dict(self, node: ast.Dict) -> ast.expr:
        values = [self._value(value) for value in node.values]
        if all(map(_is_plain_key, node.keys)):
            return ast.Dict(node.keys, values)
        keys = [self._value(cast(ast.expr, key)) for key in node.keys]
        return _call("dict", *(part for pair in zip(keys, values, strict=True) for part in pair))

    def visit_ListComp(self, node: ast.ListComp) -> ast.expr:
        first = node.generators[0]
        target = first.target
        names = [cast(ast.Name, item).id for item in (target.elts if isinstance(target, ast.Tuple) else [target])]
        test = _none()
        if first.ifs:
            conditions = [self._test(condition) for condition in first.ifs]
            whole = conditions[0] if len(conditions) == 1 else ast.BoolOp(ast.And(), conditions)
            test = ast.Lambda(_arguments(*names), whole)
        collect = "collect_rows" if isinstance(target, ast.Tuple) else "collect"
        element = ast.Lambda(_arguments(*names), self._value(node.elt))
        return _call(collect, self._through(first.iter, target), element, test)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.expr:
        text: ast.expr = ast.Constant("")
        for part in node.values:
            piece = _call("text", self._value(part.value)) if isinstance(part, ast.FormattedValue) else part
            text = piece if text == part or _is_empty(text) else _call("add", text, piece)
        return text

    def visit_Call(self, node: ast.Call) -> ast.expr:
        if isinstance(node.func, ast.Name) and node.func.id == "isinstance":
            return _call(TYPES[ast.unparse(node.args[1])], self._value(node.args[0]))
        arguments = [self._value(argument) for argument in node.args]
        if isinstance(node.func, ast.Name):
            return self._function_call(node, node.func.id, arguments)
        function = cast(ast.Attribute, node.func)
        if isinstance(function.value, ast.Name) and function.value.id in self._modules:
            return ast.Call(function, arguments, [])
        return _call(function.attr, self._value(function.value), *arguments)

    def _function_call(self, node: ast.Call, name: str, arguments: list[ast.expr]) -> ast.expr:
        if name == "range":
            return _call("range", *_range_bounds(arguments))
        if name == "sorted":
            words = {word.arg: self._value(word.value) for word in node.keywords}
            return _call("sorted", *arguments, words.get("key", _none()), words.get("reverse", ast.Constant(False)))
        if name in FUNCTIONS:
            return _call("copied" if name == "dict" else name, *arguments)
        return ast.Call(node.func, arguments, [])

    def visit_Lambda(self, node: ast.Lambda) -> ast.expr:
        return ast.Lambda(_arguments(*(argument.arg for argument in node.args.args)), self._value(node.body))


def _range_bounds(given: list[ast.expr]) -> list[ast.expr]:
    bounds = [ast.Constant(0), *given] if len(given) == 1 else given
    return [*bounds, ast.Constant(1)] if len(bounds) == 2 else bounds


def _is_number(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and type(node.value) in (int, float) and node.value != 0


def _is_plain_key(node: ast.expr | None) -> bool:
    """Whether the compiler writes the key as it is, without quotes."""
    return isinstance(node, ast.Constant) and re.fullmatch(r"[A-Za-z_]\w*", str(node.value), re.ASCII) is not None


def _is_empty(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value == ""
