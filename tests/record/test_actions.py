"""Whatever changes the record says who did it: named arguments, one transaction, an actor, a line in the trail.

Read from the code: every public function of every room's actions, whether it takes an actor or not.
"""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent

# What writes to the database, by the name of the call.
WRITES = {"create", "update", "delete", "save", "get_or_create", "bulk_create", "update_or_create", "set"}
OF_THE_RECORD = {"append", "withdraw", "save_if_unchanged"}
# The ways to the trail: of a thing, and of a job, in other rooms' actions as well.
TRAIL = {"trail.write", "trail.note_change", "note_change", "journal.write"}
# Nobody is signed in when a workshop is set up: the owner's account so made is the actor of it.
WITHOUT_ACTOR = {"people.actions.set_up_workshop"}


def modules() -> dict[str, dict[str, ast.FunctionDef]]:
    """The functions of the actions of every room, by 'room.module'."""
    found = {}
    for house in ("garage", "jobs"):
        for path in sorted((ROOT / house).glob("*/*actions.py")):
            tree = ast.parse(path.read_text())
            named = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}
            found[f"{path.parent.name}.{path.stem}"] = named
    return found


MODULES = modules()
# Every function of every room by its bare name, for calls from one room's actions into another's.
BY_NAME = {name: node for functions in MODULES.values() for name, node in functions.items()}
PUBLIC = [
    (f"{module}.{name}", node)
    for module, functions in MODULES.items()
    for name, node in functions.items()
    if not name.startswith("_")
]


def calls(node: ast.FunctionDef) -> set[str]:
    return {ast.unparse(call.func) for call in ast.walk(node) if isinstance(call, ast.Call)}


def reached(node: ast.FunctionDef, seen: frozenset[str] = frozenset()) -> set[str]:
    """Everything a function calls, itself or through other functions of actions."""
    found = calls(node)
    for call in list(found):
        name = call.split(".")[-1]
        if name in BY_NAME and name not in seen and BY_NAME[name] is not node:
            found = found | reached(BY_NAME[name], seen | {name})
    return found


def writes(node: ast.FunctionDef) -> bool:
    found = reached(node)
    return bool(found & OF_THE_RECORD) or any("." in call and call.split(".")[-1] in WRITES for call in found)


WRITING = [(name, node) for name, node in PUBLIC if writes(node)]
of_each = pytest.mark.parametrize(("name", "node"), WRITING, ids=[name for name, _ in WRITING])


def test_the_test_sees_the_actions_of_every_room():
    assert len(WRITING) > 55
    assert {name.split(".")[0] for name, _ in WRITING} >= {
        "customers", "vehicles", "units", "people", "job", "checklists", "inspection", "strobe", "maps", "roadtest",
        "documents", "handover", "costs", "billing",
    }  # fmt: skip


@of_each
def test_what_writes_takes_its_arguments_by_name_and_an_actor_among_them(name, node):
    assert node.args.args == []
    assert node.args.posonlyargs == []
    if name not in WITHOUT_ACTOR:
        assert "actor" in {argument.arg for argument in node.args.kwonlyargs}


@of_each
def test_what_writes_is_one_transaction(name, node):
    decorators = {ast.unparse(decorator) for decorator in node.decorator_list}
    assert "transaction.atomic" in decorators | reached(node)


@of_each
def test_what_writes_leaves_a_line_in_the_trail(name, node):
    assert TRAIL & reached(node)


def test_a_function_that_writes_without_an_actor_would_be_seen():
    """The eye of this test itself: a careless action is caught."""
    careless = ast.parse("def forget(*, customer):\n    Customer.objects.filter(pk=customer.pk).update(notes='')").body[
        0
    ]
    assert isinstance(careless, ast.FunctionDef)
    assert writes(careless)
    assert not TRAIL & reached(careless)
