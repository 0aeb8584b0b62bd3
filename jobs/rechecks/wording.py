"""The words of a reminder: a text in which names in braces stand for what differs from car to car."""

from collections.abc import Mapping
from string import Formatter

from garage.record.refusals import RuleRefusedError

# Each name, and what stands there in the sample beside the text.
PLACEHOLDERS = {
    "customer": "Mira Holt",
    "car": "Alder 1500 saloon",
    "registration": "KLM 204 B",
    "due": "14 May 2027",
    "reason": "yearly check",
    "workshop": "Lockgate Motor Works",
    "phone": "01632 960142",
}

TEXT_AT_FIRST = """Dear {customer},

Your {car}, {registration}, is due for a check on {due} ({reason}).

We read the timing with the strobe, read back the unit, and check clamp, joints and leads.

To book a day, ring us on {phone}.

{workshop}"""


class WordingError(RuleRefusedError):
    """The text cannot be filled in. Says why."""


def check(text: str) -> None:
    """Refuse a text with a name in braces that stands for nothing, or with a brace that is not closed.

    Raises
    ------
    WordingError
        With the name or the brace that is wrong.
    """
    for name in names_in(text):
        if name not in PLACEHOLDERS:
            allowed = ", ".join(f"{{{one}}}" for one in PLACEHOLDERS)
            raise WordingError(f"{{{name}}} stands for nothing. Use {allowed}.")


def filled(text: str, values: Mapping[str, str]) -> str:
    """`text` with every name in braces replaced by its value.

    Raises
    ------
    WordingError
        As `check` does.
    """
    check(text)
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
