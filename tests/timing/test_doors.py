"""What is no figure is refused at every door of curves, units, surfaces, grids, unit types and charts, by its name."""

import datetime
import importlib
import inspect
from decimal import Decimal

import numpy as np
import pint
import pytest

from timing import charts, unit
from timing.curve import AdvanceCurve
from timing.distributor import FactoryBand
from timing.errors import TimingError
from timing.gridfit import fit_free, fit_to
from timing.lookup import HeldGrid
from timing.surface import TotalAdvance
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

PINT = pint.UnitRegistry(cache_folder=None)
ENDLESS: list = []
ENDLESS.append(ENDLESS)

NO_FIGURES = {
    "text": "12",
    "bytes": b"12",
    "a list of text": ["12"],
    "an array of text": np.array(["12"]),
    "True": True,
    "numpy's True": np.True_,
    "True in a list": [1.0, True],
    "an array of truth values": np.array([True]),
    "a date": datetime.date(2026, 11, 28),
    "numpy's date": np.datetime64("2026-11-28"),
    "a time span": np.timedelta64(5, "s"),
    "a complex number": 3 + 0j,
    "a complex array": np.array([3 + 0j]),
    "a masked array": np.ma.masked_array([1.0, 2.0], mask=[False, True]),
    "a quantity": PINT.Quantity(12.0, "inHg"),
    "a quantity without a unit": PINT.Quantity(12.0, ""),
    "a list of quantities": [PINT.Quantity(12.0, "inHg")],
    "an array of objects": np.array([object()]),
    "a dictionary": {"rpm": 12},
    "a set": {12},
    "a function": len,
    "lists of different length": [[1.0, 2.0], [3.0]],
    "a list that holds itself": ENDLESS,
    "more than any float": 10**400,
    "infinity": float("inf"),
    "not a number": float("nan"),
    "a Decimal that is none": Decimal("NaN"),
}

CURVE = AdvanceCurve([500, 3500], [0, 22])
RAMP = VacuumRamp(10, 40, 14)
TABLE = VacuumTable(rpm=[800, 2000], vacuum=[0, 20], degrees=[[0, 0], [2, 6]])
GRID = HeldGrid(rpm=[800, 2000], vacuum=[0, 20], values=[[0, 0], [2, 6]])
TOTAL = TotalAdvance(8, CURVE, RAMP)
STEPS = unit.Steps(0, 40, 1)
STATION = charts.Station("version 1", "23 Nov", "done")
PLACE = {"rpm": 1000, "vacuum": 20}
ROWS = [(500, 0), (3500, 22)]
SUPPLY = charts.Supply("running", 12.8, 3.5, [3.5, 3.0], [36, 30])


def at(module, name):
    return getattr(importlib.import_module(f"timing.{module}"), name)


