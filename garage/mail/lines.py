"""Words that stand in a header of a mail: one line, for a second one would be another header."""

from django.core.exceptions import ValidationError


def plain_letters(text: str) -> None:
    """Refuses letters with accents: a user name and a password go to the server as ASCII (RFC 4954, 4)."""
    if not text.isascii():
        raise ValidationError("Letters without accents only: mail servers take no others here.")


def one_line(text: str) -> None:
    """Refuses a line break, or any other sign that no keyboard has."""
    if not text.isprintable():
        raise ValidationError("One line, without line breaks or control characters.")
