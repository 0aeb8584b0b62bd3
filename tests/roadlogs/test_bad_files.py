"""What loggers and people get wrong: each is a sentence that names the row or the column, and nothing half stays."""

import gzip
import io
import zipfile
from pathlib import Path

import pytest
from django.core.files.storage import default_storage

from garage.files.kept import kept_files
from jobs.models import RoadLog
from jobs.roadlogs import importing, raw, shape
from jobs.roadlogs.actions import remove_log, try_again
from jobs.roadlogs.importing import read_in
from jobs.roadlogs.refusals import LogRefusedError
from tests.roadlogs.conftest import confirmed, read, uploaded

pytestmark = pytest.mark.django_db

HEADER = "time (s),rpm,MAP (kPa)\n"


def rows(count=50, *, begin=0.0, kpa=60.0):
    return "".join(f"{begin + t / 10:.1f},{2000 + t},{kpa}\n" for t in range(count))


def workbook():
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr("sheet.xml", "<sheet/>")
    return content.getvalue()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (workbook(), "a workbook, not CSV"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"x" * 600, "a workbook, not CSV"),
        (b"%PDF-1.7 something", "not a CSV file"),
        (b"rpm\n1000\n1010\n1020\n", "only one column"),
    ],
)
def test_a_file_that_is_no_log_is_not_taken_in(run, actor, content, sentence):
    with pytest.raises(LogRefusedError, match=sentence):
        uploaded(run, actor, content)
    assert not RoadLog.objects.exists()
    assert list(kept_files(default_storage)) == []


SLOW = "t,rpm,map\n" + "".join(f"{t},0,50\n" for t in range(50))
STOPPED = "t,rpm,map\n" + "3,1000,50\n" * 50
NEGATIVE = "t,rpm,map\n" + "".join(f"{t},-5,50\n" for t in range(50))
NO_CLOCK = "Time,rpm,MAP (kPa)\n" + "9:61,1,2\n" * 30


@pytest.mark.parametrize(
    ("content", "units", "sentence"),
    [
        (HEADER + rows() + "5.0,20\x0000,60\n" + rows(), {}, "Row 52: a NUL character"),
        (HEADER + rows() + rows(begin=-20), {}, "Row 52: the time runs backwards in column ‘time’, from 4.9 s to -20"),
        (HEADER + rows(kpa=610.0), {}, r"column ‘MAP’ most rows show 610 kPa.*Is it in mbar"),
        (HEADER + rows(kpa=12.0), {}, r"column ‘MAP’ most rows show 12 kPa.*inHg or psi"),
        (HEADER + rows(kpa=380.0), {"manifold": "vacuum kPa"}, "380 kPa of vacuum, more than the barometer.*mmHg"),
        (SLOW, {}, "never meets the map: column ‘rpm’ stays below"),
        (STOPPED, {}, "time never moves on in column ‘t’"),
        (NEGATIVE, {}, "50 of 50 rows cannot be right. Row 2, column ‘rpm’"),
        (NO_CLOCK, {"time": "clock"}, "No row could be read. Row 2, column ‘Time’: ‘9:61’"),
    ],
    ids=["NUL", "backwards", "mbar", "inHg", "mmHg", "slow", "stopped", "negative", "no-clock"],
)
def test_a_log_that_cannot_be_read_says_why_and_is_kept_for_another_try(run, actor, content, units, sentence):
    log = read(run, actor, content.encode(), **units)
    assert log.state == "refused"
    with pytest.raises(LogRefusedError, match=sentence):
        raise LogRefusedError(log.problem)
    assert [file.name for file in kept_files(default_storage)] == [log.file.name]
    assert gzip.decompress(Path(default_storage.path(log.file.name)).read_bytes()) == content.encode()
    try_again(log=log, actor=actor)


def test_bad_rows_are_counted_and_named_and_the_others_kept(run, actor):
    content = HEADER + rows(300) + "30.0,fast,60\n30.1,2000\n\n30.2,2000,\n" + rows(300, begin=31) + "61.5,20"
    log = read(run, actor, content.encode())
    assert (log.rows_read, log.rows_bad) == (600, 4)
    assert log.bad_rows == [
        [302, "column ‘rpm’: ‘fast’ is no figure"],
        [303, "ends before column ‘MAP’"],
        [305, "column ‘MAP’: nothing"],
        [606, "the file ends in the middle of this row"],
    ]
    assert "cut off in the middle of its last row" in log.remarks[0]


