"""Public functions of several arguments say what each is, in numpydoc sections."""

import importlib
import inspect
import pkgutil
import re

import pytest

import timing

MEASURE = re.compile(r"(rpm|vacuum|\w+_(rpm|deg|mm|kpa|ms|s|us|v|a|ohm|mh|mj|w|c|m|cc))$")
SECTION = re.compile(r"^\s*(\w+)\n\s*-{3,}\s*$", re.MULTILINE)


def modules():
    for found in pkgutil.walk_packages(timing.__path__, "timing."):
        yield importlib.import_module(found.name)


def functions():
    """Every public function and method of `timing`, with its name."""
    for module in modules():
        for name, thing in vars(module).items():
            if name.startswith("_") or getattr(thing, "__module__", "") != module.__name__:
                continue
            if inspect.isfunction(thing):
                yield f"{module.__name__}.{name}", thing
            elif inspect.isclass(thing):
                for method, function in vars(thing).items():
                    plain = getattr(function, "__func__", function)
                    if not method.startswith("_") and inspect.isfunction(plain):
                        yield f"{module.__name__}.{name}.{method}", plain


def arguments(function):
    return [name for name in inspect.signature(function).parameters if name not in ("self", "cls")]


def entries(function):
    """What the section Parameters says of each argument, by its name."""
    section = (inspect.getdoc(function) or "").split("Parameters\n", 1)[1].split("\n", 1)[1]
    section = re.split(r"\n\n\w+\n-{3,}", section)[0]
    for entry in re.split(r"\n(?=\S)", section.strip()):
        for name in entry.split(" :")[0].split("\n")[0].split(", "):
            yield name.strip("*"), entry


SEVERAL = {name: function for name, function in functions() if len(arguments(function)) > 1}


@pytest.mark.parametrize("name", SEVERAL)
def test_a_function_of_several_arguments_has_its_sections(name):
    function = SEVERAL[name]
    text = inspect.getdoc(function) or ""
    sections = SECTION.findall(text)
    assert "Parameters" in sections
    if inspect.signature(function).return_annotation not in ("None", None):
        assert {"Returns", "Yields"} & set(sections)
    if re.search(r"^\s+raise (?!NotImplementedError)", inspect.getsource(function), re.MULTILINE):
        assert "Raises" in sections
    told = {argument for argument, _ in entries(function)}
    # A page of arguments that another function has word for word is told once, there.
    assert "Others as" in text or set(arguments(function)) <= told, sorted(set(arguments(function)) - told)


@pytest.mark.parametrize("name", SEVERAL)
def test_a_figure_that_has_a_unit_says_which(name):
    for argument, entry in entries(SEVERAL[name]):
        if MEASURE.match(argument) and not re.search(r"[Aa]s (for|of|in|the|`)", entry):
            assert "[" in entry, f"{argument}: {entry}"
