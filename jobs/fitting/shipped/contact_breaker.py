"""Fitting a programmable unit to a car whose contact breaker stays on as the trigger."""

from jobs.fitting.models import SheetKind
from jobs.fitting.shipped.spec import Section, ShippedList, choice, measure, photo, tick, words

LIST = ShippedList(
    key="contact-breaker",
    name="Fitting, contact breaker triggered",
    kind=SheetKind.FITTING,
    suits={"trigger": ["contact breaker"]},
    sections=(
        Section(
            "Before you start",
            (
                tick(
                    "battery-isolated",
                    "Battery isolated",
                    hold_point=True,
                    help="Take off the lead of the earthed post first. Note clock and radio codes before.",
                    caution="Rings and watch off. Read which post is earthed; on some cars it is the positive one.",
                    source="common practice, no source",
                ),
                photo("engine-bay", "Engine bay as it came", required=False),
            ),
        ),
        Section(
            "Distributor",
            (
                tick(
                    "advance-locked",
                    "Advance locked, no free play felt at the rotor",
                    hold_point=True,
                    source="handbook order of work; common practice, no source",
                ),
                measure(
                    "rotor-overlap",
                    "Rotor tip and cap post overlap at both ends of the advance range, the smaller",
                    "mm",
                    1.0,
                    None,
                    hold_point=True,
                    second_person=True,
                    source="common practice, no source",
                ),
                measure(
                    "side-play",
                    "Side play of the distributor shaft at the cam",
                    "mm",
                    None,
                    0.1,
                    decimals=2,
                    source="common practice, no source",
                ),
                choice("cap", "Cap and rotor arm", ["sound", "tracked or cracked"], ["sound"]),
            ),
        ),
        Section(
            "Wiring",
            (
                measure(
                    "feed-drop-12",
                    "Drop from battery to the unit's feed",
                    "V",
                    None,
                    0.5,
                    decimals=2,
                    source="common practice, no source",
                ),
                measure(
                    "earth-drop",
                    "Drop from the unit's earth to the block",
                    "V",
                    None,
                    0.1,
                    decimals=2,
                    source="common practice, no source",
                ),
                tick(
                    "unit-isolated",
                    "Unit and its case isolated from the body",
                    applies={"earth_polarity": ["positive"]},
                ),
                tick("ballast-route", "Ballast kept or by-passed as the unit's data ask", applies={"ballast": [True]}),
                tick(
                    "tachometer-current",
                    "Tachometer kept in the feed of the coil, reads right",
                    applies={"tachometer": ["coil current"]},
                ),
                words("fuse", "Fuse: rating and where it sits", source="by the wire maker's data and the local code"),
                measure(
                    "coil-off",
                    "Coil current, ignition on and engine stopped",
                    "A",
                    None,
                    0.1,
                    decimals=2,
                    source="common practice, no source",
                ),
            ),
        ),
    ),
)
