"""The scripts' own tests. Where a rule stands in Python and in JavaScript, both are held to one table of cases."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

SCRIPTS = sorted((Path(__file__).resolve().parents[1] / "js").glob("*.test.mjs"))
NODE = shutil.which("node")


@pytest.fixture
def node() -> str:
    """Node; where there is none its tests are skipped, but never in CI."""
    if NODE is None:
        if os.environ.get("CI"):
            pytest.fail("Node is not installed")
        pytest.skip("Node is not installed")
    return NODE


def test_there_are_scripts_to_test():
    assert len(SCRIPTS) > 2


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.name.removesuffix(".test.mjs"))
def test_a_script_passes_its_own_tests(node, script):
    done = subprocess.run(
        [node, "--test", str(script)], capture_output=True, text=True, encoding="utf-8", timeout=60, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "# fail 0" in done.stdout or "ℹ fail 0" in done.stdout