# Each door with figures that it lets in; every one of them that is named beside it is then replaced.
DOORS = {
    "units.convert": (at("units", "convert"), {"value": 1, "from_unit": "kPa", "to_unit": "inHg"}, ["value"]),
    "units.standard_pressure": (at("units", "standard_pressure"), {"altitude_m": 500}, None),
    "units.vacuum_lost": (at("units", "vacuum_lost"), {"altitude_m": 500}, None),
    "units.highest_vacuum": (at("units", "highest_vacuum"), {"altitude_m": 500, "lowest_manifold_kpa": 30}, None),
    "units.compression_at_sea_level": (
        at("units", "compression_at_sea_level"),
        {"gauge_kpa": 1200, "altitude_m": 500},
        None,
    ),
    "grid.DegreeSteps": (at("grid", "DegreeSteps"), {"step": 1, "low": 0, "high": 40}, None),
    "curve.AdvanceCurve": (AdvanceCurve, {"rpm": [500, 900], "degrees": [0, 5]}, None),
    "curve.AdvanceCurve.advance": (CURVE.advance, {"rpm": 900}, None),
    "curve.AdvanceCurve.shift": (CURVE.shift, {"degrees": 2}, None),
    "curve.AdvanceCurve.blend": (CURVE.blend, {"other": CURVE, "share": 0.5}, ["share"]),
    "curve.rising_speeds": (at("curve", "rising_speeds"), {"rpm": [500, 900]}, None),
    "gridfit.fit_to": (
        fit_to,
        {"target": CURVE, "nodes": [500, 2000], "step": 1, "low": 0, "high": 40},
        ["nodes", "step", "low", "high"],
    ),
    "gridfit.fit_free": (
        fit_free,
        {"target": CURVE, "count": 2, "raster": [500, 900, 3500], "step": 1, "low": 0, "high": 40},
        ["count", "raster", "step", "low", "high"],
    ),
    "lookup.rising": (at("lookup", "rising"), {"values": [1, 2], "what": "the nodes", "unit": "rpm"}, ["values"]),
    "lookup.HeldGrid": (HeldGrid, {"rpm": [800, 2000], "vacuum": [0, 20], "values": [[0, 0], [2, 6]]}, None),
    "lookup.HeldGrid.at": (GRID.at, PLACE, None),
    "lookup.checked_table": (
        at("lookup", "checked_table"),
        {"rpm": [800, 2000], "vacuum": [0, 20], "values": [[0, 0], [2, 6]]},
        None,
    ),
    "lookup.in_runs": (at("lookup", "in_runs"), PLACE | {"value_at": np.add}, ["rpm", "vacuum"]),
    "surface.TotalAdvance": (TotalAdvance, {"base": 8, "curve": CURVE, "vacuum": None}, ["base"]),
    "surface.TotalAdvance.advance": (TOTAL.advance, PLACE, None),
    "surface.TotalAdvance.table": (TOTAL.table, PLACE, None),
    "surface.TotalAdvance.parts": (TOTAL.parts, PLACE, None),
    "vacuum.VacuumRamp": (VacuumRamp, {"start": 10, "full": 40, "full_deg": 14, "from_rpm": 900}, None),
    "vacuum.VacuumRamp.advance": (RAMP.advance, PLACE, None),
    "vacuum.VacuumTable": (VacuumTable, {"rpm": [800, 2000], "vacuum": [0, 20], "degrees": [[0, 0], [2, 6]]}, None),
    "vacuum.VacuumTable.advance": (TABLE.advance, PLACE, None),
    "vacuum.BoostRetard": (BoostRetard, {"boost": [0, 50], "degrees": [0, 6]}, None),
    "vacuum.BoostRetard.retard": (BoostRetard([0, 50], [0, 6]).retard, {"boost": 20}, None),
    "unit.Steps": (unit.Steps, {"low": 0, "high": 40, "step": 1}, None),
    "unit.Steps.figure": (STEPS.figure, {"place": 3}, None),
    **{
        f"unit.Steps.{name}": (getattr(STEPS, name), {"value": 3}, None)
        for name in ("holds", "reaches", "nearest", "nearest_upper", "at_or_below", "at_or_above", "text")
    },
    "unit.Steps.is_below": (STEPS.is_below, {"value": 3, "other": 4}, None),
    "unit.FixedNodes": (unit.FixedNodes, {"rpm": [500, 900]}, None),
    "unit.FreeNodes": (unit.FreeNodes, {"count": 2, "speeds": unit.Steps(500, 6000, 100)}, ["count"]),
    "unit.TableEntries": (
        unit.TableEntries,
        {"unit": "kPa", "rpm": [800, 2000], "vacuum": [0, 20], "degrees": STEPS},
        ["rpm", "vacuum"],
    ),
    "unit.BoostNodes": (unit.BoostNodes, {"unit": "kPa", "boost": [0, 20], "degrees": STEPS}, ["boost"]),
    "charts.FindingMark": (
        charts.FindingMark,
        {"letter": "A", "kind": "stop", "low_rpm": 900, "high_rpm": 1200},
        ["low_rpm", "high_rpm"],
    ),
    "charts.Supply": (
        charts.Supply,
        {"name": "running", "volts": 12.8, "asked_ms": 3.5, "on_ms": [3.5], "energy_mj": [36]},
        ["volts", "asked_ms", "on_ms", "energy_mj"],
    ),
    "charts.band_rows": (charts.band_rows, {"band": FactoryBand(CURVE, CURVE.shift(2)), "base": 8}, ["base"]),
    "charts.sums_in_words": (charts.sums_in_words, PLACE | {"total": TOTAL}, ["rpm", "vacuum"]),
    "charts.speed_chart": (
        charts.speed_chart,
        {
            "delivered": ROWS,
            "target": ROWS,
            "band": [(500, 0, 2)],
            "cars": [(500, 8, 9, 10)],
            "as_found": ROWS,
            "readings": ROWS,
            "road_notes": ROWS,
            "nodes": ROWS,
            "idle_rpm": 800,
            "rev_limit_rpm": 6000,
            "red_line_rpm": 6200,
            "rpm_limits": (0, 7000),
            "degrees_limits": (0, 40),
            "step": 1,
            "width": 720,
        },
        None,
    ),
    "charts.sweep_chart": (
        charts.sweep_chart,
        {
            "rising": ROWS,
            "falling": ROWS,
            "band": [(500, 0, 2)],
            "idle_rpm": 800,
            "red_line_rpm": 6200,
            "rpm_limits": (0, 7000),
            "degrees_limits": (0, 40),
            "width": 720,
        },
        None,
    ),
    "charts.vacuum_chart": (
        charts.vacuum_chart,
        {
            "ramp": [(10, 0), (40, 14)],
            "target": [(10, 0), (40, 14)],
            "cars": [(10, 0, 1, 2)],
            "readings": [(20, 4)],
            "nodes": [(10, 0), (40, 14)],
            "idle_vacuum": 58,
            "most_vacuum": 71,
            "from_rpm": 800,
            "vacuum_limits": (0, 80),
            "degrees_limits": (0, 20),
            "step": 1,
            "width": 720,
        },
        None,
    ),
    "charts.Row": (
        charts.Row,
        {"label": "40 cars", "middle": 2, "low": 1, "high": 5, "half": (1, 3)},
        ["middle", "low", "high", "half"],
    ),
    "charts.rows_chart": (
        charts.rows_chart,
        {
            "rows": [charts.Row("40 cars", 2, 1, 5, (1, 3))],
            "axis_name": "hours",
            "group_name": "by stage",
            "limits": (0, 10),
            "width": 720,
        },
        ["limits", "width"],
    ),
    "charts.surface_chart": (
        charts.surface_chart,
        {
            "rpm": [800, 2000],
            "vacuum": [0, 20],
            "advance": [[8, 10], [12, 16]],
            "visits": [[1, 2], [3, 4]],
            "limits": (0, 40),
            "contour_step": 5,
            "width": 720,
        },
        None,
    ),
    "charts.dwell_chart": (
        charts.dwell_chart,
        {
            "rpm": [500, 6000],
            "supplies": [SUPPLY],
            "limit_rpm": 4000,
            "rev_limit_rpm": 6000,
            "red_line_rpm": 6200,
            "ordinary_mj": 30,
            "least_mj": 15,
            "width": 720,
        },
        ["rpm", "limit_rpm", "rev_limit_rpm", "red_line_rpm", "ordinary_mj", "least_mj", "width"],
    ),
    "charts.loop_chart": (charts.loop_chart, {"rounds": [[STATION]], "width": 720.0}, ["width"]),
    "charts.residual_chart": (
        charts.residual_chart,
        {
            "readings": [(900, 1)],
            "line": [(900, 1), (3000, 2)],
            "band": [(900, 0, 2)],
            "tolerance": 1,
            "outliers": [(2000, 8)],
            "rpm_limits": (0, 4000),
            "width": 720,
        },
        None,
    ),
}

