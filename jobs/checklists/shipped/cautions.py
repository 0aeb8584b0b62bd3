"""Cautions that stand at more than one item of the shipped lists, in the words of somebody standing at the engine."""

SHORT_AT_THE_BATTERY = (
    "Rings, watch and bracelet off: a spanner from the live post to the body burns to the bone. The battery gives off "
    "a gas that explodes: air the bay, no sparks at the posts."
)
HIGH_VOLTAGE = (
    "Tens of kilovolts, with more behind them than the old points gave: they hurt, and the jolt throws you into the "
    "fan. Anyone with a pacemaker or another implant stays well away."
)
DEAD_BEFORE_TOUCHING = "Ignition off and battery off before you touch the coil, a lead or a plug."
TURNED_BY_HAND = (
    "Ignition dead, all plugs out, gear out. By hand only, with a spanner that comes off: a kick breaks thumb and "
    "wrist. Nobody else near the key."
)
RUNNING = (
    "Extraction on the exhaust and the alarm on: carbon monoxide has no smell and an old engine makes it from the "
    "first second. Brake on, gear out, wheels chocked. Sleeves, hair and lead loops away from fan and belt; an "
    "electric fan starts by itself."
)
HOT = "Manifold, coil, plugs and radiator cap burn. Never open a hot cooling system."
FUEL_VAPOUR = "Plug holes and the carburettor breathe fuel: no spark, no smoking, extinguisher within reach."
