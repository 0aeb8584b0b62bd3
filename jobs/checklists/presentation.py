"""A sheet as the page and the tablet show it: one plain row for each line, the same for both."""

import hashlib
import json
from dataclasses import asdict, astuple
from datetime import datetime
from uuid import uuid4

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from garage.people.models import Staff
from garage.people.queries import colleagues, get_workshop
from garage.record.plain import Plain
from garage.site.uploads import LARGEST_UPLOAD
from jobs.checklists import queries
from jobs.checklists.applies import facts_of
from jobs.checklists.car_facts import CAR_FACTS
from jobs.checklists.drawings import picture_of
from jobs.checklists.first_pin import first_pin_url
from jobs.checklists.measuring import (
    CORRECTED_TO,
    beside_of,
    decimals_in,
    detail_text,
    figure_of,
    per_degree_of,
    quantity_of,
    raised_by,
    unit_for,
    unit_text,
    units_of,
    value_text,
)
from jobs.checklists.models import ChecklistItem, Confirmation, Correction, Entry, JobSheet, Outcome, Photograph
from jobs.checklists.onward import onward_of
from jobs.checklists.readers import Found
from jobs.checklists.scripts import modules_of
from jobs.checklists.second_look import second_look_in_words
from jobs.checklists.sheet import Line, Section, Sheet
from jobs.checklists.together import plain_look, together_in_words
from jobs.checklists.usual import usual_answers
from jobs.checklists.verdict import in_tolerance, judge, limits_in_words, limits_of
from jobs.job.models import Job
from timing.units import PASCALS

SECOND_CHECK_NEEDED = "second check needed"


def sheet_context(request: HttpRequest, job: Job, kind: str) -> Plain:
    """What `jobs/checklists/_sheet.html` needs to show the job's sheet of `kind`, or the lists it may begin with."""
    sheet = queries.sheet(job, kind)
    person = request.user
    assert isinstance(person, Staff)  # noqa: S101 - the middleware has seen to it
    may_record = person.has_perm("garage.record_readings")
    altitude_m = get_workshop().altitude_m
    context: Plain = {
        "job": job,
        "sheet": sheet,
        "sheet_kind": kind,
        "sheet_name": queries.NAME_OF[queries.SheetKind(kind)],
        "may_record": may_record,
    }
    if sheet is None:
        return context | {"suitable_revisions": queries.suitable_revisions(job, kind)}
    state, following, hold = state_of(sheet), sheet.next_open, sheet.unmet_hold
    sections = []
    for section in sheet.sections:
        is_open = following in section.lines
        rows = [_shown(line, state["rows"], job, kind, person, altitude_m, whole=is_open) for line in section.lines]
        sections.append({"section": section, "rows": rows, "is_open": is_open, "count": count_in_words(section)})
    return context | {
        "sheet_sections": sections,
        "in_hand": {"line": following, "url": item_url(job, kind, following.item.key)}
        if following and may_record
        else None,
        "hold_url": item_url(job, kind, hold.item.key) if hold else "",
        "sheet_modules": modules_of("fitting/sheet.js"),
        "newer_revision": queries.newer_revision(sheet.record),
        "other_lists": queries.other_lists(sheet.record),
        "sheet_data": _page_data(sheet, job, kind, person, may_record, altitude_m) | {"state": state},
    }


def _shown(line: Line, rows: Plain, job: Job, kind: str, person: Staff, altitude_m: float, *, whole: bool) -> Plain:
    """A line of the page; what only a line of the open section shows is worked out where it is `whole`."""
    shown: Plain = {"line": line, "row": rows[line.item.key], "url": item_url(job, kind, line.item.key)}
    if whole:
        shown |= {"hints": _hints(line), "limits": limits_here(line, person, altitude_m)}
    return shown


def count_in_words(section: Section) -> str:
    """How far a section is, as it stands beside its title; static/js/fitting/sections.js says the same."""
    fails = f", {section.out_of_tolerance} fail" if section.out_of_tolerance else ""
    if section.done == section.total:
        return f"{section.done} done{fails}"
    return f"{section.done} of {section.total}{fails}" if section.done else f"{section.total} to do{fails}"


def _hints(line: Line) -> list[str]:
    """What is said under the text of an item."""
    hints = {
        "optional": not line.item.required,
        SECOND_CHECK_NEEDED: line.item.second_person,
        line.applies.because: bool(line.applies.because),
        "Does not apply to this car.": not line.applies.holds,
    }
    return [hint for hint, is_so in hints.items() if is_so]


def item_url(job: Job, kind: str, key: str) -> str:
    return reverse("checklists:item", args=[job.code, kind, key])


def limits_here(line: Line, person: Staff, altitude_m: float) -> str:
    """The limits in the unit of what was entered, at the height of that day; else in the person's own unit, here."""
    if line.current is not None and line.current.measure is not None:
        return limits_of(line.item, line.current)
    return limits_in_words(line.item, unit_for(line.item, person), altitude_m)


