"""The chart templates write out what the geometry says: on the screen, under the policy, and in a document."""

import io
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string
from django.utils import translation
from pypdf import PdfReader
from weasyprint import HTML

from tests.site.tokens import LIGHT, ROOT, SCHEMES, contrast
from timing.charts import (
    PRINT,
    FindingMark,
    Row,
    Supply,
    SurfacePoint,
    dwell_chart,
    phasing_chart,
    residual_chart,
    rows_chart,
    speed_chart,
    surface_chart,
    sweep_chart,
    vacuum_chart,
)
from timing.distributor import rotor_phasing

SVG = "{http://www.w3.org/2000/svg}"
CSS = (ROOT / "static" / "css" / "charts.css").read_text(encoding="utf-8")
UNIT = [(500, 0), (1000, 2), (1500, 10), (2500, 17), (3500, 22)]
WANTED = [(500, 0), (1000, 2), (1400, 9), (2200, 15), (3500, 22)]
BAND = [(800, 0, 1), (1200, 2, 6), (1800, 10, 14), (3000, 17, 21)]
CARS = [(800, 0, 0.5, 2), (3000, 15, 17, 20)]
FINDINGS = [
    FindingMark("A", "stop", 2500, 2500, "too much at full load"),
    FindingMark("B", "caution", 1000, 1500, "steep"),
    FindingMark("C", "note", 3500, 6000, "flat"),
]


def every_layer(**more):
    return speed_chart(
        uid="speed",
        delivered=UNIT,
        target=WANTED,
        earlier=[("version 1", WANTED), ("version 2", UNIT)],
        band=BAND,
        cars=CARS,
        cars_name="11 like this one",
        as_found=[(900, 1), (1500, 9)],
        readings=[(900, 1.5), (2500, 16)],
        road_notes=[(2600, 17)],
        findings=FINDINGS,
        selected=2,
        idle_rpm=850,
        rev_limit_rpm=6000,
        red_line_rpm=6200,
        **more,
    )


def supply(name, volts, last_ms):
    return Supply(name, volts, 3.5, [3.5, last_ms], [36, 20])


CHARTS = {
    "speed": every_layer,
    "sweep": lambda **k: sweep_chart(
        uid="sweep", rising=[(900, 1), (1500, 9)], falling=[(1400, 9)], band=BAND, findings=FINDINGS, **k
    ),
    "vacuum": lambda **k: vacuum_chart(
        uid="vacuum",
        ramp=[(10, 0), (40, 14)],
        rows=[(1000, [(0, 0), (60, 6)])],
        target=[(10, 0), (38, 14)],
        readings=[(20, 4)],
        cars=[(0, 0, 0, 0), (40, 8, 10, 12)],
        idle_vacuum=58,
        most_vacuum=71,
        **k,
    ),
    "residual": lambda **k: residual_chart(
        [(900, 2.5), (3000, 3.5)],
        uid="residual",
        line=[(900, 2.1), (3000, 3.6)],
        band=[(900, 1.6, 2.6), (3000, 3.3, 3.9)],
        outliers=[(2000, 8)],
        **k,
    ),
    "dwell": lambda **k: dwell_chart(
        [500, 6000],
        [supply("cranking", 9, 2.0), supply("running", 12.8, 2.5), supply("charging", 14.2, 3.5)],
        uid="dwell",
        limit_rpm=4444,
        **k,
    ),
    "surface": lambda **k: surface_chart(
        rpm=[1000, 2500, 4000],
        vacuum=[-40, 0, 60],
        advance=[[8, 16, 20], [10, 25, 30], [12, 36, 44]],
        uid="surface",
        points=[SurfacePoint("idle", rpm=850, vacuum=58)],
        visits=[[1, 2, 3], [4, 5, 6], [7, 8, 0]],
        selected=(1, 1),
        **k,
    ),
    "rows": lambda **k: rows_chart(
        [Row("40 cars", 2, 1, 5, (1, 3))], uid="rows", axis_name="versions", group_name="by start", **k
    ),
    "phasing": lambda **k: phasing_chart(rotor_phasing(8, 6, 46, 24, 9, 5, 0.7, 6), uid="phasing", **k),
}


def written(chart):
    return chart.svg


def tree(chart):
    return ElementTree.fromstring(written(chart))  # noqa: S314 (our own drawing)


def classes(element):
    return element.get("class", "").split()


@pytest.fixture(params=CHARTS)
def chart(request):
    return CHARTS[request.param]()


