"""Cars whose rotor is looked at, what was measured on them, and the page as a person reads it."""

import re

from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory

FOUR = {"rotor_tip_radius_mm": 20.0, "rotor_tip_width_mm": 7.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7}
CONTACTS = {"trigger": "contact breaker", "rotation": "clockwise", "plate_moves": True, "rim_diameter_mm": 64.0}
CRANK = {"trigger": "inductive", "trigger_place": "crank or camshaft", "rotation": "clockwise", "rim_diameter_mm": 64.0}
ITEMS = [
    {"key": "edge-told", "kind": "choice", "choices": ["edge is base timing", "edge entered apart"]},
    {"key": "trigger-edge", "kind": "measure", "unit": "° BTDC"},
    {"key": "tip-at-edge", "kind": "measure", "unit": "mm"},
    {"key": "rotor-in-line-at", "kind": "measure", "unit": "° BTDC"},
    {"key": "rotor-of-a-twin", "kind": "choice", "choices": ["1 mm or more", "less than 1 mm", "no rotor"]},
]


def job_with(cylinders=4, engine=None, **distributor):
    """A job whose car is known as far as told."""
    job = JobFactory(stage="fitting")
    described(job.vehicle.engine, cylinders=cylinders, **(engine or {}))
    described(job.vehicle.distributor, **distributor)
    return job


def described(part, **figures):
    for name, figure in figures.items():
        setattr(part, name, figure)
    part.save()


def mapped(job, lowest, highest, **version):
    """A draft whose total goes from one figure to the other."""
    curve = [[800, 0], [5000, highest - lowest]]
    return MapVersionFactory(job=job, base_deg=lowest, curve=curve, **version)


def measured(job, person, **figures):
    """The job's fitting sheet with these figures on it."""
    sheet = sheet_with(ITEMS, person=person, job=job)
    for name, value in figures.items():
        one = {"choice": value} if isinstance(value, str) else {"measure": value}
        enter(sheet, name.replace("_", "-"), person, **one)
    return sheet


def page(client, job):
    answer = client.get(f"/jobs/{job.code}/fitting/rotor/")
    assert answer.status_code == 200
    return answer.text


def words_of(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def cells(html):
    """The table of both ends: the name of each row, then the figure of either end."""
    found = {}
    for name, row in re.findall(r'<tr data-figure="(\w+)">(.*?)</tr>', html, re.DOTALL):
        found[name] = [cell.strip() for cell in re.findall(r"<td>(.*?)</td>", row, re.DOTALL)]
    return found
