"""The cells in which the whole of a map is shown, on the bench as on the road."""

import numpy as np

from garage.vehicles.models import Engine
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray


def surface_nodes(delivered: IgnitionMap, engine: Engine) -> tuple[FloatArray, FloatArray]:
    """Speeds and vacua that show the whole of a map: at most a dozen columns, from boost to a closed throttle."""
    top = max(delivered.curve.rpm[-1], engine.red_line_rpm or 0.0, 3000.0)
    step = 500.0 if top <= 6500 else 1000.0
    rpm = np.arange(500.0, top + step, step)
    vacuum = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0]
    if delivered.boost is not None and any(delivered.boost.degrees):
        most = delivered.boost.boost[-1]
        vacuum = [*sorted({-round(most, 1), -round(most / 2, 1)}), *vacuum]
    return rpm, np.array(vacuum)
