"""The maths of ignition timing: pure functions and frozen dataclasses on numpy, knowing nobody.

Canonical units throughout: crank degrees before top dead centre (positive), crank rpm, vacuum in kPa below
atmosphere (positive), boost in kPa above it, milliseconds of dwell, ohms, millihenries, volts, millimetres, seconds.
"""
