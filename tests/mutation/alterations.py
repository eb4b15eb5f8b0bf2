"""Small alterations of a source text, one place at a time, such as a slip of the hand makes."""

import ast
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

OTHER_OPERATORS: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.FloorDiv: (ast.Mult,),
    ast.Mod: (ast.FloorDiv,),
    ast.BitAnd: (ast.BitOr,),
    ast.BitOr: (ast.BitAnd,),
}
OTHER_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
NOT_RUN = {"annotation", "returns", "decorator_list", "type_comment"}
AXIS = re.compile(r"(?<![a-z])([xy])(?=_mm$|$)")
ORDER = re.compile(r"[GM]\d")
DEFINITIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
LONGEST_SHOWN = 120
UNIT = re.compile(r"_(mm|s|c|at|deg)$|^[xyz]$")


@dataclass(frozen=True)
class Alteration:
    """One place altered. `source`: the line where it begins, as it was."""

    file: str
    line: int
    source: str
    was: str
    becomes: str
    nth: int  # of the same alterations of lines that read the same
    _module: ast.Module
    _slot: "Slot"
    _new: ast.AST

    @property
    def named(self) -> tuple[str, str, str]:
        """What it is known by when lines have moved."""
        which = f" (place {self.nth})" if self.nth > 1 else ""
        return self.file, self.source, f"{self.was} => {self.becomes}{which}"

    def altered_text(self) -> str:
        """The whole file with this place altered."""
        old = self._slot.put(self._new)
        try:
            return ast.unparse(ast.fix_missing_locations(self._module))
        finally:
            self._slot.put(old)


@dataclass(frozen=True)
class Slot:
    """Where a node hangs: a field of its parent, or a place in that field's list."""

    parent: ast.AST
    field: str
    index: int | None

    def put(self, node: ast.AST) -> ast.AST:
        """Hang `node` here; gives what hung here."""
        value = getattr(self.parent, self.field)
        if self.index is None:
            setattr(self.parent, self.field, node)
            return value  # type: ignore[no-any-return]  # fields aren't typed
        value[self.index], old = node, value[self.index]
        return old  # type: ignore[no-any-return]


def alterations(file: str, text: str) -> Iterator[Alteration]:
    """Every alteration of `text`; none is of an annotation, an import or mere words."""
    module, lines = ast.parse(text), text.splitlines()
    seen = Counter[tuple[str, str, str]]()
    for slot, node in _places(module):
        line = getattr(node, "lineno", getattr(slot.parent, "lineno", 1))
        was = _shown(node)
        for new in _variants(node):
            becomes = "return at once" if isinstance(new, DEFINITIONS) else _shown(new)
            if becomes != was:
                source = lines[line - 1].strip()
                seen[source, was, becomes] += 1
                nth = seen[source, was, becomes]
                yield Alteration(file, line, source, was, becomes, nth, module, slot, new)


def _places(parent: ast.AST) -> Iterator[tuple[Slot, ast.AST]]:
    for field, value in ast.iter_fields(parent):
        if field in NOT_RUN:
            continue
        inside: list[tuple[int | None, object]] = [(None, value)]
        if isinstance(value, list):
            inside = list(enumerate(value))
        for index, node in inside:
            if isinstance(node, ast.AST):
                yield Slot(parent, field, index), node
                yield from _places(node)


def _shown(node: ast.AST) -> str:
    """On one line; of a compound statement its head."""
    shown = ast.unparse(ast.fix_missing_locations(node)).strip()
    if isinstance(node, DEFINITIONS):
        shown = f"def {node.name}"
    shown = " ".join(shown.split(":\n")[0].split())
    return shown if len(shown) <= LONGEST_SHOWN else f"{shown[:LONGEST_SHOWN]} …"


