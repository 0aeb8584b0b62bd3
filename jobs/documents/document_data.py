"""All that the documents of a job say, gathered from the rooms as plain data: what made a document is kept with it."""

from datetime import datetime

from django.utils import timezone

from garage.people.queries import get_workshop
from garage.record.plain import Plain, as_plain
from jobs.booking.queries import photographs_at_booking
from jobs.checklists import queries as checklists
from jobs.checklists.get_home import GET_HOME_DECLINED, GET_HOME_KIT
from jobs.checklists.models import SheetKind
from jobs.documents.coming_back import distance, months_later
from jobs.documents.pictures import photographs_taken
from jobs.inspection import queries as inspection
from jobs.job.cautions import EXHAUST, HIGH_VOLTAGE, HOT_PARTS, LAW_FOR_THE_CUSTOMER, STROBE_LIGHT
from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.roadtest import queries as roadtest
from jobs.strobe import queries as strobe


def document_data(job: Job, sign_off: Plain | None, at: datetime) -> Plain:
    """The whole of the job as JSON values, as it is at `at`; `sign_off` is {"by", "at", "remarks"}."""
    workshop = get_workshop()
    vehicle = job.vehicle
    day = timezone.localtime(at).date()
    facts = {
        "made_at": at,
        "workshop": {
            "name": workshop.name,
            "address": workshop.address,
            "phone": workshop.phone,
            "email": workshop.email,
        },
        "job": {
            "code": job.code,
            "wanted": job.wanted,
            "complaint": job.complaint,
            "odometer": job.odometer,
            "odometer_unit": job.odometer_unit,
            "booked_for": job.booked_for,
            "photographs": len(photographs_at_booking(job)),
        },
        "car": {
            "registration": vehicle.registration,
            "maker": vehicle.maker,
            "model": vehicle.model,
            "year": vehicle.year,
            "chassis_number": vehicle.chassis_number,
            "customer": vehicle.customer.name,
            "earth": vehicle.get_earth_polarity_display(),
            "volts": vehicle.system_volts,
            "tachometer": vehicle.get_tachometer_display(),
            "idle_rpm": vehicle.engine.idle_rpm,
            "red_line_rpm": vehicle.engine.red_line_rpm,
            "fuel_ron": vehicle.engine.fuel_ron,
            "firing_order": vehicle.engine.firing_order,
        },
        "inspection": inspection.facts_for_sheet(job),
        "sheets": checklists.bench_record_rows(job),
        "photographs": photographs_taken(job),
        "get_home": _get_home(job),
        "strobe": strobe.facts_for_sheet(job),
        "map": maps.facts_for_sheet(job),
        "road": roadtest.facts_for_sheet(job),
        "let_through": [
            {
                "left": crossing.get_left_display(),
                "missing": crossing.missing,
                "reason": crossing.reason,
                "by": str(crossing.by),
                "at": crossing.at,
            }
            for crossing in job.crossings.select_related("by")
            if crossing.missing
        ],
        "sign_off": sign_off,
        "cautions": [
            {"title": caution.title, "text": caution.text}
            for caution in (HIGH_VOLTAGE, STROBE_LIGHT, EXHAUST, HOT_PARTS, LAW_FOR_THE_CUSTOMER)
        ],
        "come_back": {
            "first": distance(workshop.recheck_km, job.odometer_unit),
            "months": workshop.recheck_months,
            "by": months_later(day, workshop.recheck_months),
        },
    }
    return as_plain(facts)


def _get_home(job: Job) -> Plain | None:
    """Where the parts are that bring the car home on its old ignition, and what was noted; None if nowhere."""
    found = checklists.answered(job, SheetKind.FITTING, [GET_HOME_KIT]).get(GET_HOME_KIT)
    if found is None or found.value == GET_HOME_DECLINED:
        return None
    return {"where": found.value, "note": found.note, "by": found.by, "at": found.made_at}
