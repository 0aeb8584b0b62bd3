"""A figure on a sheet: in the unit of the gauge, corrected here and not in anybody's head, judged by one rule."""

import json
import os
import shutil
import subprocess
import uuid
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from garage.models import Staff, Workshop
from garage.quantities.measure import QUANTITIES, Quantity
from jobs.checklists.actions import EntryRefusedError
from jobs.checklists.measuring import detail_text, limits_text, reading_of, value_text
from jobs.checklists.models import ChecklistItem, Entry, ItemKind, SheetKind
from jobs.checklists.presentation import item_data
from jobs.checklists.queries import bench_record_rows
from jobs.checklists.sheet import sheet_of
from jobs.checklists.verdict import judge, said
from jobs.maps.car_values import car_values
from tests.checklists.along import INSPECTION
from tests.checklists.along import item as along_item
from tests.checklists.factories import enter, published_list, published_revision, sheet_with, signed_by
from tests.checklists.test_tablet import message, send
from tests.factories import JobFactory

TABLE = json.loads((Path(__file__).parent / "measure_cases.json").read_text())
CASES = TABLE["cases"]
INHG = 3.386388640341  # kPa; NIST SP 811 (2008), appendix B.8, conventional

IDLE = {
    "key": "idle-vacuum", "text": "Idle vacuum", "kind": "measure", "unit": "kPa", "quantity": "vacuum",
    "correction": "sea level", "low": 50.0, "high": 70.0, "decimals": 0,
}  # fmt: skip
COIL = {
    "key": "coil-primary", "text": "Coil primary", "kind": "measure", "unit": "ohm", "correction": "20 °C",
    "low": 1.35, "high": 1.65, "decimals": 2,
}  # fmt: skip
CORRECTED_IN_THE_HEAD = IDLE | {"text": "Idle vacuum, corrected to sea level", "quantity": "", "correction": ""}


def item_of(case) -> ChecklistItem:
    return ChecklistItem(key=case["item"], kind=ItemKind.MEASURE, text="It", **TABLE["items"][case["item"]])


def entry_of(case) -> Entry:
    item = item_of(case)
    quantity = QUANTITIES.get(item.quantity) or Quantity.plain(item.unit)
    return Entry(
        item=item, measure=quantity.canonical_of(case["figure"], case["unit"]), unit=case["unit"],
        beside=case.get("beside"), altitude_m=case["altitude_m"] if item.correction == "sea level" else None,
    )  # fmt: skip


def said_by(case):
    return {name: case[name] for name in ("words", "value", "detail")}


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['item']} {case['figure']:g} {case['unit']}")
def test_the_record_says_of_a_figure_what_the_table_says(case):
    item, entry = item_of(case), entry_of(case)
    found = {
        "words": judge(item, entry).words,
        "value": value_text(item, entry),
        "detail": detail_text(item, entry),
    }
    assert found == said_by(case)


NODE = """
import { judge, valueText } from "./judging.js";
import { detailText } from "./measure.js";
import { readFileSync } from "node:fs";
const cases = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify(cases.map(({ item, entry }) => (
  { words: judge(item, entry).words, value: valueText(item, entry), detail: detailText(item, entry) }
))));
"""


@pytest.mark.skipif(not shutil.which("node") and "CI" not in os.environ, reason="no node here, and not in CI")
def test_the_tablet_says_of_a_figure_what_the_table_says(tmp_path):
    for script in ("judging.js", "measure.js", "car-fact.js"):
        shutil.copy(settings.BASE_DIR / "static" / "js" / "fitting" / script, tmp_path)
    (tmp_path / "package.json").write_text('{"type": "module"}')
    (tmp_path / "cases.js").write_text(NODE)
    asked = [
        {
            "item": item_data(item_of(case), Staff(), case["altitude_m"]),
            "entry": {
                "outcome": "done", "measure": case["figure"], "unit": case["unit"], "beside": case.get("beside"),
            },
        }
        for case in CASES
    ]  # fmt: skip
    ran = subprocess.run(
        ["node", "cases.js"], cwd=tmp_path, input=json.dumps(asked), capture_output=True, text=True, check=True
    )
    assert json.loads(ran.stdout) == [said_by(case) for case in CASES]