CASES = [(door, name) for door, (_, given, names) in DOORS.items() for name in names or given]


@pytest.mark.parametrize("door", DOORS)
def test_figures_are_let_in(door):
    ask, given, _ = DOORS[door]
    ask(**given)


@pytest.mark.parametrize(("door", "name"), CASES)
def test_what_is_no_figure_is_refused_by_its_name(door, name):
    ask, given, _ = DOORS[door]
    for what, value in NO_FIGURES.items():
        with pytest.raises(TimingError) as refusal:
            ask(**given | {name: value})
        assert str(refusal.value).count(" ") >= 2, (what, str(refusal.value))


# ---- Every door is in the list ---------------------------------------------------------------------------------------

ROOMS = ("units", "grid", "curve", "gridfit", "lookup", "surface", "vacuum")
# Results, which `timing` makes and nobody else; and the inner look-up, which is given what was checked.
MADE_HERE = {
    "curve.LargestDifference",
    "gridfit.GridFit",
    "surface.Parts",
    "unit.FittedMap",
    "unit.KeyInLine",
    "unit.Mismatch",
    "charts.Graph",
    "charts.LoopChart",
    "charts.PhasingChart",
    "charts.SurfaceChart",
    "grid.DegreeSteps.any_between",
    "grid.DegreeSteps.degrees",
    "lookup.HeldLine",
    "lookup.HeldLine.at",
    "lookup.common_raster",
}
# Refused where they are drawn, or judged as typed text; rotor and strobe are tested in rooms of their own.
ELSEWHERE = {"charts.SurfacePoint", "unit.read_back", "charts.phasing_chart", "charts.residual_chart_of"}


def public(room, found, names):
    for name in names:
        thing = getattr(found, name)
        if inspect.isclass(thing):
            yield f"{room}.{name}", thing
            for method, function in vars(thing).items():
                if not method.startswith("_") and inspect.isfunction(function):
                    yield f"{room}.{name}.{method}", function
        elif inspect.isfunction(thing):
            yield f"{room}.{name}", thing


def every_door():
    for room in ROOMS:
        module = importlib.import_module(f"timing.{room}")
        own = [name for name, thing in vars(module).items() if getattr(thing, "__module__", "") == module.__name__]
        yield from public(room, module, [name for name in own if not name.startswith("_")])
    yield from public("unit", unit, unit.__all__)
    yield from public("charts", charts, charts.__all__)


def takes_figures(thing):
    try:
        parameters = inspect.signature(thing).parameters.values()
    except ValueError:
        return False  # an error class
    kinds = ("float", "int", "Array", "Rows", "Band")
    return any(kind in str(parameter.annotation) for parameter in parameters for kind in kinds)


def test_no_door_is_forgotten():
    doors = {name for name, thing in every_door() if takes_figures(thing)}
    assert doors - MADE_HERE - ELSEWHERE == set(DOORS)


# ---- Speed and vacuum are never mistaken for one another -------------------------------------------------------------


def test_speed_and_vacuum_are_named_and_in_one_order():
    both = []
    for name, thing in every_door():
        try:
            parameters = list(inspect.signature(thing).parameters.values())
        except ValueError:
            continue
        names = [parameter.name for parameter in parameters]
        if {"rpm", "vacuum"} <= set(names):
            both.append(name)
            assert names.index("vacuum") == names.index("rpm") + 1, name
            for parameter in parameters:
                if parameter.name in ("rpm", "vacuum"):
                    assert parameter.kind is inspect.Parameter.KEYWORD_ONLY, name
    assert len(both) >= 12