def _variants(node: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.stmt():
            yield from _of_statement(node)
        case ast.Constant(value=value):
            yield from (ast.Constant(other) for other in _of_constant(value))
        case ast.Call():
            yield from _of_call(node)
        case ast.Name(id=name, ctx=ast.Load()):
            yield from (ast.Name(other, ast.Load()) for other in _other_axis(name))
        case ast.Attribute(value=value, attr=name, ctx=ast.Load()):
            yield from (ast.Attribute(value, other, ast.Load()) for other in _other_axis(name))
        case ast.comprehension(target, iterated, ifs, is_async) if ifs:
            yield ast.comprehension(target, iterated, [], is_async)
        case ast.expr():
            yield from _of_expression(node)
        case _:
            pass


def _of_statement(node: ast.stmt) -> Iterator[ast.AST]:
    match node:
        case (
            ast.FunctionDef(returns=ast.Constant(value=None))
            | ast.AsyncFunctionDef(returns=ast.Constant(value=None))
        ) if not all(map(_says_nothing, node.body)):
            yield type(node)(**dict(ast.iter_fields(node)) | {"body": [ast.Return()]})
        case ast.Expr() if not _says_nothing(node):
            yield ast.Pass()
        case ast.AugAssign() | ast.Raise() | ast.Delete():
            yield ast.Pass()
        case ast.Assign(targets=[ast.Attribute() | ast.Subscript(), *_]):
            yield ast.Pass()
        case ast.Return(value=ast.expr() as value) if ast.unparse(value) != "None":
            yield ast.Return()
        case ast.Break() | ast.Continue():
            yield ast.Pass()
        case ast.If(test=test, body=body, orelse=orelse):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, orelse)
        case ast.With(items=items, body=body) | ast.AsyncWith(items=items, body=body) if not any(
            item.optional_vars for item in items
        ):
            yield ast.If(ast.Constant(True), body, [])
        case _:
            pass


def _says_nothing(node: ast.stmt) -> bool:
    """A docstring, `...` or `pass`."""
    return isinstance(node, ast.Pass) or (
        isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    )


def _of_constant(value: object) -> Iterator[bool | int | float | str]:
    match value:
        case bool():
            yield not value
        case int():
            yield from (value + 1, value - 1)
        case float():
            yield from (value * 2, value / 2) if value else (1.0,)
        case str() if ORDER.match(value):
            yield re.sub(r"\d+$|\d+", lambda found: str(int(found[0]) + 1), value, count=1)
            if (last := re.sub(r"\d+$", lambda found: str(int(found[0]) + 1), value)) != value:
                yield last


def _of_call(node: ast.Call) -> Iterator[ast.AST]:
    called = node.func.id if isinstance(node.func, ast.Name) else ""
    if called in OTHER_NAMES:
        yield ast.Call(ast.Name(OTHER_NAMES[called], ast.Load()), node.args, node.keywords)
    in_any_order = called in OTHER_NAMES or called.endswith("Error")  # an error's are mere words
    for n in range(0 if in_any_order else len(node.args) - 1):
        args = [*node.args[:n], node.args[n + 1], node.args[n], *node.args[n + 2 :]]
        yield ast.Call(node.func, args, node.keywords)
    for n, (one, next_) in enumerate(zip(node.keywords, node.keywords[1:], strict=False)):
        if _unit(one.arg) and _unit(one.arg) == _unit(next_.arg):
            swapped = [ast.keyword(one.arg, next_.value), ast.keyword(next_.arg, one.value)]
            keywords = [*node.keywords[:n], *swapped, *node.keywords[n + 2 :]]
            yield ast.Call(node.func, node.args, keywords)


def _of_expression(node: ast.expr) -> Iterator[ast.AST]:
    match node:
        case ast.Compare(left=left, ops=ops, comparators=right):
            for n, op in enumerate(ops):
                for other in OTHER_OPERATORS[type(op)]:
                    yield ast.Compare(left, [*ops[:n], other(), *ops[n + 1 :]], right)  # type: ignore[list-item]
        case ast.BoolOp(op=op, values=values):
            for other in OTHER_OPERATORS[type(op)]:
                yield ast.BoolOp(other(), values)  # type: ignore[arg-type]
            for n in range(len(values)):
                left_over = [*values[:n], *values[n + 1 :]]
                yield ast.BoolOp(op, left_over) if len(left_over) > 1 else left_over[0]
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            yield operand
        case ast.BinOp(left=one, op=op, right=two):
            for other in OTHER_OPERATORS.get(type(op), ()):
                yield ast.BinOp(one, other(), two)  # type: ignore[arg-type]
        case ast.IfExp(test=test, body=body, orelse=orelse):
            yield ast.IfExp(test, orelse, body)
        case _:
            pass


def _other_axis(name: str) -> Iterator[str]:
    if AXIS.search(name):
        yield AXIS.sub(lambda found: "y" if found[1] == "x" else "x", name)


def _unit(name: str | None) -> str | None:
    found = UNIT.search(name or "")
    return (found[1] or "axis") if found else None
