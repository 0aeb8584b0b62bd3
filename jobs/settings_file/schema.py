"""The published schema of a car's settings, by its number: what every file is written by, and held against when read."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

# A change of the schema is another number and another file. Files of the earlier numbers are read for ever.
NUMBER = 1


@cache
def published() -> dict[str, Any]:
    """The schema as it stands in the repository."""
    schema: dict[str, Any] = json.loads(Path(__file__).with_name(f"car-settings-{NUMBER}.schema.json").read_text("utf-8"))
    return schema


@cache
def validator() -> Draft202012Validator:
    return Draft202012Validator(published())
