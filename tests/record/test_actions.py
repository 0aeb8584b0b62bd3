"""Every deed on a job: keyword arguments, one transaction, a signature, a line in the journal. Read from the code."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent


def functions() -> list[tuple[str, ast.FunctionDef, dict[str, ast.FunctionDef]]]:
    """The public functions of the actions of every room, each with all the functions of its module."""
    found = []
    for path in sorted((ROOT / "jobs").glob("*/*actions.py")):
        tree = ast.parse(path.read_text())
        of_module = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}
        for name, node in of_module.items():
            if not name.startswith("_"):
                found.append((f"{path.parent.name}.{path.stem}.{name}", node, of_module))
    return found


DEEDS = [(name, node, module) for name, node, module in functions() if "actor" in {a.arg for a in node.args.kwonlyargs}]


def calls(node: ast.FunctionDef) -> set[str]:
    return {ast.unparse(call.func) for call in ast.walk(node) if isinstance(call, ast.Call)}


def reached(node: ast.FunctionDef, module: dict[str, ast.FunctionDef], seen: frozenset[str] = frozenset()) -> set[str]:
    """Everything a function calls, itself or through other functions of its module."""
    found = calls(node)
    for name in found & set(module) - seen:
        found = found | reached(module[name], module, seen | {name})
    return found


def test_there_are_deeds_to_look_at():
    assert len(DEEDS) > 20


@pytest.mark.parametrize(("name", "node", "module"), DEEDS, ids=[name for name, _, _ in DEEDS])
def test_a_deed_takes_its_arguments_by_name(name, node, module):
    assert node.args.args == []
    assert node.args.posonlyargs == []


@pytest.mark.parametrize(("name", "node", "module"), DEEDS, ids=[name for name, _, _ in DEEDS])
def test_a_deed_is_one_transaction(name, node, module):
    decorators = {ast.unparse(decorator) for decorator in node.decorator_list}
    assert "transaction.atomic" in decorators or reached(node, module) & {"transaction.atomic", "documents.issue"}


# Templates of check-lists, and patterns, belong to the workshop and not to one job: there is no job's journal for them.
OF_THE_WORKSHOP = ("checklists.editor_actions.", "maps.actions.keep_pattern", "maps.actions.retire_pattern")


@pytest.mark.parametrize(
    ("name", "node", "module"),
    [deed for deed in DEEDS if not deed[0].startswith(OF_THE_WORKSHOP)],
    ids=[name for name, _, _ in DEEDS if not name.startswith(OF_THE_WORKSHOP)],
)
def test_a_deed_on_a_job_writes_its_journal(name, node, module):
    assert reached(node, module) & {"journal.write", "documents.issue"}
