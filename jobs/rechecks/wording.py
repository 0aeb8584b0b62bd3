"""The words of a reminder: a text in which names in braces stand for what differs from car to car."""

from collections.abc import Mapping

from jobs.post import blanks
from jobs.post.blanks import WordingError, names_in

__all__ = ["PLACEHOLDERS", "TEXT_AT_FIRST", "WordingError", "check", "filled", "names_in"]

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


def check(text: str) -> None:
    """Refuse a text with a name in braces that stands for nothing, or with a brace that is not closed.

    Raises
    ------
    WordingError
        With the name or the brace that is wrong.
    """
    blanks.check(text, PLACEHOLDERS)


def filled(text: str, values: Mapping[str, str]) -> str:
    """`text` with every name in braces replaced by its value.

    Raises
    ------
    WordingError
        As `check` does.
    """
    return blanks.filled(text, values)
