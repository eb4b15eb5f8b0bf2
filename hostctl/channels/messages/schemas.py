"""The JSON Schema of each topic's payload (draft 2020-12), made from the types.

Write them anew after a change of `payloads.py`: python -m hostctl.channels.messages.schemas
"""

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from hostctl.channels.messages.payloads import BY_TOPIC, adapter
from hostctl.channels.view.schema import view_schema

FOLDER = Path(str(files("hostctl.channels.messages") / "schemas"))
DIALECT = "https://json-schema.org/draft/2020-12/schema"
INCOMING = {"answer", "command"}


def schema_text(topic: str) -> str:
    """The schema of a topic's payload, as kept in its file."""
    mode = "validation" if topic in INCOMING else "serialization"
    schema = adapter(topic).json_schema(mode=mode)  # type: ignore[arg-type] # it is one of two
    if topic == "state":
        schema = _with_view(schema)
    return json.dumps({"$schema": DIALECT, **schema}, indent=2) + "\n"


def _with_view(schema: dict[str, Any]) -> dict[str, Any]:
    """The key `view` holds a station's view, which has a schema of its own."""
    view = view_schema()
    named = view["title"]
    defined = {**schema.get("$defs", {}), **view.pop("$defs"), named: view}
    properties = {**schema["properties"], "view": {"$ref": f"#/$defs/{named}"}}
    return {**schema, "$defs": defined, "properties": properties}


def write_all() -> None:
    """Write every schema to its file."""
    FOLDER.mkdir(exist_ok=True)
    for topic in BY_TOPIC:
        (FOLDER / f"{topic}.json").write_text(schema_text(topic))


if __name__ == "__main__":
    write_all()
