"""A firing order as people write it, and whether two say the same."""

import re


def firing_order(typed: str) -> str:
    """1-3-4-2 for 1-3-4-2, 1,3,4,2, 1 3 4 2, and for 1342 where every cylinder is one digit."""
    digits_alone = re.fullmatch(r"[1-9]{2,9}", typed)
    return "-".join(typed if digits_alone else re.findall(r"[^\s,;.–-]+", typed))


def names_each_once(order: str, cylinders: int | None) -> bool:
    """Whether `order` names cylinders, each once, and all of them where their number is known."""
    if not re.fullmatch(r"\d{1,2}(-\d{1,2})*", order):
        return False
    named = sorted(map(int, order.split("-")))
    return named == list(range(1, (cylinders or len(named)) + 1))


def same_firing_order(one: str, other: str) -> bool:
    """Whether both fire in the same turn, wherever each begins: 1-3-4-2 is 3-4-2-1."""
    first, second = one.split("-"), other.split("-")
    turns = [second[place:] + second[:place] for place in range(len(second))]
    return first in turns