def _page_data(sheet: Sheet, job: Job, kind: str, person: Staff, may_record: bool, altitude_m: float) -> Plain:
    """What the script of the tablet needs besides the page itself."""
    usual = usual_answers([line.item for line in sheet.lines], job)
    return {
        "job": job.code,
        "kind": kind,
        "person": {"id": person.pk, "name": str(person)},
        "mayRecord": may_record,
        "mayLetPass": person.has_perm("garage.pass_gates"),
        "largestPhotograph": LARGEST_UPLOAD,
        "colleagues": [
            {"id": colleague.pk, "name": str(colleague)} for colleague in colleagues(person, "record_readings")
        ],
        "urls": {
            # The script puts the key of the item in hand in place of the last word.
            "confirm": reverse("checklists:confirm", args=[job.code, kind, "ITEM"]),
            "again": reverse("checklists:again", args=[job.code, kind, "ITEM"]),
            "firstPin": first_pin_url(job, kind, person),
            "send": reverse("checklists:send", args=[job.code, kind]),
            "state": reverse("checklists:state", args=[job.code, kind]),
            "page": queries.sheet_page(job, kind),
            "serviceWorker": reverse("checklists:service-worker"),
            "signIn": reverse("people:sign-in"),
        },
        "items": [
            item_data(line.item, person, altitude_m)
            | {
                "hints": _hints(line),
                "usual": usual.get(line.item.key, []),
                "fact": line.item.car_fact,
                "unknown": line.applies.undecided,
            }
            for line in sheet.lines
        ],
    }


def item_data(item: ChecklistItem, person: Staff, altitude_m: float) -> Plain:
    """An item for the script of the tablet; of a measure all that its rule needs (static/js/fitting/measure.js)."""
    picture = picture_of(item)
    return {
        "key": item.key,
        "number": item.position,
        "kind": item.kind,
        "section": item.section,
        "text": item.text,
        "help": item.help,
        "caution": item.caution,
        "unit": unit_for(item, person),
        "units": [_unit_data(item, unit, altitude_m) for unit in units_of(item)] if item.unit else [],
        "low": item.low,
        "high": item.high,
        "limits": limits_in_words(item, unit_for(item, person), altitude_m),
        **_correction_data(item, altitude_m),
        "inTolerance": in_tolerance(item),
        "noteAbove": item.note_above,
        "noteText": item.note_text,
        "choices": item.choices,
        "goodChoices": item.good_choices,
        "required": item.required,
        "secondPerson": item.second_person,
        "holdPoint": item.hold_point,
        "look": plain_look(item),
        "picture": {"url": picture.url, "words": picture.words} if picture else None,
    }


def _unit_data(item: ChecklistItem, unit: str, altitude_m: float) -> Plain:
    """A figure times `times` over `over` is the canonical one: two factors, so that it is so to the last digit."""
    canonical = quantity_of(item).canonical
    converts = unit != canonical
    return {
        "unit": unit,
        "times": PASCALS[unit] if converts else 1,
        "over": PASCALS[canonical] if converts else 1,
        "decimals": decimals_in(item, unit),
        "limits": limits_in_words(item, unit, altitude_m),
    }


def _correction_data(item: ChecklistItem, altitude_m: float) -> Plain:
    beside = beside_of(item)
    return {
        "raised": raised_by(item, altitude_m),
        "perDegree": per_degree_of(item),
        "perLength": item.correction == Correction.PER_METRE,
        "fromIdle": item.correction == Correction.FROM_IDLE,
        "correctedTo": CORRECTED_TO.get(Correction(item.correction), ""),
        "beside": asdict(beside) if beside else None,
    }


def state_of(sheet: Sheet) -> Plain:
    """What was entered so far, for the page to begin with and for the tablets that ask every few seconds."""
    return {
        "version": version_of(sheet.record),
        "facts": queries.counts_of(sheet.record).total,  # of two states the one with more is the later
        "layout": layout_of(sheet),
        "rows": {line.item.key: row_of(line) for line in sheet.lines},
        "onward": onward_of(sheet),
    }


def version_of(record: JobSheet) -> str:
    """Changes whenever anything of the sheet does. Facts are only ever appended, so their counts say it all."""
    facts = json.dumps([record.job.vehicle.row_version, *(str(value) for value in facts_of(record.job).values())])
    car = hashlib.sha256(facts.encode()).hexdigest()[:12]
    return "-".join(map(str, (record.pk, record.revision_id, *astuple(queries.counts_of(record)), car)))


def layout_of(sheet: Sheet) -> str:
    """Changes when other lines stand on the sheet than before, which a page cannot show without being loaded again."""
    keys = [line.item.pk for line in sheet.lines]
    return hashlib.sha256(json.dumps(keys).encode()).hexdigest()[:16]


