"""Which items of the shipped lists are about the rotor under the cap."""

EDGE_TOLD = "edge-told"
TRIGGER_EDGE = "trigger-edge"
TIP_AT_EDGE = "tip-at-edge"
IN_LINE_AT = "rotor-in-line-at"
ROTOR_OF_A_TWIN = "rotor-of-a-twin"

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
