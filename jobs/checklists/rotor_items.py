"""Which items of the shipped lists are about the rotor under the cap, and for which cars."""

EDGE_TOLD = "edge-told"
TRIGGER_EDGE = "trigger-edge"
TIP_AT_EDGE = "tip-at-edge"
IN_LINE_AT = "rotor-in-line-at"
ROTOR_OF_A_TWIN = "rotor-of-a-twin"

# For which cars: where nobody has said whether there is a rotor, they are asked.
WITH_A_ROTOR = {"cylinders": [3, 4, 5, 6, 8, 12], "rotor": [True]}
ANY_ROTOR = {"cylinders": [2, 3, 4, 5, 6, 8, 12], "rotor": [True]}

# Choices that say more than whether an item passes.
ENTERED_APART = "edge entered apart"
NO_ROTOR = "no rotor"

# Their pages lead to the picture.
ABOUT_THE_ROTOR = frozenset(
    {
        "advance-range",
        EDGE_TOLD,
        TIP_AT_EDGE,
        IN_LINE_AT,
        "rotor-remedy",
        "rotor-moved",
        "rotor-overlap-highest",
        "rotor-overlap-lowest",
        ROTOR_OF_A_TWIN,
        "rotor-neighbour-ratio",
    }
)