def row_of(line: Line) -> Plain:
    entry = line.current
    return {
        "key": line.item.key,
        "mark": "caution" if line.waits_for_second and line.verdict.mark == "good" else line.verdict.mark,
        "words": line.verdict.words,
        "found": _found(line.found),
        "record": _record(line),
        "inspected": _inspected(line),
        "value": value_text(line.item, entry) if entry else "",
        "unit": unit_text(line.item, entry),
        "detail": detail_text(line.item, entry) if entry else "",
        "limits": limits_of(line.item, entry) if entry and entry.measure is not None else "",
        "who": _who_of_line(line),
        "note": entry.note if entry else "",
        "open": line.is_open,
        "later": line.comes_later,
        "done": line.is_done,
        "holds": line.holds,
        "conflict": line.is_conflict,
        "standing": [_standing(line, standing) for standing in line.standing],
        "keep": _ways_to_keep_one(line) if line.is_conflict else [],
        "heads": [str(head.pk) for head in line.heads],
        "waitsForSecond": line.waits_for_second,
        "second": _second_in_words(line.second),
        "photographs": [_photograph(line, photograph) for photograph in line.photographs],
        "history": [_past(line, past) for past in line.history],
    }


def _found(found: Found | None) -> Plain | None:
    """What an item reads; None where it is entered by hand."""
    if found is None:
        return None
    return {"done": found.is_done, "text": found.text, "url": found.url, "link": found.link}


def _record(line: Line) -> Plain | None:
    """What the car's record says of an item that is held against it, with all the tablet's rule needs of it."""
    fact = CAR_FACTS.get(line.item.car_fact)
    if fact is None or line.job is None:
        return None
    recorded = fact.recorded(line.job.vehicle)
    return {
        "label": fact.label,
        "how": fact.how,
        "values": dict(fact.values),
        "recorded": recorded,
        "text": fact.text(recorded),
        "measured": line.comparison.measured_text if line.comparison else "",
        "within": fact.within,
        "margin": fact.margin,
        "differs": line.is_unsettled,
        "settled": "",
    }


def _inspected(line: Line) -> Plain | None:
    """What the inspection answered to the same question, ready to be confirmed; None where there is nothing."""
    before = line.inspected
    if before is None:
        return None
    unit = unit_text(before.item, before) if before.measure is not None else ""
    value, detail = f"{value_text(before.item, before)} {unit}".strip(), detail_text(before.item, before)
    return {
        "id": str(before.pk),
        "measure": figure_of(before.item, before),
        "unit": unit,
        "beside": before.beside,
        "choice": before.choice,
        "text": before.text,
        "said": f"{value} ({detail})" if detail else value,
        "who": _who(before),
    }


def _who_of_line(line: Line) -> str:
    together = together_in_words(line.current) if line.current and not line.is_read else ""
    return f"{line.by}, {moment(line.at)}{together}" if line.at else ""


def _standing(line: Line, entry: Entry) -> Plain:
    return {
        "id": str(entry.pk),
        "byId": entry.by_id,
        "outcome": entry.outcome,
        "measure": figure_of(line.item, entry),
        "unit": unit_text(line.item, entry),
        "beside": entry.beside,
        "choice": entry.choice,
        "text": entry.text,
        "note": entry.note,
        "value": value_text(line.item, entry),
        "detail": detail_text(line.item, entry),
        "raised": raised_by(line.item, entry.altitude_m),
        "words": judge(line.item, entry).words,
        "mark": judge(line.item, entry).mark,
        "who": f"{_who(entry)}{together_in_words(entry)}",
        "confirms": str(entry.confirms_id or ""),
    }


def _ways_to_keep_one(line: Line) -> list[Plain]:
    """For a page without script: each entry with the others, which are taken back if this one is kept."""
    return [
        _standing(line, kept)
        | {
            "idempotency_key": str(uuid4()),
            "others": ",".join(str(other.pk) for other in line.standing if other.pk != kept.pk),
        }
        for kept in line.standing
    ]


def _past(line: Line, entry: Entry) -> Plain:
    verdict = judge(line.item, entry)
    seconded = getattr(entry, "confirmation", None)
    return {
        "id": str(entry.pk),
        "mark": verdict.mark,
        "words": verdict.words,
        "value": value_text(line.item, entry),
        "unit": unit_text(line.item, entry) if entry.measure is not None else "",
        "detail": detail_text(line.item, entry),
        "by": str(entry.by),
        "device": str(entry.device or ""),
        "made": f"{moment(entry.made_at)}{together_in_words(entry)}",
        "received": moment(entry.received_at),
        "note": entry.note,
        "second": _second_in_words(seconded),
        "stands": entry in line.standing,
        "takenBack": entry.outcome == Outcome.WITHDRAWN,
    }


def _photograph(line: Line, photograph: Photograph) -> Plain:
    return {
        "id": str(photograph.pk),
        "url": reverse("checklists:photograph", args=[photograph.pk]),
        "small": reverse("checklists:photograph-small", args=[photograph.pk]),
        "words": f"Photograph, {line.item.text}, {moment(photograph.made_at)}",
    }


def _second_in_words(seconded: Confirmation | None) -> str:
    """'second check: Ines Marlow, 3 Nov, 10:05 (same person, 3 h later: 2.4 mm)'; nothing where there is none."""
    if seconded is None:
        return ""
    return f"second check: {_who(seconded)}{second_look_in_words(seconded)}"


def _who(fact: Entry | Confirmation) -> str:
    return f"{fact.by}, {moment(fact.made_at)}"


def moment(at: datetime) -> str:
    return date_format(timezone.localtime(at), "j M, H:i")
