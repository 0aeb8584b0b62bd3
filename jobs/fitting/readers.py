"""What the check-lists read of the fitting: how near the rotor comes to the next terminal, by the rotor page."""

from django.urls import reverse

from garage.quantities.words import plain
from jobs.checklists.readers import Found, Reader
from jobs.fitting.rotor import rotor_page
from jobs.job.models import Job


def rotor_neighbour(job: Job) -> Found:
    """Gap to the nearer neighbour's terminal over the gap to its own, at the worse end of the advance."""
    page = rotor_page(job)
    url, link = reverse("fitting:rotor", args=[job.code]), "Open the rotor page"
    if page.phasing is None or page.advice is None:
        lacking = page.missing[0] if page.missing else "figures that can be right"
        return Found(is_done=False, text=f"Still needed: {lacking}.", url=url, link=link)
    worst, least = min(end.ratio for end in page.phasing.ends), page.phasing.least_ratio
    text = f"{plain(worst, 1)} times the gap to its own (limit {plain(least)})"
    measured = page.values.tip_arc or page.values.in_line_at
    return Found(
        is_done=True,
        text=text,
        url=url,
        link=link,
        passes=worst >= least,
        by=measured.by if measured else "",
        at=measured.made_at if measured else None,
    )


READERS = (Reader("rotor-neighbour", "rotor's gap to the next cap terminal", rotor_neighbour),)
