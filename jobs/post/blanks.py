"""Texts with names in braces that stand for what differs from customer to customer."""

from collections.abc import Collection, Mapping
from string import Formatter

from garage.record.refusals import RuleRefusedError


class WordingError(RuleRefusedError):
    """The text cannot be filled in. Says why."""


def check(text: str, allowed: Collection[str]) -> None:
    """Refuse a text with a name in braces that is not `allowed`, or with a brace that is not closed.

    Raises
    ------
    WordingError
        With the name or the brace that is wrong.
    """
    for name in names_in(text):
        if name not in allowed:
            listed = ", ".join(f"{{{one}}}" for one in allowed)
            raise WordingError(f"{{{name}}} stands for nothing. Use {listed}.")


def filled(text: str, values: Mapping[str, str]) -> str:
    """`text` with every name in braces replaced by its value.

    Raises
    ------
    WordingError
        As `check` does.
    """
    check(text, values)
    parts = []
    for words, name, _, _ in Formatter().parse(text):
        parts.append(words)
        if name is not None:
            parts.append(values[name])
    return "".join(parts)


def names_in(text: str) -> list[str]:
    """What stands in braces in `text`, as it was written."""
    try:
        found = list(Formatter().parse(text))
    except ValueError as problem:
        raise WordingError("A brace is not closed, or closed without being opened.") from problem
    # what a format would add behind a name stands for nothing here, and is named as it was written
    return [
        name + (f"!{conversion}" if conversion else "") + (f":{spec}" if spec else "")
        for _, name, spec, conversion in found
        if name is not None
    ]
