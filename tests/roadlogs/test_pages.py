"""A log on its pages: uploaded, its columns confirmed, tied to the run, looked at, and removed."""

import uuid
from datetime import timedelta

import numpy as np
import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from garage.background.worker import SpokenWorker
from jobs.models import ColumnSet, RoadLog
from jobs.privacy.actions import forget
from jobs.roadlogs import importing, raw
from jobs.roadlogs.actions import set_clock
from jobs.roadlogs.kept_figures import DRAWN, figures_kept
from jobs.roadlogs.queries import notes_on
from jobs.roadlogs.refusals import LogRefusedError
from tests.pages import text_of
from tests.roadlogs.conftest import confirmed, hear, read, uploaded

pytestmark = pytest.mark.django_db


def send(client, run, content, name="C:\\logs\\hill.csv"):
    page = reverse("roadlogs:upload", args=[run.job.code, run.pk])
    key = client.get(reverse("roadlogs:logs", args=[run.job.code, run.pk])).context["form"]["idempotency_key"].value()
    return client.post(page, {"file": SimpleUploadedFile(name, content), "idempotency_key": key})


def columns_of(client, log, **changed):
    """What the page of the columns would send as it is shown, with some of it changed."""
    asked = client.get(reverse("roadlogs:columns", args=[log.run.job.code, log.pk])).context["asked"]
    shown = {
        bound.name: bound.value()
        for form in (asked.shape_form, asked.columns_form)
        for bound in form
        if bound.value() not in (None, "")
    }
    return shown | changed


def shut(log, run):
    return reverse("roadlogs:log", args=[run.job.code, log.pk])


def test_from_the_file_to_the_surface(browser_of, mechanic, run, cycle_csv):
    client = browser_of(mechanic)
    answer = send(client, run, cycle_csv)
    log = RoadLog.objects.get()
    assert answer.url == reverse("roadlogs:columns", args=[run.job.code, log.pk])
    assert "Manifold pressure (kPa)" in text_of(client.get(answer.url))

    answer = client.post(answer.url, columns_of(client, log, kept_as="Yard logger", barometer_kpa="100.6"))
    assert answer.url == shut(log, run)
    assert "0% read" in text_of(client.get(answer.url))
    log.refresh_from_db()
    assert importing.read_in(log_id=log.pk, tries=log.tries) == "hill.csv read."
    page = text_of(client.get(answer.url))
    assert "Seconds in each cell" in page
    assert "cells had less than 2 s. Nothing is known about them." in page
    assert ColumnSet.objects.get().name == "Yard logger"


def test_a_header_that_came_before_is_offered_its_columns(browser_of, mechanic, run, actor, cycle_csv):
    confirmed(uploaded(run, actor, cycle_csv), actor, kept_as="Yard logger", manifold="vacuum mbar")
    client = browser_of(mechanic)
    send(client, run, cycle_csv + b"780.1,850,36.0,2.0,80.0,15.0,0.0\n")
    log = RoadLog.objects.last()
    page = client.get(reverse("roadlogs:columns", args=[run.job.code, log.pk]))
    assert "Columns set as in ‘Yard logger’." in text_of(page)
    assert page.context["asked"].columns_form["manifold_unit"].value() == "vacuum mbar"


def test_another_layout_is_shown_before_anything_is_read(browser_of, mechanic, run, actor):
    client = browser_of(mechanic)
    log = uploaded(run, actor, b"t,rpm,map\n" + b"".join(b"%d,1000,50\n" % t for t in range(40)))
    page = reverse("roadlogs:columns", args=[run.job.code, log.pk])
    answer = client.post(page, columns_of(client, log, show="yes", header_rows="2"))
    assert answer.context["asked"].preview.rows[0] == ["1", "1000", "50"]
    answer = client.post(page, columns_of(client, log, show="yes", delimiter="semicolon"))
    assert "only one column" in text_of(answer)
    log.refresh_from_db()
    assert log.state == "uploaded"


def test_one_column_is_not_two_things(browser_of, mechanic, run, actor, cycle_csv):
    client = browser_of(mechanic)
    log = uploaded(run, actor, cycle_csv)
    page = reverse("roadlogs:columns", args=[run.job.code, log.pk])
    answer = client.post(page, columns_of(client, log, rpm="0"))
    assert answer.status_code == 422
    assert "This column is time already." in text_of(answer)


def test_a_worker_finds_the_log_that_was_confirmed(run, actor, cycle_csv):
    log = confirmed(uploaded(run, actor, cycle_csv), actor)
    row = DBTaskResult.objects.get()
    assert SpokenWorker(lambda said: None, until_empty=True).run_task(row) is None
    row.refresh_from_db()
    assert row.return_value == "hill.csv read."
    log.refresh_from_db()
    assert log.is_ready


def test_a_note_lies_where_the_log_was_before_it_and_moves_with_the_clock(run, actor, cycle_csv):
    hear(run, actor, 60)
    log = read(run, actor, cycle_csv)
    (note,) = notes_on(log)
    kept = figures_kept(log.figures, "rpm", "vacuum")
    before = (kept.t_s >= 58.0) & (kept.t_s < 59.5)
    assert note.rpm == pytest.approx(kept.columns["rpm"][before].mean(), abs=0.5)
    assert note.vacuum == pytest.approx(kept.columns["vacuum"][before].mean(), abs=0.05)

    set_clock(log=log, begins_at=log.begins_at - timedelta(seconds=20), actor=actor)
    log.refresh_from_db()
    assert notes_on(log)[0].at_s == pytest.approx(80.0)
    assert run.job.journal.filter(event="log-shifted").get().sentence == "Log clock shifted by −20.0 s: hill.csv"


