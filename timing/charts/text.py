"""The names of what is drawn, and how the description of a drawing is worded."""

# In the key and in the description: what is keyed in and runs, and what it was fitted to.
DELIVERED = "unit delivers"
TARGET = "set"


def opening(text: str) -> str:
    """`text` as a sentence begins: the first letter large, the others left alone, for V is no v."""
    return text[:1].upper() + text[1:]
