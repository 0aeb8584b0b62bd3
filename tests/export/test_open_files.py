"""The book as open files: read here with the general tools that anybody has (zipfile, csv, jsonschema, sha256)."""

import csv
import hashlib
import io
import json
import re
import zipfile

import jsonschema
import pytest
from django.contrib.auth.hashers import make_password

from garage.export import schema
from garage.export.tables import STAYS, book_fields, book_models
from garage.people.models import Staff
from jobs.models import CustomerLink
from tests.export.conftest import PAPER, PICTURE


@pytest.fixture
def archive(book_in_use, exported):
    with zipfile.ZipFile(exported()) as opened:
        yield opened


def test_the_published_schema_is_that_of_the_tables():
    """A new column is looked at before it leaves the house.

    Publish it: `manage.py export_book --schema > garage/export/book-1.schema.json`.
    """
    assert schema.published() == schema.generated()


def test_the_published_schema_is_a_schema_of_draft_2020_12():
    jsonschema.Draft202012Validator.check_schema(schema.published())


def test_every_row_is_valid_by_the_schema_that_goes_out_with_it(archive):
    published = json.loads(archive.read(schema.NAME))
    checked = 0
    for table in published["$defs"]:
        rows = json.loads(archive.read(f"tables/{table}.json"))
        one = {"$ref": f"#/$defs/{table}", "$defs": published["$defs"]}
        jsonschema.Draft202012Validator(one, format_checker=jsonschema.FormatChecker()).validate(rows)
        checked += len(rows)
    assert checked > 30


def test_a_wrong_row_would_not_be_valid(archive):
    published = json.loads(archive.read(schema.NAME))
    rows = json.loads(archive.read("tables/garage_customer.json"))
    rows[0]["made_at"] = 4
    one = {"$ref": "#/$defs/garage_customer", "$defs": published["$defs"]}
    assert list(jsonschema.Draft202012Validator(one).iter_errors(rows))


@pytest.mark.parametrize("model", book_models(), ids=lambda model: model.__name__)
def test_a_figure_in_the_schema_says_its_unit_or_is_a_plain_number(model):
    plain = {
        "id", "row_version", "only", "number", "year", "last", "cylinder", "cylinders", "strokes", "cap_posts",
        "least_sweep_speeds", "severity", "position", "decimals", "content_hash_form", "subject_id", "job_id",
        "compression_ratio", "line", "gear", "series", "serial", "place", "confidence", "weight", "version", "together",
        "port",
    }  # fmt: skip
    rows = schema.published()["$defs"][model._meta.db_table]["items"]["properties"]
    silent = {
        name
        for name, told in rows.items()
        if re.search("number|integer", str(told.get("type"))) and not {"unit", "unitIn", "description"} & told.keys()
    }
    assert silent <= plain


def test_what_opens_something_is_not_in_it(book_in_use, owner, exported):
    link, person = CustomerLink.objects.get(), Staff.objects.get(pk=owner.pk)
    with zipfile.ZipFile(exported()) as archive:
        all_of_it = b"".join(archive.read(name) for name in archive.namelist())
    for secret in (person.password, person.bench_pin, link.token_sha256, book_in_use.token_of_test):
        assert secret
        assert secret.encode() not in all_of_it
    assert make_password("x")[:4].encode() not in all_of_it


def test_a_column_that_by_its_name_opens_something_stays_at_home():
    told = {
        f"{model._meta.db_table}.{field.name}" for model in book_models() for field in book_fields(model)
        if re.search(r"password|secret|token|pin\b|_pin|session|credential", field.name)
    }  # fmt: skip
    assert told <= {"jobs_strobereading.session"}  # a strobe session, which opens nothing
    assert "bench_pin" in STAYS["garage_staff"]


def test_papers_and_photographs_are_in_it_byte_for_byte(archive):
    files = {name: archive.read(name) for name in archive.namelist() if name.startswith("files/")}
    assert sorted(files.values()) == sorted([PAPER, PICTURE, PICTURE])


def test_every_file_has_its_hash_in_the_list_that_sha256sum_reads(archive):
    sums = dict(line.split("  ", 1)[::-1] for line in archive.read("SHA256SUMS").decode().splitlines())
    assert set(sums) == set(archive.namelist()) - {"SHA256SUMS"}
    assert all(hashlib.sha256(archive.read(name)).hexdigest() == digest for name, digest in sums.items())


def test_the_csv_says_what_the_json_says(archive):
    told = json.loads(archive.read("tables/garage_customer.json"))
    page = archive.read("csv/garage_customer.csv")
    rows = list(csv.DictReader(io.StringIO(page.decode(), newline="")))
    assert [row["notes"] for row in rows] == [row["notes"] for row in told]
    assert page.count(b"\r\n") >= len(rows) + 1


def test_no_cell_of_a_csv_is_a_formula(archive):
    """The customer's name begins with an equals sign (OWASP, CSV injection: = + - @ tab and line ends)."""
    told = json.loads(archive.read("tables/garage_customer.json"))
    assert any(row["name"].startswith("=") for row in told)
    for name in archive.namelist():
        if name.endswith(".csv"):
            cells = [cell for row in csv.reader(io.StringIO(archive.read(name).decode(), newline="")) for cell in row]
            risky = [cell for cell in cells if cell[:1] in {"=", "+", "-", "@", "\t", "\r"}]
            assert all(re.fullmatch(r"-\d+(\.\d+)?(e-?\d+)?", cell) for cell in risky), risky


def test_the_readme_inside_says_what_is_left_out(archive):
    readme = archive.read("README.txt").decode()
    assert "Passwords and PINs" in readme
    assert "customer's link" in readme


def test_a_photograph_that_was_changed_on_the_disk_is_named(book_in_use, exported):
    from django.core.files.storage import default_storage

    paper = book_in_use.documents.get()
    with open(default_storage.path(paper.file.name), "wb") as opened:
        opened.write(b"something else")
    with zipfile.ZipFile(exported()) as archive:
        assert json.loads(archive.read("manifest.json"))["damaged"] == [f"{paper.file.name} is not as it was saved."]
