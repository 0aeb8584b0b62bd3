"""The invented coils of the handbook, section 6, and any coil there may be."""

from hypothesis import strategies as st

from timing.coil import Primary

# The handbook's invented coils, with its wiring and a bipolar stage's 1 V.
COIL_A = Primary(3.0, 8.0, 13.8, wiring_ohm=0.2, switch_drop_v=1.0)
COIL_B = Primary(1.5, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0)
COIL_C = Primary(0.7, 4.5, 13.8, wiring_ohm=0.15, switch_drop_v=1.0)
COIL_C_LIMITED = Primary(0.7, 4.5, 13.8, 0, 6.5, wiring_ohm=0.15, switch_drop_v=1.0)
NAMED = {"A": COIL_A, "B": COIL_B}

# A discharge so strong that nothing is ever left: the handbook's cases without residual current.
AT_ONCE = (0.8, 1e6)

primaries = st.builds(
    Primary,
    resistance_ohm=st.floats(0.3, 6),
    inductance_mh=st.floats(1, 20),
    supply_v=st.floats(6, 16),
    ballast_ohm=st.floats(0, 2),
    current_limit_a=st.none() | st.floats(0.5, 12),
    wiring_ohm=st.floats(0, 0.5),
    switch_drop_v=st.floats(0, 1.5),
)
