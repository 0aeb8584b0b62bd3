"""Which items of the shipped lists are about the rotor under the cap: their pages lead to its picture."""

ABOUT_THE_ROTOR = frozenset(
    {
        "lock-angle",
        "advance-range",
        "rotor-overlap-highest",
        "rotor-overlap-lowest",
        "rotor-of-a-twin",
        "rotor-neighbour-ratio",
    }
)
