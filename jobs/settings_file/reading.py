"""A car's settings read back: held against the schema and both digests before anything is believed."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from jsonschema import ValidationError

from garage.record.plain import Plain
from jobs.settings_file import schema
from jobs.settings_file.digests import OF_ALL, OF_THE_MAP, digest_of_all, digest_of_map
from jobs.settings_file.map_part import map_of
from jobs.settings_file.refusals import SheetRefusedError
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap

# A map of 16 points with a table of 80 cells, 200 entries and 60 readings is some 50,000 bytes.
LARGEST_BYTES = 1_000_000
NOT_OURS = "The settings in this file are not as our schema has them"


@dataclass(frozen=True, slots=True)
class CarSettings:
    """What a sheet holds: all of it as the schema has it, and the map as such."""

    said: Plain
    ignition_map: IgnitionMap


def read_settings(content: bytes) -> CarSettings:
    """The settings in a file.

    Raises
    ------
    SheetRefusedError
        If it is too large, no JSON, of another schema, or not as it was written.
    """
    said = _json_of(content)
    number = said.get("schema_number") if isinstance(said, dict) else None
    if isinstance(number, int) and not isinstance(number, bool) and number > schema.NUMBER:
        raise SheetRefusedError(
            f"The sheet is of schema {number}; this program reads schema {schema.NUMBER}. Bring the program up to date."
        )
    wrong = next(schema.validator().iter_errors(said), None)
    if wrong is not None:
        raise SheetRefusedError(f"{NOT_OURS}: {_place(wrong)}.")
    try:
        as_written = said[OF_THE_MAP] == digest_of_map(said) and said[OF_ALL] == digest_of_all(said)
    except ValueError:  # half a character, which has no canonical form
        as_written = False
    if not as_written:
        raise SheetRefusedError("The settings were changed after the sheet was made: their checksum does not agree.")
    try:
        return CarSettings(said, map_of(said["map"]))
    except TimingError as problem:
        raise SheetRefusedError(f"The map in this file cannot be: {problem}.") from problem


def _json_of(content: bytes) -> Any:
    if len(content) > LARGEST_BYTES:
        raise SheetRefusedError(f"The settings in this file are larger than {LARGEST_BYTES // 1_000_000} MB.")
    try:
        return json.loads(
            content.decode("utf-8"),
            object_pairs_hook=_named_once,
            parse_constant=_refused,
            parse_float=_finite,
            parse_int=_whole,
        )
    except (ValueError, RecursionError) as problem:
        raise SheetRefusedError("The settings in this file cannot be read.") from problem


def _named_once(pairs: Sequence[tuple[str, Any]]) -> Plain:
    named = dict(pairs)
    if len(named) < len(pairs):
        raise ValueError("a name stands twice")
    return named


def _refused(constant: str) -> float:
    raise ValueError(f"{constant} is no figure")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text[:20]} is no figure")
    return value


def _whole(text: str) -> int:
    if len(text) > 16:  # beyond what RFC 8785 writes exactly, and beyond every figure of ours
        raise ValueError(f"{text[:20]} is no figure")
    return int(text)


def _place(wrong: ValidationError) -> str:
    """Where the first thing wrong stands; not what, for it may be anything."""
    path = " ".join(str(part) for part in wrong.absolute_path)[:80]
    return f"see {path}" if path else "something is missing or unknown"
