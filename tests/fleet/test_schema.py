"""The descriptors of the tables."""

import json
import re
from importlib.resources import files

import pytest

from riskmodel.fleet.schema import TABLES, read_schema
from riskmodel.fleet.windows import column_names
from riskmodel.units import OWN_SUFFIXES, split_suffix

TYPES = {"string", "number", "integer", "boolean", "date"}


@pytest.fixture(params=TABLES)
def descriptor(request):
    return json.loads(files("riskmodel.data.schema").joinpath(f"{request.param}.json").read_text("utf-8"))


def test_a_descriptor_keeps_to_the_open_standard(descriptor):
    assert set(descriptor) <= {"$schema", "fields", "missingValues", "primaryKey", "foreignKeys"}
    assert descriptor["missingValues"] == [""]
    for field in descriptor["fields"]:
        assert field["type"] in TYPES
        constraints = {"required", "unique", "enum", "pattern", "minimum", "exclusiveMinimum", "maximum"}
        assert set(field.get("constraints", {})) <= constraints


def test_every_field_is_described_and_every_quantity_has_its_unit(descriptor):
    for field in descriptor["fields"]:
        assert field["description"].endswith(".")
        if field["type"] in {"number", "integer"}:
            assert field["unit"], field["name"]


def test_a_unit_in_a_name_is_the_unit_of_the_field(descriptor):
    written = {"mm": "mm", "m": "m", "cm2": "cm2", "m3": "m3", "lpm": "L/min"}
    for field in descriptor["fields"]:
        suffix = split_suffix(field["name"])[1]
        if suffix in OWN_SUFFIXES:
            assert field["unit"] == written[suffix]


def test_keys_name_fields_of_the_table(descriptor):
    names = [field["name"] for field in descriptor["fields"]]
    assert len(names) == len(set(names))
    assert set(descriptor.get("primaryKey", [])) <= set(names)
    for key in descriptor.get("foreignKeys", []):
        assert set(key["fields"]) <= set(names)


def test_every_pattern_compiles(descriptor):
    for field in descriptor["fields"]:
        re.compile(field.get("constraints", {}).get("pattern", ""))


@pytest.mark.parametrize(
    ("table", "required"),
    [
        ("vessels", {"vessel_id", "propulsion", "value"}),
        ("items", {"item_id", "vessel_id", "item_class"}),
        ("records", {"date", "event"}),
        ("periods", {"vessel_id", "from", "to", "state"}),
        ("claims", {"vessel_id", "loss_on", "cause", "gross"}),
    ],
)
def test_only_the_contracts_columns_are_required(table, required):
    assert {field.name for field in read_schema(table).fields if field.required} == required


def test_only_ids_are_unique():
    unique = {(name, field.name) for name in TABLES for field in read_schema(name).fields if field.unique}
    assert unique == {("vessels", "vessel_id"), ("items", "item_id")}


def test_references_lead_from_table_to_table():
    found = {(name, field.name, field.reference) for name in TABLES for field in read_schema(name).fields}
    assert {row for row in found if row[2]} == {
        ("items", "vessel_id", "vessels"),
        ("items", "item_class", "classes"),
        ("records", "item_id", "items"),
        ("records", "vessel_id", "vessels"),
        ("periods", "vessel_id", "vessels"),
        ("claims", "vessel_id", "vessels"),
        ("claims", "cause", "end_states"),
    }


def test_a_date_of_any_precision_gives_way_to_its_window():
    assert column_names(read_schema("items"))[4:9] == [
        "installed_after",
        "installed_by",
        "installed_hours",
        "made_after",
        "made_by",
    ]
    assert column_names(read_schema("records"))[:4] == ["item_id", "vessel_id", "date", "date_by"]
