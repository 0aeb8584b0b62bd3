"""Words that stand in a header of a mail: one line, for a second one would be another header."""

from django.core.exceptions import ValidationError


def one_line(text: str) -> None:
    """Refuses a line break, or any other sign that no keyboard has."""
    if not text.isprintable():
        raise ValidationError("One line, without line breaks or control characters.")
