"""Text as a cell of a CSV file: no spreadsheet takes it for a formula."""

import re

# What a spreadsheet would take for a formula, its wide forms included.
_BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")

# Where a spreadsheet of another country, which parts cells by these, would begin one in the middle of a text.
_BEGINS_ANOTHER = re.compile(rf"([;|\t\r\n]\s*)(?=[{re.escape(''.join(_BEGINNINGS))}])")


def as_text_cell(text: str) -> str:
    """`text`, with an apostrophe before it where it would be reckoned instead of shown."""
    return f"'{text}" if text.startswith(_BEGINNINGS) else text


def as_text_cells(text: str) -> str:
    """As `as_text_cell`, and wherever a semicolon, a tab or a line end in `text` would begin another cell."""
    return as_text_cell(_BEGINS_ANOTHER.sub(r"\1'", text))
