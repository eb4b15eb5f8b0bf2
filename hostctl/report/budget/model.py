"""A formula of a budget file as a function that the maths can call, with numbers or arrays."""

import ast
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from hostctl.config.budgets.formula import Formula
from hostctl.metrology.uncertainty.budget import Model

_FUNCTIONS: Mapping[str, Any] = {
    "sqrt": np.sqrt,
    "exp": np.exp,
    "log": np.log,
    "sin": np.sin,
    "cos": np.cos,
    "tan": np.tan,
}
_BINARY: Mapping[type[ast.operator], Any] = {
    ast.Add: np.add,
    ast.Sub: np.subtract,
    ast.Mult: np.multiply,
    ast.Div: np.divide,
    ast.Pow: np.power,
}


def model_of(formula: Formula, names: Sequence[str]) -> Model:
    """The formula as a function of one value a name, in their order.

    Where it has no value (a root of a negative number) it gives nan or inf, as numpy does.
    """

    def model(*values: Any) -> Any:
        known = dict(zip(names, values, strict=True))
        with np.errstate(all="ignore"):
            return _value(formula.tree, known)

    return model


def _value(node: ast.expr, known: Mapping[str, Any]) -> Any:
    match node:
        case ast.Name(id=name):
            return known[name]
        case ast.Constant(value=int() | float() as value):
            return np.float64(value)
        case ast.UnaryOp(op=op, operand=operand):
            value = _value(operand, known)
            return np.negative(value) if isinstance(op, ast.USub) else value
        case ast.BinOp(op=op, left=left, right=right):
            return _BINARY[type(op)](_value(left, known), _value(right, known))
        case ast.Call(func=ast.Name(id=name), args=[argument]):
            return _FUNCTIONS[name](_value(argument, known))
        case _:
            raise AssertionError(f"a formula that was checked has no {type(node).__name__}")