@pytest.mark.parametrize(
    ("unit", "altitude", "limits"),
    [
        ("kPa", 0, "50 to 70 kPa"),
        ("inHg", 0, "14.8 to 20.6 inHg"),  # 50 kPa is 14.77 inHg, 70 is 20.67: what is shown passes
        ("mmHg", 0, "376 to 525 mmHg"),
        ("mbar", 0, "500 to 700 mbar"),
        # 11.449 kPa less at 1000 m: US Standard Atmosphere 1976, handbook section 3
        ("kPa", 1000, "38.6 to 58.5 kPa at 1000 m"),
        ("inHg", 1000, "11.4 to 17.2 inHg at 1000 m"),
        ("kPa", None, "50 to 70 kPa at sea level"),
    ],
)
def test_limits_are_shown_in_the_unit_being_typed_and_for_this_height(unit, altitude, limits):
    assert limits_text(item_of({"item": "idle"}), unit, altitude) == limits


def test_limits_of_two_figures_say_what_they_are_of():
    assert limits_text(item_of({"item": "coil"})) == "1.35 to 1.65 ohm at 20 °C"
    assert limits_text(item_of({"item": "lead"})) == "5.0 to 20.0 kohm per metre"


# --- on the sheet ---------------------------------------------------------------------------------------------------

pytestmark = pytest.mark.django_db


def line_of(sheet, key="idle-vacuum"):
    return sheet_of(sheet).line(key)


def test_eighteen_inches_of_mercury_on_the_sheet_are_sixty_one_kilopascals_on_the_map_bench(mechanic, workshop):
    job = JobFactory(stage="inspection")
    sheet = inspected(job, [IDLE], mechanic)
    enter(sheet, "idle-vacuum", mechanic, measure=18 * INHG, unit="inHg")
    assert car_values(job).engine.idle_vacuum_kpa == pytest.approx(60.954996, rel=1e-7)
    assert said(line_of(sheet).item, line_of(sheet).current) == "18.0 inHg, pass"


def test_the_gauge_is_not_corrected_by_anybody_but_its_limits_are(mechanic, workshop):
    Workshop.objects.update(altitude_m=1000)
    job = JobFactory(stage="inspection")
    sheet = inspected(job, [IDLE], mechanic)
    enter(sheet, "idle-vacuum", mechanic, measure=45.0, unit="kPa")
    assert line_of(sheet).holds
    assert car_values(job).engine.idle_vacuum_kpa == 45
    Workshop.objects.update(altitude_m=0)  # what was judged keeps the height it was read at
    assert line_of(sheet).verdict.words == "pass"
    assert said(line_of(sheet).item, line_of(sheet).current) == "45 kPa (56 kPa at sea level), pass"


def inspected(job, rows, person):
    from jobs.checklists.actions import begin_sheet

    revision = published_list(rows, SheetKind.INSPECTION)
    return begin_sheet(job=job, kind=SheetKind.INSPECTION, revision=revision, actor=signed_by(person))


def test_what_an_older_list_asked_to_be_corrected_in_the_head_stays_a_corrected_figure(mechanic, workshop):
    Workshop.objects.update(altitude_m=1000)
    job = JobFactory(stage="inspection")
    sheet = inspected(job, [CORRECTED_IN_THE_HEAD], mechanic)
    enter(sheet, "idle-vacuum", mechanic, measure=61.449)
    assert judge(line_of(sheet).item, line_of(sheet).current).words == "pass"
    # 11.449 kPa less at 1000 m: handbook, section 3
    assert car_values(job).engine.idle_vacuum_kpa == pytest.approx(50, abs=0.001)


def test_an_older_list_in_inches_of_mercury_reaches_the_map_bench_as_inches_of_mercury(mechanic, workshop):
    job = JobFactory(stage="inspection")
    sheet = inspected(job, [CORRECTED_IN_THE_HEAD | {"unit": "inHg", "low": 15, "high": 21}], mechanic)
    enter(sheet, "idle-vacuum", mechanic, measure=18)
    assert said(line_of(sheet).item, line_of(sheet).current) == "18 inHg, pass"
    assert car_values(job).engine.idle_vacuum_kpa == pytest.approx(60.954996, rel=1e-7)


def test_a_corrected_figure_is_no_reading_of_the_gauge_on_a_newer_list(mechanic, workshop):
    job = JobFactory(stage="inspection")
    leak = {"key": "leak", "kind": "measure", "unit": "kPa", "high": 5}
    sheet = inspected(job, [CORRECTED_IN_THE_HEAD, leak], mechanic)
    enter(sheet, "idle-vacuum", mechanic, measure=61.4)
    enter(sheet, "leak", mechanic, measure=2)
    sheet.revision = published_revision(sheet.revision.template, [IDLE, leak | {"quantity": "vacuum"}], 2)
    assert line_of(sheet).is_open
    assert line_of(sheet, "leak").holds  # the same canonical unit, and nothing corrected in either


