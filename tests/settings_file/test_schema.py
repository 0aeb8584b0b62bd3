"""The published schema, held to the dialect it names (JSON Schema 2020-12) by jsonschema."""

import json

import jsonschema
import pytest
import rfc8785
from hypothesis import given, settings

from jobs.settings_file import schema
from jobs.settings_file.map_part import map_of, map_part
from tests.timing.any_map import maps

# Units that stand at the end of a name, and what is counted and has none.
UNITS = ("_deg", "_deg_btdc", "_rpm", "_kpa", "_ms", "_v", "_ron", "_nm")
WITHOUT_UNIT = {"schema_number", "number", "revision", "year", "position"}
WITH_ITS_UNIT_ALONE = {"rpm"}


def properties(part):
    """Every named entry of the schema, wherever it stands."""
    if isinstance(part, dict):
        yield from part.get("properties", {}).items()
        for inner in part.values():
            yield from properties(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from properties(inner)


def is_figure(told):
    """Whether an entry holds figures, itself or through the definition it names or the list it is."""
    if "$ref" in told:
        return is_figure(schema.published()["$defs"][told["$ref"].rpartition("/")[2]])
    kind = told.get("type", [])
    kinds = {kind} if isinstance(kind, str) else set(kind)
    return bool(kinds & {"number", "integer"}) or ("array" in kinds and is_figure(told["items"]))


def test_it_is_a_schema_of_the_dialect_it_names():
    jsonschema.Draft202012Validator.check_schema(schema.published())
    assert schema.published()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_its_number_stands_in_its_name_and_in_every_file():
    assert schema.published()["$id"] == f"urn:crankmark:car-settings:{schema.NUMBER}"
    assert schema.published()["properties"]["schema_number"] == {"const": schema.NUMBER}


def test_every_figure_says_its_unit_in_its_name():
    figures = {name for name, told in properties(schema.published()) if is_figure(told)}
    assert {"base_timing_deg_btdc", "rev_limit_rpm", "vacuum_kpa"} <= figures
    assert {name for name in figures if not name.endswith(UNITS)} - WITHOUT_UNIT - WITH_ITS_UNIT_ALONE == set()


def test_a_validator_can_stop_at_the_first_thing_wrong():
    """By `anyOf` and `oneOf` it gathers all of them, and of a hostile file that is more than a machine holds."""
    text = json.dumps(schema.published())
    assert '"anyOf"' not in text
    assert '"oneOf"' not in text


@settings(max_examples=50, deadline=None)
@given(ignition_map=maps())
def test_every_map_a_unit_can_hold_is_written_by_the_schema_and_read_back_the_same(ignition_map):
    part = json.loads(json.dumps(map_part(ignition_map)))
    of_the_map = schema.published() | {"properties": {"map": {"$ref": "#/$defs/map"}}, "required": ["map"]}
    jsonschema.Draft202012Validator(of_the_map).validate({"map": part})
    assert map_of(part).content_hash() == ignition_map.content_hash()


@pytest.mark.parametrize(
    ("value", "canonical"),
    [
        ({"b": 8.0, "a": [1e21, 0.000001, -0.0]}, b'{"a":[1e+21,0.000001,0],"b":8}'),
        ({"peach": "This sorting order", "péché": "is wrong according to French", "pêche": "but canonicalization MUST"},
         '{"peach":"This sorting order","péché":"is wrong according to French","pêche":"but canonicalization MUST"}'
         .encode()),
    ],
)  # fmt: skip
def test_digests_are_taken_over_the_canonical_form_of_rfc_8785(value, canonical):
    """Numbers as its section 3.2.2.3 writes them, names sorted as in 3.2.3; from memory."""
    assert rfc8785.dumps(value) == canonical
