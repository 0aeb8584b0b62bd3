"""How the words that tell a drawing are put together."""


def opening(words: str) -> str:
    """`words` as a sentence begins: the first letter large, the others left alone, for V is no v."""
    return words[:1].upper() + words[1:]