def test_a_coil_is_corrected_to_20_degrees_from_the_temperature_beside_it(mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    # handbook, section 10, IEC 60028: 1.5 ohm is 1.8537 at 80 °C, a ratio of 1.2358
    entry = enter(sheet, "coil-primary", mechanic, measure=1.8537, beside=80.0)
    assert judge(entry.item, entry).words == "pass"
    found = reading_of(entry.item, entry)
    assert found.corrected == pytest.approx(1.5)
    assert (found.measure.value, found.beside) == (1.8537, 80)
    row = bench_record_rows(sheet.job)[0]["sections"][0]["rows"][0]
    assert (row["value"], row["unit"], row["detail"]) == ("1.8537", "ohm", "at 80 °C: 1.50 ohm at 20 °C")
    assert row["limits"] == "1.35 to 1.65 ohm at 20 °C"


@pytest.mark.parametrize(
    ("row", "figures", "why"),
    [
        (IDLE, {"measure": 57.0}, "say in which unit, kPa, inHg, mmHg, mbar"),
        (IDLE, {"measure": 57.0, "unit": "ohm"}, "is read in kPa or inHg or mmHg or mbar, not in ohm"),
        (IDLE, {"measure": 57.0, "unit": "kPa", "beside": 20.0}, "nothing belongs to that figure"),
        (COIL, {"measure": 1.5}, "type the temperature in °C too"),
        (COIL, {"measure": 1.5, "beside": 400.0}, "must be between −60 and 250 °C"),
        (COIL, {"measure": 0.0, "beside": 20.0}, "resistance|reading"),
        (COIL | {"correction": "per metre", "unit": "kohm"}, {"measure": 5.0, "beside": 0.0}, "between 0.05 and 5 m"),
    ],
)
def test_a_figure_without_what_it_needs_is_refused_with_a_sentence(mechanic, row, figures, why):
    sheet = sheet_with([row], person=mechanic)
    with pytest.raises(EntryRefusedError, match=why):
        enter(sheet, row["key"], mechanic, **figures)


def test_the_same_entry_sent_twice_is_one_whatever_its_unit(mechanic):
    sheet, id = sheet_with([IDLE], person=mechanic), uuid.uuid4()
    for _ in range(2):
        enter(sheet, "idle-vacuum", mechanic, id=id, measure=18 * INHG, unit="inHg")
    with pytest.raises(EntryRefusedError, match="sent before"):
        enter(sheet, "idle-vacuum", mechanic, id=id, measure=18 * INHG, unit="kPa")


# --- from the tablet and from the plain page ------------------------------------------------------------------------


def test_a_tablet_sends_what_the_gauge_shows(mechanic, browser_of):
    sheet = sheet_with([IDLE, COIL], person=mechanic)
    client = browser_of(mechanic)
    assert send(client, sheet, message(mechanic, "idle-vacuum", measure=18, unit="inHg")).status_code == 200
    assert send(client, sheet, message(mechanic, "coil-primary", measure=1.62, beside=52)).status_code == 200
    idle, coil = Entry.objects.order_by("item__position")
    assert (idle.measure, idle.unit) == (pytest.approx(18 * INHG), "inHg")
    assert (coil.measure, coil.unit, coil.beside) == (1.62, "ohm", 52)


@pytest.mark.parametrize(
    "spoilt", [{"unit": ""}, {"unit": "furlongs"}, {"unit": 7}, {"beside": "warm"}, {"measure": 1e300, "unit": "inHg"}]
)
def test_a_figure_of_a_tablet_that_nobody_can_read_is_refused_with_a_sentence(mechanic, browser_of, spoilt):
    sheet = sheet_with([IDLE], person=mechanic)
    answer = send(browser_of(mechanic), sheet, message(mechanic, "idle-vacuum", measure=18, unit="kPa") | spoilt)
    assert (answer.status_code, bool(answer.json()["problem"])) == (422, True)
    assert not Entry.objects.exists()


def test_a_page_without_script_offers_the_unit_and_begins_with_the_person_s_own(mechanic, browser_of):
    Staff.objects.filter(pk=mechanic.pk).update(vacuum_unit="inHg")
    sheet = sheet_with([IDLE, COIL], person=mechanic)
    client = browser_of(mechanic)
    address = reverse("checklists:item", args=[sheet.job.code, "fitting", "idle-vacuum"])
    page = client.get(address).text
    assert '<option value="inHg" selected>' in page
    assert "14.8 to 20.6 inHg" in page
    form = {"id": uuid.uuid4(), "outcome": "done", "measure": "18", "measure_unit": "inHg"}
    assert client.post(address, form).status_code == 302
    assert Entry.objects.get().unit == "inHg"
    coil = reverse("checklists:item", args=[sheet.job.code, "fitting", "coil-primary"])
    typed = {"id": uuid.uuid4(), "outcome": "done", "measure": "1,62", "beside": "52"}
    assert client.post(coil, typed).status_code == 302
    assert "at 52 °C: 1.44 ohm at 20 °C" in client.get(coil).text  # 1.62 / 1.12576, by hand


def test_what_stands_goes_to_the_tablets_as_it_was_read(mechanic, browser_of):
    sheet = sheet_with([IDLE], person=mechanic)
    enter(sheet, "idle-vacuum", mechanic, measure=18 * INHG, unit="inHg")
    state = browser_of(mechanic).get(reverse("checklists:state", args=[sheet.job.code, "fitting"])).json()
    row = state["rows"]["idle-vacuum"]
    assert (row["value"], row["unit"]) == ("18.0", "inHg")
    assert (row["standing"][0]["measure"], row["standing"][0]["unit"]) == (18, "inHg")


# --- in the lists ---------------------------------------------------------------------------------------------------


def test_the_lists_that_come_along_ask_for_what_the_gauge_shows(db):
    idle = along_item(INSPECTION, "idle-vacuum")
    assert (idle.quantity, idle.correction, idle.low, idle.high) == ("vacuum", "sea level", 50, 70)
    for one in (idle, along_item(INSPECTION, "coil-primary")):
        asked = one.text + one.help
        assert not [word for word in ("corrected to", "Add to", "divide", "inHg is") if word in asked]


# --- written by the owner -------------------------------------------------------------------------------------------


@pytest.fixture
def draft(owner):
    from jobs.checklists.editor_actions import begin_draft

    return begin_draft(template=published_list([IDLE]).template, actor=signed_by(owner))


def typed_item(**changed):
    return {
        "idempotency_key": uuid.uuid4(), "section": "Warm", "kind": "measure", "text": "Vacuum held", "unit": "inHg",
        "quantity": "vacuum", "low": "15", "high": "21", "decimals": "1", "required": "on", **changed,
    }  # fmt: skip


def test_an_owner_writes_limits_in_a_unit_of_choice_and_finds_them_so(owner, browser_of, draft):
    client = browser_of(owner)
    client.post(reverse("checklists:new-item", args=[draft.pk]), typed_item())
    item = draft.items.get(text="Vacuum held")
    assert (item.low, item.high) == (pytest.approx(15 * INHG), pytest.approx(21 * INHG))
    page = client.get(reverse("checklists:edit-item", args=[item.pk])).text
    assert 'name="low" value="15"' in page
    assert limits_text(item) == "15.0 to 21.0 inHg"
    assert limits_text(item, "kPa") == "50.8 to 71.1 kPa"  # 50.796 and 71.114: what is shown passes
    again = typed_item(row_version=item.row_version, high="20")
    client.post(reverse("checklists:edit-item", args=[item.pk]), again)
    item.refresh_from_db()
    assert (item.low, item.high) == (pytest.approx(15 * INHG), pytest.approx(20 * INHG))


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"unit": "V"}, "One of kPa, inHg, mmHg, mbar"),
        ({"quantity": "pressure"}, "One of kPa, bar, psi"),
        ({"quantity": "", "correction": "sea level"}, "Only a vacuum is corrected to sea level"),
        ({"low": "22"}, "Must be 22 or more, the lowest"),
    ],
)
def test_a_measure_that_makes_no_sense_is_refused_beside_its_box(owner, browser_of, draft, wrong, why):
    answer = browser_of(owner).post(reverse("checklists:new-item", args=[draft.pk]), typed_item(**wrong))
    assert answer.status_code == 422
    assert why in answer.text


def test_a_draft_keeps_what_its_items_measure(draft):
    copy = draft.items.get()
    assert (copy.quantity, copy.correction, copy.low) == ("vacuum", "sea level", 50)