def test_a_single_figure_beyond_the_barometer_is_a_bad_row(run, actor):
    log = read(run, actor, (HEADER + rows(200) + "20.0,2000,-4\n" + rows(200, begin=21)).encode())
    assert log.bad_rows == [[202, "column ‘MAP’: vacuum of 104.6 kPa, beyond the barometer at 100.6 kPa"]]


def test_of_many_bad_rows_the_first_are_shown_and_all_are_counted(run, actor):
    content = HEADER + "".join(f"{t},2000,60\n{t}.5,none,60\n" for t in range(250))
    log = read(run, actor, content.encode())
    assert (log.rows_bad, len(log.bad_rows), log.bad_rows[-1][0]) == (250, 200, 401)


def test_seconds_written_twice_gaps_and_a_jump_are_said_and_kept(run, actor):
    whole = HEADER + "".join(f"{t // 4},2000,60\n" for t in range(80)) + "5000,2000,60\n5001,2000,60\n"
    log = read(run, actor, whole.encode())
    assert log.rows_read == 82
    said = " ".join(log.remarks)
    assert "Row 3: the same time as the row before. 60 such rows were spread evenly." in said
    assert "Row 81: the clock then jumps ahead by" in said
    assert "Row 81: a gap follows. 1 gap" in said


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_any_usual_encoding_and_line_end_is_read(run, actor, encoding):
    content = "Zeit (s);Drehzahl;Ansaugdruck MAP (mbar);Kühlwasser (°C)\r\n"
    content += "".join(f"{t},5;2000,5;605,5;81,5\r\n" for t in range(60))
    log = read(run, actor, content.encode(encoding))
    assert (log.state, log.rows_read, log.rows_bad) == ("ready", 60, 0)
    assert log.names[3] in ("Kühlwasser", "Kühlwasser")
    assert log.shown["span"]["vacuum"][0] == pytest.approx(100.6 - 60.55, abs=0.01)


def test_the_same_file_twice_is_refused_with_the_date_of_the_first(run, actor):
    first = uploaded(run, actor, (HEADER + rows()).encode())
    with pytest.raises(LogRefusedError, match=rf"uploaded before: .* job {run.job.code}, hill.csv"):
        uploaded(run, actor, (HEADER + rows()).encode(), name="again.csv")
    remove_log(log=first, actor=actor)
    uploaded(run, actor, (HEADER + rows()).encode())


def test_the_row_after_the_last_that_is_allowed_is_refused(run, actor, monkeypatch):
    monkeypatch.setattr("jobs.roadlogs.reading.MOST_ROWS", 99)
    log = read(run, actor, (HEADER + rows(100)).encode())
    assert (log.state, log.problem) == ("refused", raw.TOO_MANY_ROWS)


def test_a_file_larger_than_is_allowed_is_refused_on_its_way(run, actor, monkeypatch):
    monkeypatch.setattr(raw, "LARGEST_LOG", 1000)
    with pytest.raises(LogRefusedError, match="More than 200 MB"):
        uploaded(run, actor, (HEADER + rows(500)).encode())


def test_a_reader_killed_in_the_middle_leaves_nothing_half_and_is_taken_again(run, actor, monkeypatch):
    log = confirmed(uploaded(run, actor, (HEADER + rows()).encode()), actor)

    def killed(*args, **kwargs):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(importing, "keep_time_line", killed)
        with pytest.raises(KeyboardInterrupt):
            read_in(log_id=log.pk, tries=log.tries)
    log.refresh_from_db()
    assert (log.state, log.figures.name, log.shown) == ("reading", "", {})
    assert [file.name for file in kept_files(default_storage)] == [log.file.name]
    read_in(log_id=log.pk, tries=log.tries)
    log.refresh_from_db()
    assert log.is_ready


def test_a_damaged_file_is_not_read_as_if_it_were_whole(run, actor):
    log = confirmed(uploaded(run, actor, (HEADER + rows(5000)).encode()), actor)
    kept = default_storage.path(log.file.name)
    with open(kept, "r+b") as opened:
        opened.truncate(2000)
    read_in(log_id=log.pk, tries=log.tries)
    log.refresh_from_db()
    assert (log.state, log.problem) == ("refused", raw.DAMAGED)


def test_a_beginning_that_ends_within_a_row_is_guessed_all_the_same():
    content = (HEADER + rows(9000)).encode()[: shape.HEAD_BYTES]
    assert shape.guessed(content).header_rows == 1
