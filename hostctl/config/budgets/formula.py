"""A formula in a file, such as `lS + d - lS * (dalpha * theta + alphaS * dtheta)`.

Plain arithmetic and nothing else: numbers, names, + - * / **, brackets and a few functions. It is
taken apart here and never handed to Python to run, so a file from a stranger can do no harm.
"""

import ast
from dataclasses import dataclass

FUNCTIONS = ("sqrt", "exp", "log", "sin", "cos", "tan")
MOST_CHARACTERS = 500
_OPERATORS = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow, ast.UAdd, ast.USub)


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula that was checked, as a tree of these kinds of node alone.

    BinOp, UnaryOp, Call of one of FUNCTIONS on one argument, Name (one of `names`), Constant.
    """

    text: str
    tree: ast.expr
    names: frozenset[str]


def formula_from(text: str) -> Formula:
    """Take the text apart. Raises ValueError, in words, where it is no formula."""
    if len(text) > MOST_CHARACTERS:
        raise ValueError(f"must have at most {MOST_CHARACTERS} characters")
    try:
        tree = ast.parse(text.strip(), mode="eval").body
        names = frozenset(_names(tree))
    except (SyntaxError, RecursionError, MemoryError):
        raise ValueError("is no formula that can be read") from None
    return Formula(text, tree, names)


def _names(node: ast.expr) -> list[str]:
    """The names in a node, which is checked on the way."""
    match node:
        case ast.Name(id=name):
            return [name]
        case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
            return []
        case ast.UnaryOp(op=op, operand=operand) if isinstance(op, _OPERATORS):
            return _names(operand)
        case ast.BinOp(op=op, left=left, right=right) if isinstance(op, _OPERATORS):
            return [*_names(left), *_names(right)]
        case ast.Call(func=ast.Name(id=name), args=[argument], keywords=[]) if name in FUNCTIONS:
            return _names(argument)
        case _:
            known = ", ".join(FUNCTIONS)
            raise ValueError(
                f"takes numbers, names, + - * / ** and {known}, not '{ast.unparse(node)[:40]}'"
            )
