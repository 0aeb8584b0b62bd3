"""The maths of ignition timing: pure functions and frozen dataclasses on numpy, knowing nobody.

Canonical units throughout: crank degrees before top dead centre (positive), crank rpm, vacuum in kPa below
atmosphere (positive), boost in kPa above it, milliseconds of dwell, ohms, millihenries, volts, millimetres, seconds.

The main names are here and are imported when they are first asked for: `from timing import AdvanceCurve`. A map is
reviewed by `timing.review.review`, and a finished page of HTML becomes a PDF by `timing.sheets`.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from timing.charts import (
        dwell_chart,
        phasing_chart,
        residual_chart,
        speed_chart,
        surface_chart,
        sweep_chart,
        vacuum_chart,
    )
    from timing.coil import Primary, dwell_budget
    from timing.comparison import compare
    from timing.curve import AdvanceCurve
    from timing.distributor import FactoryBand, factory_band, rotor_phasing
    from timing.errors import TimingError
    from timing.gridfit import GridFit, fit_free, fit_to
    from timing.ignition_map import IgnitionMap
    from timing.review import CoilFacts, EngineFacts, Finding, ReviewLimits
    from timing.strobe import fit_readings, prove_base
    from timing.surface import TotalAdvance
    from timing.unit import (
        BoostNodes,
        FixedNodes,
        FreeNodes,
        RampEntries,
        Steps,
        TableEntries,
        UnitType,
        fit_map,
        key_in_lines,
        read_back,
    )
    from timing.units import convert, standard_pressure
    from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

__all__ = [
    "AdvanceCurve",
    "BoostNodes",
    "BoostRetard",
    "CoilFacts",
    "EngineFacts",
    "FactoryBand",
    "Finding",
    "FixedNodes",
    "FreeNodes",
    "GridFit",
    "IgnitionMap",
    "Primary",
    "RampEntries",
    "ReviewLimits",
    "Steps",
    "TableEntries",
    "TimingError",
    "TotalAdvance",
    "UnitType",
    "VacuumRamp",
    "VacuumTable",
    "compare",
    "convert",
    "dwell_budget",
    "dwell_chart",
    "factory_band",
    "fit_free",
    "fit_map",
    "fit_readings",
    "fit_to",
    "key_in_lines",
    "phasing_chart",
    "prove_base",
    "read_back",
    "residual_chart",
    "rotor_phasing",
    "speed_chart",
    "standard_pressure",
    "surface_chart",
    "sweep_chart",
    "vacuum_chart",
]

# Where the names above live; `review` is left out, for a function of that name would hide the folder.
_NAMES_OF = {
    "charts": [name for name in __all__ if name.endswith("_chart")],
    "coil": ["Primary", "dwell_budget"],
    "comparison": ["compare"],
    "curve": ["AdvanceCurve"],
    "distributor": ["FactoryBand", "factory_band", "rotor_phasing"],
    "errors": ["TimingError"],
    "gridfit": ["GridFit", "fit_free", "fit_to"],
    "ignition_map": ["IgnitionMap"],
    "review": ["CoilFacts", "EngineFacts", "Finding", "ReviewLimits"],
    "strobe": ["fit_readings", "prove_base"],
    "surface": ["TotalAdvance"],
    "unit": [
        "BoostNodes",
        "FixedNodes",
        "FreeNodes",
        "RampEntries",
        "Steps",
        "TableEntries",
        "UnitType",
        "fit_map",
        "key_in_lines",
        "read_back",
    ],
    "units": ["convert", "standard_pressure"],
    "vacuum": ["BoostRetard", "VacuumRamp", "VacuumTable"],
}
_HOME = {name: module for module, names in _NAMES_OF.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(f"timing.{_HOME[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
