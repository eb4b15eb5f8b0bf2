"""The JSON Schema of a station's view (draft 2020-12), made from its types.

Write it anew after a change of `view.py`: python -m hostctl.channels.view.schema
"""

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from hostctl.channels.view.view import StationView

FILE = Path(str(files("hostctl.channels.view") / "view.json"))
DIALECT = "https://json-schema.org/draft/2020-12/schema"


class _AllThere(GenerateJsonSchema):
    """No key is ever left out, even where it holds what it holds by default."""

    def field_is_required(self, *_: object, **__: object) -> bool:
        return True


def view_schema() -> dict[str, Any]:
    """What each key of a view holds."""
    adapter = TypeAdapter(StationView)
    return adapter.json_schema(mode="serialization", schema_generator=_AllThere)


def schema_text() -> str:
    """The schema as kept in its file."""
    return json.dumps({"$schema": DIALECT, **view_schema()}, indent=2) + "\n"


if __name__ == "__main__":
    FILE.write_text(schema_text())
