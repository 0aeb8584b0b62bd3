"""Text as a cell of a CSV file: no spreadsheet takes it for a formula."""

# What a spreadsheet would take for a formula, its wide forms included.
_BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def as_text_cell(text: str) -> str:
    """`text`, with an apostrophe before it where it would be reckoned instead of shown."""
    return f"'{text}" if text.startswith(_BEGINNINGS) else text