def test_the_clock_is_set_by_hand_and_never_half_a_day_off(browser_of, mechanic, run, actor, cycle_csv):
    log, client = read(run, actor, cycle_csv), browser_of(mechanic)
    page = reverse("roadlogs:clock", args=[run.job.code, log.pk])
    assert client.post(page, {"begins_s": "-2,5"}).status_code == 302
    log.refresh_from_db()
    assert (log.begins_at - run.begun_at).total_seconds() == -2.5
    assert client.post(page, {"begins_s": "50000"}).status_code == 422


def test_a_logger_with_a_clock_of_its_own_ties_itself_to_the_run(run, actor):
    begins = run.begun_at + timedelta(minutes=4)
    rows = [f"{begins + timedelta(seconds=t):%Y-%m-%dT%H:%M:%S.%f},2000,60" for t in range(60)]
    log = read(run, actor, "\n".join(["Time,rpm,map", *rows]).encode())
    # the clock says nothing of a zone: it is read as the workshop's
    assert abs((log.begins_at - begins).total_seconds()) in (0.0, 3600.0)


@pytest.mark.parametrize(("from_s", "to_s", "most"), [(0, 780, 500), (100, 130, 3000)])
def test_a_window_of_the_time_line_holds_every_peak(browser_of, mechanic, run, actor, cycle_csv, from_s, to_s, most):
    log = read(run, actor, cycle_csv)
    page = reverse("roadlogs:window", args=[run.job.code, log.pk])
    answer = browser_of(mechanic).get(page, {"from": from_s, "to": to_s, "most": most})
    figures = np.frombuffer(answer.content, dtype="<f4")
    count = int(figures[0])
    low, high = figures[1 + count :].reshape(2, 3, count)
    kept = figures_kept(log.figures, *DRAWN)
    within = (kept.t_s >= from_s) & (kept.t_s <= to_s)
    assert 0 < count <= most + 2
    for place, name in enumerate(DRAWN):
        column = kept.columns[name][within]
        assert low[place].min() <= column.min()
        assert high[place].max() >= column.max()
    assert (low <= high).all()


def test_a_window_that_is_none_is_a_bad_request(browser_of, mechanic, run, actor, cycle_csv):
    log, client = read(run, actor, cycle_csv), browser_of(mechanic)
    page = reverse("roadlogs:window", args=[run.job.code, log.pk])
    for asked in (
        {},
        {"from": "x", "to": 1, "most": 1},
        {"from": 5, "to": 1, "most": 9},
        {"from": "nan", "to": 1, "most": 2},
    ):
        assert client.get(page, asked).status_code == 400  # fmt: skip


def test_two_logs_stand_side_by_side(browser_of, mechanic, run, actor, cycle_csv):
    first = read(run, actor, cycle_csv)
    second = read(run, actor, cycle_csv + b"780.1,850,36.0,2.0,80.0,15.0,0.0\n")
    asked = {"first": first.pk, "second": second.pk}
    page = browser_of(mechanic).get(reverse("roadlogs:compare", args=[run.job.code]), asked)
    pairs = [pair for row in page.context["rows"] for pair in row.pairs if pair.more is not None]
    assert pairs
    assert all(pair.more == 0 for pair in pairs)


def test_a_removed_log_is_gone_from_its_run_but_not_its_file(browser_of, mechanic, run, actor, cycle_csv):
    log, client = read(run, actor, cycle_csv), browser_of(mechanic)
    client.post(reverse("roadlogs:remove", args=[run.job.code, log.pk]))
    assert client.get(shut(log, run)).status_code == 404
    assert raw.head_of(log.file) == cycle_csv[: 64 * 1024]


def test_a_large_log_may_come_in_where_a_large_photograph_may_not(browser_of, mechanic, run):
    client = browser_of(mechanic)
    page = reverse("roadlogs:upload", args=[run.job.code, run.pk])
    large = "text/plain"
    for size, status in ((30, 422), (202, 413)):
        answer = client.generic("POST", page, b"", content_type=large, CONTENT_LENGTH=str(size * 1024 * 1024))
        assert answer.status_code == status
    assert "More than 200 MB" in text_of(answer)
    other = reverse("roadtest:begin", args=[run.job.code])
    assert client.generic("POST", other, b"", content_type=large, CONTENT_LENGTH=str(30 << 20)).status_code == 413


def test_a_logger_s_file_goes_with_its_customer_and_what_was_read_of_it_stays(
    browser_of, mechanic, run, actor, cycle_csv, django_capture_on_commit_callbacks
):
    log = read(run, actor, cycle_csv)
    kept = log.file.name
    with django_capture_on_commit_callbacks(execute=True):
        forget(
            customer=run.job.vehicle.customer, reason="asked", photographs=[], plates=False, words=[],
            idempotency_key=uuid.uuid4(), actor=actor,
        )  # fmt: skip
    log.refresh_from_db()
    assert not default_storage.exists(kept)
    page = browser_of(mechanic).get(shut(log, run))
    assert "Seconds in each cell" in text_of(page)
    with pytest.raises(LogRefusedError, match="erased with its customer"):
        raw.head_of(log.file)