class TestEveryChart:
    def test_it_is_well_formed_and_bears_its_kind(self, chart):
        root = tree(chart)
        assert root.tag == f"{SVG}svg"
        assert {"chart", f"chart-{chart.kind}", "chart-wide"} <= set(classes(root))

    def test_its_size_is_a_view_box_and_nothing_else(self, chart):
        root = tree(chart)
        assert root.get("viewBox") == f"0 0 {chart.width} {chart.height}"
        assert root.get("width") is None
        assert root.get("height") is None

    def test_title_and_description_stand_first_and_name_it(self, chart):
        root = tree(chart)
        title, description = root[0], root[1]
        assert (title.tag, description.tag) == (f"{SVG}title", f"{SVG}desc")
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
        assert title.text == chart.title
        assert description.text == chart.description
        assert len(chart.description) > 40

    def test_every_id_begins_with_its_uid_and_stands_once(self, chart):
        ids = [element.get("id") for element in tree(chart).iter() if element.get("id")]
        assert ids
        assert len(ids) == len(set(ids))
        assert all(name.startswith(f"{chart.uid}-") for name in ids)

    def test_it_has_no_style_no_script_and_nothing_from_elsewhere(self, chart):
        text = written(chart)
        assert not re.search(r"\bstyle=|<style|<script|\bon\w+=|href=", text)

    def test_every_colour_is_a_token(self, chart):
        allowed = {"none", *PRINT.shades, *PRINT.on_shades}
        allowed |= {getattr(PRINT, name) for name in LIGHT if hasattr(PRINT, name)}
        used = set(re.findall(r'(?:fill|stroke)="([^"]*)"', written(chart)))
        assert used <= allowed

    def test_every_coloured_part_has_a_class_that_the_screen_overrides(self, chart):
        ruled = set(re.findall(r"\.([a-z][a-z0-9-]*)", re.sub(r"/\*.*?\*/", "", CSS, flags=re.DOTALL)))
        for element in tree(chart).iter():
            coloured = {element.get("fill", "none"), element.get("stroke", "none")} != {"none"}
            if coloured:
                assert ruled & set(classes(element)), ElementTree.tostring(element)

    def test_numbers_are_written_alike_in_every_language(self, chart, settings):
        expected = written(chart)
        settings.USE_THOUSAND_SEPARATOR = True
        with translation.override("de"):
            assert written(chart) == expected

    def test_a_narrow_drawing_says_that_it_is_narrow(self, chart):
        narrow = CHARTS[chart.kind](width=360)
        assert "chart-narrow" in classes(tree(narrow))
        assert tree(narrow).get("viewBox").startswith("0 0 360 ")

    def test_what_a_person_typed_cannot_become_markup(self, chart):
        nasty = replace(chart, title='<b onload="x">', description="</desc><script>x</script>")
        root = tree(nasty)
        assert root[0].text == '<b onload="x">'
        assert not list(root.iter(f"{SVG}script"))


class TestForTheEditor:
    def test_the_plot_tells_how_to_turn_a_place_into_figures(self):
        chart = every_layer()
        [plot] = [one for one in tree(chart).iter() if "chart-plot" in classes(one)]
        told = {name: float(plot.get(f"data-{name}")) for name in ("left", "right", "top", "bottom")}
        ends = {name: float(plot.get(f"data-{name}")) for name in ("across-low", "across-high", "up-low", "up-high")}
        node = chart.nodes[3]
        part = (node.x - told["left"]) / (told["right"] - told["left"])
        rpm = ends["across-low"] + part * (ends["across-high"] - ends["across-low"])
        rise = (told["bottom"] - node.y) / (told["bottom"] - told["top"])
        height = ends["up-low"] + rise * (ends["up-high"] - ends["up-low"])
        assert (rpm, height) == pytest.approx((2500, 17), abs=0.1)

    def test_nodes_carry_index_and_figures(self):
        nodes = [one for one in tree(every_layer()).iter() if "chart-node" in classes(one)]
        assert [one.get("data-index") for one in nodes] == ["0", "1", "2", "3", "4"]
        assert [(float(one.get("data-across")), float(one.get("data-up"))) for one in nodes] == UNIT
        assert [("chart-node-selected" in classes(one)) for one in nodes] == [False, False, True, False, False]

    def test_a_drawing_to_be_read_has_no_sliders(self):
        assert "slider" not in written(every_layer())

    def test_nodes_to_be_moved_are_sliders_reached_by_key_and_finger(self):
        root = tree(every_layer(editable=True, step=0.5))
        assert root.get("role") == "group"
        sliders = [one for one in root.iter() if one.get("role") == "slider"]
        assert len(sliders) == 5
        third = sliders[2]
        assert third.get("aria-valuenow") == "10.0"
        assert third.get("aria-valuetext") == "10° at 1500 rpm"
        assert third.get("aria-orientation") == "vertical"
        assert float(third.get("aria-valuemin")) <= 0 < 22 < float(third.get("aria-valuemax"))
        assert third.get("tabindex") == "0"
        [reach] = [one for one in third if "chart-node-reach" in classes(one)]
        assert float(reach.get("r")) >= 24  # 48 units across, the touch target of the design
        [plot] = [one for one in root.iter() if "chart-plot" in classes(one)]
        assert plot.get("data-step") == "0.5"

    def test_findings_are_marked_by_letter_kind_and_sentence(self):
        marks = [one for one in tree(every_layer()).iter() if one.get("data-letter")]
        told = {one.get("data-letter"): (classes(one)[1], one[0].text) for one in marks}
        assert told == {
            "A": ("chart-finding-stop", "A, stop: too much at full load"),
            "B": ("chart-finding-caution", "B, caution: steep"),
            "C": ("chart-finding-note", "C, note: flat"),
        }

    def test_cells_of_the_surface_can_be_found_and_explain_themselves(self):
        chart = CHARTS["surface"]()
        cells = [one for one in tree(chart).iter() if "chart-cell" in classes(one)]
        assert len(cells) == 9
        told = {(one.get("data-row"), one.get("data-column")): one.get("data-says") for one in cells}
        assert told["2", "1"] == "36° at 2500 rpm, 60 kPa"
        assert told["0", "0"] == "8° at 1000 rpm, boost 40 kPa"


