"""What a page shows, as a person reads it, and what the site says where a page is not to be had: in one place."""

import re
from typing import Any

NOT_FOUND = "Page not found"
NOT_OPEN = "Not allowed"
FILL_IN = "Fill this in."


def text_of(answer: Any) -> str:
    """The words of a page, without its marks."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def assert_not_found(answer: Any) -> None:
    """A quiet page that says there is nothing, and does not talk about what is."""
    assert answer.status_code == 404
    assert NOT_FOUND in text_of(answer)


def assert_not_open(answer: Any) -> None:
    """A page that says it is not open to this person, and shows nothing of it."""
    assert answer.status_code == 403
    assert NOT_OPEN in text_of(answer)
