"""Taking one reading as it was typed, on the page or on a tablet: saved, or asked about first."""

from datetime import datetime

from garage.record.actor import Actor
from jobs.strobe import actions
from jobs.strobe.doubt import Doubt, doubt_about, settled_by
from jobs.strobe.forms import ReadingForm
from jobs.strobe.models import StrobeSession
from timing.errors import TimingError


def take_reading(
    *, session: StrobeSession, form: ReadingForm, actor: Actor, made_at: datetime | None = None
) -> Doubt | None:
    """Save what was typed and give back nothing; or the doubt about it that is to be settled first.

    Whatever is wrong with it stands in the errors of `form` afterwards.
    """
    if not form.is_valid():
        return None
    typed, id = form.values(), form.cleaned_data["id"]
    keep, correct = form.data.get("keep", ""), form.data.get("correct", "")
    try:
        doubt = doubt_about(
            session, id=id, rpm=typed["rpm"], measured_deg=typed["measured_deg"], vacuum_kpa=typed.get("vacuum_kpa")
        )
        settled = settled_by(doubt, keep=keep, correct=correct) if doubt else None
        if doubt is not None and settled is None:
            return doubt
        if correct and settled is None:
            # The button promised another figure than the one that is in the box now.
            form.add_error("measured_deg", "Changed since it was asked about. Check it and save.")
            return None
        if settled is not None:
            typed["measured_deg"] = settled.measured_deg
        actions.record_reading(session=session, id=id, settled=settled, actor=actor, made_at=made_at, **typed)
    except TimingError as refusal:
        form.add_error(None, str(refusal))
    return None
