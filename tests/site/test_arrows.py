"""What no contract of import-linter says of the house: where factors stand, and what lies at the top."""

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent


def modules(folder: str) -> list[Path]:
    return [path for path in (ROOT / folder).rglob("*.py") if "migrations" not in path.parts]


def test_only_timing_units_knows_conversion_factors_of_pressure():
    guilty = [
        str(path.relative_to(ROOT))
        for folder in ("timing", "garage", "jobs")
        for path in modules(folder)
        if path.name != "units.py"
        and any(factor in path.read_text() for factor in ("3.386", "33.86", "6.894", "0.1333"))
    ]
    assert guilty == []


def test_nothing_stands_at_the_top_that_the_design_does_not_name():
    kept = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split("\n")
    if kept == [""]:
        pytest.skip("not a git checkout")
    named = {"README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml"}
    named |= {"garage", "timing", "jobs", "templates", "static", "tests"}
    assert {path.split("/")[0] for path in kept if path and not path.startswith(".")} <= named
