"""The loop of a job's map as one picture: where each version stands, and what comes next."""

import uuid

import pytest
from django.urls import reverse

from jobs.job.models import Job
from jobs.proposals.actions import Choice, decide
from jobs.proposals.loop import loop_of
from jobs.proposals.models import Decision
from jobs.proposals.queries import open_proposal
from tests.pages import text_of
from timing.charts import ChartError, Station, loop_chart

PINKED = ("pinking", 2, 2500, 1)


def rounds(job):
    return [
        [(station.name, station.detail, station.state) for station in one.stations]
        for one in loop_of(Job.objects.get(pk=job.pk)).rounds
    ]


def test_a_job_without_a_released_version_has_no_loop_yet(job):
    assert loop_of(job) is None


def test_a_version_in_the_car_waits_for_its_drive(job, in_car):
    (only,) = rounds(job)
    assert [state for _, _, state in only] == ["done", "done", "now", "ahead", "ahead"]
    assert only[2:4] == [("driven", "not yet", "now"), ("noted", "not yet", "ahead")]


def test_pinking_leads_to_a_proposal_and_that_to_the_next_version(job, in_car, on_the_road, actor):
    on_the_road.drive(in_car, PINKED)
    assert rounds(job)[0][3:] == [("noted", "1 pinking", "done"), ("proposal", "waiting", "now")]
    seen = open_proposal(Job.objects.get(pk=job.pk))
    choices = [Choice(point.place, Decision.ACCEPT) for point in seen.points]
    decide(job=job, id=uuid.uuid4(), basis=seen.basis, choices=choices, actor=actor)
    first, second = rounds(job)
    assert first[4] == ("proposal", "version 2", "done")
    assert second[:2] == [("version 2", "draft", "now"), ("read back", "not yet", "ahead")]


def test_the_job_card_shows_it_as_a_picture_and_as_a_list(browser_of, mechanic, job, in_car, on_the_road):
    on_the_road.drive(in_car, PINKED)
    answer = browser_of(mechanic).get(reverse("board:job", args=[job.code]))
    assert "noted: 1 pinking, proposal: waiting (now)." in answer.content.decode()  # what a screen reader says
    assert "driven: once noted: 1 pinking proposal: waiting" in text_of(answer)


@pytest.mark.parametrize("width", [720, 360])
def test_every_station_stands_on_the_drawing(width):
    stations = [Station("version 1", "5 Nov", "done"), Station("read back", "not yet", "now")]
    chart = loop_chart([stations, stations], width=width)
    assert all(0 < text.x < width and 0 < text.y < chart.height for text in chart.texts)
    assert len([layer for layer in chart.layers if layer.name == "station"]) == 4


def test_a_round_without_a_station_is_none():
    with pytest.raises(ChartError):
        loop_chart([[]])
