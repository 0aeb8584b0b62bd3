"""The published schema of a car's settings, by its number: files are written by it, and held against it when read."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

# A change of the schema is another number and another file. Files of the earlier numbers are read for ever.
# It has no `anyOf` and no `oneOf`: a validator gathers all that is wrong by each of them, and a hostile file of 1 MB
# took 25 seconds and 5 GB to refuse. With `if` it stops at the first thing wrong.
NUMBER = 1


@cache
def published() -> dict[str, Any]:
    """The schema as it stands in the repository."""
    schema: dict[str, Any] = json.loads(
        Path(__file__).with_name(f"car-settings-{NUMBER}.schema.json").read_text("utf-8")
    )
    return schema


@cache
def validator() -> Draft202012Validator:
    return Draft202012Validator(published())
