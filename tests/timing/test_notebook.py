"""`timing` in a notebook: light to import, its main names at hand, charts that draw themselves."""

import ast
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

import timing
from timing import charts
from timing.curve import AdvanceCurve
from timing.distributor import FactoryBand, rotor_phasing
from timing.vacuum import VacuumRamp

ROOT = Path(__file__).parents[2]
CURVE = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
NODES = list(zip(CURVE.rpm, CURVE.degrees, strict=True))

CHARTS = {
    "speed": lambda **look: charts.speed_chart(delivered=CURVE, **look),
    "sweep": lambda **look: charts.sweep_chart(rising=CURVE, **look),
    "vacuum": lambda **look: charts.vacuum_chart(ramp=VacuumRamp(10, 40, 14), **look),
    "residual": lambda **look: charts.residual_chart([(900, 1.5)], **look),
    "dwell": lambda **look: charts.dwell_chart(
        [500, 6000], [charts.Supply("running", 12.8, 3.5, [3.5, 2.5], [36, 20])], **look
    ),
    "surface": lambda **look: charts.surface_chart(
        rpm=[1000, 2500], vacuum=[0, 60], advance=[[10, 25], [12, 36]], **look
    ),
    "phasing": lambda **look: charts.phasing_chart(rotor_phasing(8, 6, 46, 24, 9, 5, 0.7, 6), **look),
}


def run(code):
    return subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True).stdout


def shown_in_the_readme():
    return re.search(r"## The maths alone.*?```python\n(.*?)```", (ROOT / "README.md").read_text(), re.DOTALL)[1]


# ---- The package -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", timing.__all__)
def test_every_main_name_is_the_one_of_its_room(name):
    assert getattr(timing, name).__module__.startswith(f"timing.{timing._HOME[name]}")
    assert name in dir(timing)


def test_what_a_type_checker_sees_is_what_is_there():
    tree = ast.parse((ROOT / "timing" / "__init__.py").read_text())
    [block] = [part for part in tree.body if isinstance(part, ast.If)]
    seen = {name.name: part.module.removeprefix("timing.") for part in block.body for name in part.names}
    assert seen == timing._HOME
    assert sorted(seen) == sorted(timing.__all__)
    assert (ROOT / "timing" / "py.typed").exists()


def test_a_name_that_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError, match=r"^module 'timing' has no attribute 'Wanted'"):
        timing.Wanted  # noqa: B018


def test_importing_it_imports_next_to_nothing():
    loaded = run("import sys, timing; print(*[name for name in sys.modules if name.split('.')[0] != 'timing'])").split()
    assert {"numpy", "weasyprint", "django"}.isdisjoint(loaded)


def test_no_chart_needs_the_library_of_documents():
    loaded = run("import sys, timing.charts; print(*sys.modules)").split()
    assert {"weasyprint", "django"}.isdisjoint(loaded)


def test_what_the_readme_shows_runs():
    code = shown_in_the_readme()
    assert len([line for line in code.splitlines() if line.strip()]) <= 10
    last = code.strip().splitlines()[-1].split("  #")[0]
    printed = run(code.replace(last, f"print({last}.svg)"))
    assert printed.startswith("0.6 degrees off at 1400 rpm\n")  # handbook section 4, case A1
    assert "\nnote " in printed
    assert ElementTree.fromstring(printed[printed.index("<svg") :]).get("role") == "img"  # noqa: S314


# ---- Charts ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("draw", CHARTS.values(), ids=CHARTS)
def test_a_chart_draws_itself(draw):
    chart = draw()
    assert chart._repr_svg_() == chart.svg
    drawing = ElementTree.fromstring(chart.svg)  # noqa: S314
    assert drawing.get("viewBox") == f"0 0 {chart.width} {chart.height}"


@pytest.mark.parametrize("draw", CHARTS.values(), ids=CHARTS)
def test_a_drawing_without_a_name_gets_one_that_stays(draw):
    assert draw().uid == draw().uid
    assert re.fullmatch(rf"{draw().kind}-[0-9a-f]{{12}}", draw().uid)
    assert draw().uid != draw(title="another").uid
    assert draw(uid="mine").uid == "mine"


def test_drawings_of_other_figures_have_other_names():
    moved = charts.speed_chart(delivered=CURVE.shift(1))
    assert moved.uid != CHARTS["speed"]().uid


def test_a_drawing_is_markup_that_a_template_need_not_escape():
    drawing = CHARTS["speed"]().svg
    assert drawing.__html__() == drawing == str(drawing)


@pytest.mark.parametrize("layer", ["delivered", "target", "as_found", "readings", "road_notes", "nodes"])
def test_a_curve_is_taken_as_it_is(layer):
    given = {"delivered": NODES} | {layer: CURVE}
    assert charts.speed_chart(**given) == charts.speed_chart(**given | {layer: NODES})


def test_a_ramp_and_a_band_are_taken_as_they_are():
    ramp, corners = VacuumRamp(10, 40, 14), [(10, 0), (40, 14)]
    assert charts.vacuum_chart(ramp=ramp, target=ramp) == charts.vacuum_chart(ramp=corners, target=corners)
    band = FactoryBand(CURVE, CURVE.shift(3))
    assert charts.speed_chart(band=band) == charts.speed_chart(band=charts.band_rows(band))


def test_what_is_no_list_of_points_is_refused():
    for nothing in (5, None, "curve", FactoryBand(CURVE, CURVE)):
        with pytest.raises(charts.ChartError, match=r"^the readings must be a list of points"):
            charts.speed_chart(readings=nothing)