@pytest.fixture(scope="module")
def pdf():
    drawings = "".join(f"<figure>{written(make())}</figure>" for make in CHARTS.values())
    page = f'<html lang="en"><head><title>Charts</title></head><body>{drawings}</body></html>'
    return PdfReader(io.BytesIO(HTML(string=page).write_pdf(pdf_variant="pdf/ua-1")))


class TestInADocument:
    def test_the_figures_can_be_read_out_of_the_pdf(self, pdf):
        text = " ".join(page.extract_text() for page in pdf.pages)
        for words in ("crank rpm", "degrees of crank", "0.6° apart", "red line 6200", "late", "boost 40", "dwell, ms"):
            assert words in text
        assert "outside the limits" in text

    def test_the_pen_of_print_reaches_the_pdf_without_a_style_sheet(self, pdf):
        content = b"".join(page.get_contents().get_data() for page in pdf.pages)
        inks = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:RG|rg)\b", content)
        used = {"#" + "".join(f"{round(float(channel) * 255):02X}" for channel in ink) for ink in inks}
        assert {PRINT.ink, PRINT.pencil, PRINT.hairline, PRINT.marking, PRINT.stop, PRINT.caution, PRINT.good} <= used
        assert set(PRINT.shades[:1]) <= used

    def test_every_picture_has_its_words(self, pdf):
        found = []

        def walk(node):
            node = node.get_object()
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            kids = node.get("/K", [])
            for kid in kids if isinstance(kids, list) else [kids]:
                if hasattr(kid.get_object(), "get"):
                    walk(kid)

        walk(pdf.trailer["/Root"]["/StructTreeRoot"])
        assert any("Advance over engine speed" in words for words in found)
        assert len(found) >= len(CHARTS)


class TestTokens:
    def test_print_uses_the_light_tokens(self):
        for name in ("sheet", "ink", "pencil", "hairline", "marking", "stop", "caution", "good"):
            assert getattr(PRINT, name) == LIGHT[name], name
        assert PRINT.shades == tuple(LIGHT[f"level-{level}"] for level in range(9))

    def test_the_figure_on_every_shade_can_be_read_in_print(self):
        for shade, ink in zip(PRINT.shades, PRINT.on_shades, strict=True):
            assert contrast(shade, ink) >= 4.5, "WCAG 2.2, 1.4.3"

    @pytest.mark.parametrize("scheme", SCHEMES)
    def test_the_figure_on_every_shade_can_be_read_on_the_screen(self, scheme):
        tokens = SCHEMES[scheme]
        for level in range(9):
            rule = re.search(rf"\.on-level-{level}\b[^{{]*\{{\s*fill: var\(--([a-z-]+)\)", CSS)
            assert contrast(tokens[f"level-{level}"], tokens[rule[1]]) >= 4.5, "WCAG 2.2, 1.4.3"


def test_the_figure_shows_one_drawing_to_a_desk_and_one_to_a_phone():
    html = render_to_string(
        "timing/charts/_figure.html",
        {
            "wide": CHARTS["residual"](),
            "narrow": replace(CHARTS["residual"](width=360), uid="small"),
            "caption": "Read at noon",
        },
    )
    assert html.count("<svg") == 2
    assert 'id="residual-title"' in html
    assert 'id="small-title"' in html
    assert "<figcaption>Read at noon</figcaption>" in html
