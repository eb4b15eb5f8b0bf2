"""What is said of a class's fields, or of a word's meaning: the string that stands below each.

Of a result's fields its own docstring tells, since that is in the JSON Schema too.

Read from the source, and only when the reference is made, so that no start of the program pays.
"""

import ast
import inspect
import re
import sys
from dataclasses import fields
from functools import cache
from itertools import pairwise


def told_below(kind: type) -> dict[str, str]:
    """By the name of the field or member: what the string below it says, as one line.

    Those of the classes it is made from are told too. Nothing where no string stands.
    """
    found: dict[str, str] = {}
    for ancestor in reversed(kind.__mro__):
        if ancestor.__module__.split(".")[0] == "hostctl":
            found |= _told_in(ancestor)
    return found


def told_of(kind: type) -> str:
    """The class's own docstring, as one line."""
    return " ".join((kind.__doc__ or "").split())


def told_in_docstring(record: type) -> dict[str, str]:
    """By the name of a dataclass's field: what stands after `name:` in the class's docstring."""
    names = "|".join(field.name for field in fields(record))
    mark = rf"(?<![\w-])((?:(?:{names}), )*(?:{names})): "
    _, *parts = re.split(mark, told_of(record))
    told: dict[str, str] = {}
    for marked, said in zip(parts[::2], parts[1::2], strict=True):
        sentence = said.strip(" .;") + "."
        told |= dict.fromkeys(marked.split(", "), sentence[0].upper() + sentence[1:])
    return told


@cache
def _classes(module: str) -> dict[str, ast.ClassDef]:
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {node.name: node for node in tree.body if isinstance(node, ast.ClassDef)}


def _told_in(kind: type) -> dict[str, str]:
    body = _classes(kind.__module__)[kind.__name__].body
    found = {}
    for declared, below in pairwise(body):
        match declared, below:
            case (
                ast.AnnAssign(target=ast.Name(id=name)) | ast.Assign(targets=[ast.Name(id=name)]),
                ast.Expr(value=ast.Constant(value=str(said))),
            ):
                found[name] = " ".join(said.split())
            case _:
                pass
    return found
