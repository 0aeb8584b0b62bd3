"""The arrows of the house run one way: read from the imports themselves."""

import ast
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
ROOMS_OF_JOBS = {path.name for path in (ROOT / "jobs").iterdir() if (path / "models.py").exists()}


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def modules(folder: str) -> list[Path]:
    return [path for path in (ROOT / folder).rglob("*.py") if "migrations" not in path.parts]


def tops(path: Path) -> set[str]:
    return {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize("path", modules("timing"), ids=lambda path: str(path.relative_to(ROOT)))
def test_timing_knows_nobody(path):
    forbidden = {"garage", "jobs", "django"}
    if "sheets" in path.parts:
        forbidden.discard("django")
    assert not tops(path) & forbidden


@pytest.mark.parametrize("path", modules("garage"), ids=lambda path: str(path.relative_to(ROOT)))
def test_garage_does_not_know_the_jobs(path):
    assert "jobs" not in tops(path)


def test_no_room_of_jobs_reaches_into_the_models_of_another():
    trespasses = []
    for path in modules("jobs"):
        room = path.relative_to(ROOT / "jobs").parts[0]
        if room in ("models.py", "management", "demo"):
            continue  # they only gather, or fill the whole house
        for name in imported(path):
            parts = name.split(".")
            if (
                parts[0] == "jobs"
                and len(parts) > 2
                and parts[2] == "models"
                and parts[1] in ROOMS_OF_JOBS - {room, "card"}
            ):
                trespasses.append(f"{path.relative_to(ROOT)} imports {name}")
            if parts[:2] == ["jobs", "models"]:
                trespasses.append(f"{path.relative_to(ROOT)} imports {name}")
    assert trespasses == []


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
