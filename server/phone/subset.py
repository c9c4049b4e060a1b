"""The Python that field modules are written in, as tables: what may be called, what to write instead of the rest."""
from typing import Final

# Builtin functions and how many arguments each takes here (least, most).
FUNCTIONS: Final = {
    "abs": (1, 1), "dict": (1, 1), "enumerate": (1, 1), "isinstance": (2, 2), "len": (1, 1), "list": (1, 1),
    "max": (1, 99), "min": (1, 99), "range": (1, 3), "reversed": (1, 1), "sorted": (1, 1), "zip": (2, 2),
}
ONLY_ITERATED: Final = ("enumerate", "range", "reversed", "zip")
# What isinstance() may ask, as written, and the operation of runtime.js that answers it.
TYPES: Final = {
    "bool": "is_bool", "dict": "is_dict", "list": "is_list", "str": "is_str",
    "(int, float)": "is_number", "int | float": "is_number",
}

# Methods of lists, dicts and text. `keys` is not here: it only stands in sorted(d.keys()).
METHODS: Final = {
    "append": (1, 1), "endswith": (1, 1), "extend": (1, 1), "find": (1, 1), "get": (1, 2), "join": (1, 1),
    "lower": (0, 0), "pop": (0, 0), "replace": (2, 2), "split": (0, 1), "startswith": (1, 1), "strip": (0, 0),
    "upper": (0, 0),
}

MATH_CONSTANTS: Final = ("inf", "pi")
WHOLE_MATH: Final = ("ceil", "floor")
BOOLEAN_MATH: Final = ("isfinite",)
MATH_FUNCTIONS: Final = (
    *WHOLE_MATH, *BOOLEAN_MATH, "acos", "asin", "atan2", "cos", "fabs", "hypot", "sin", "sqrt", "tan",
)
BOOLEAN_CALLS: Final = ("endswith", "isinstance", "startswith")
BOOLEAN_PREFIXES: Final = ("is_", "has_")  # a function named so must answer True or False, and may be trusted to

# Names that mean something to JavaScript, or to the code the compiler writes.
JAVASCRIPT_WORDS: Final = frozenset((
    "abstract", "arguments", "await", "boolean", "break", "case", "catch", "class", "const", "continue",
    "debugger", "default", "delete", "do", "else", "enum", "eval", "export", "extends", "false", "final",
    "finally", "for", "function", "goto", "if", "implements", "import", "in", "instanceof", "interface", "let",
    "native", "new", "null", "package", "private", "protected", "public", "return", "self", "static", "super",
    "switch", "synchronized", "this", "throw", "throws", "transient", "true", "try", "typeof", "undefined",
    "unichr", "var", "void", "volatile", "while", "window", "with", "xrange", "yield", "Array", "Boolean", "Error",
    "Infinity", "Math", "NaN", "Number", "Object", "String",
))

# What to write instead, by the name of the syntax node or of the function or method.
INSTEAD: Final = {
    "Assert": "raise ValueError(text) when a comparison fails",
    "Attribute": "keep values in a dict and read d[\"name\"]",
    "AsyncFunctionDef": "write a plain function",
    "Await": "write a plain function",
    "ClassDef": "write functions over dicts and lists",
    "Delete": "build a new list or dict without it",
    "DictComp": "fill a dict in a for loop",
    "FunctionDef": "move the function to the top level of the module",
    "GeneratorExp": "write a list comprehension",
    "Global": "pass the value as a parameter",
    "Lambda": "write a function; a lambda may only be the key of sorted()",
    "Match": "write if and elif",
    "NamedExpr": "assign on a line of its own",
    "Nonlocal": "pass the value as a parameter",
    "Set": "write a list, or a dict with text keys",
    "SetComp": "write a list comprehension",
    "Starred": "write each item out",
    "With": "write the steps out",
    "Yield": "append to a list and return it",
    "all": "loop and return False at the first that fails",
    "any": "loop and return True at the first that holds",
    "count": "count in a loop",
    "divmod": "use math.floor(a / b) and a - b * whole",
    "float": "multiply by 1.0, or read the digits one by one",
    "format": "join text with +, or an f-string without a width",
    "index": "use .find(text) for text, a loop for a list",
    "int": "use math.floor(x), or read the digits one by one",
    "items": "loop over sorted(d.keys()) and read d[key]",
    "keys": "write sorted(d.keys())",
    "map": "write a list comprehension",
    "pow": "multiply, or use math.sqrt",
    "print": "return the value",
    "round": "use math.floor(x + 0.5)",
    "set": "write a list, or a dict with text keys",
    "sort": "write sorted(items)",
    "str": "write an f-string of a whole number or text",
    "sum": "add in a loop",
    "tuple": "write a list",
    "update": "set each key in a loop",
    "values": "loop over sorted(d.keys()) and read d[key]",
}
