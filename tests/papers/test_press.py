"""The worker that sets papers: apart from whoever waits, whole or not at all, and never left behind."""

import os
import signal
import subprocess
import sys
import textwrap
import threading
import time
from datetime import UTC, datetime
from io import BytesIO

import psutil
import pypdf
import pytest

from garage.papers.press import STANDS_BACK_BY, Order, PaperNotSetError, Press
from timing.sheets.pdf import DocumentLibraryMissing

NOON = datetime(2026, 5, 14, 12, tzinfo=UTC)
PAGE = '<!DOCTYPE html><html lang="en"><head><title>Sheet</title></head><body>{}</body></html>'
SHORT = Order(PAGE.format("<p>Base timing 8 degrees.</p>"), "p { font-size: 12pt }", NOON)
# Sets for a minute and more: longer than any test here waits for it.
LONG = Order(PAGE.format("<table>" + "<tr><td>one<td>two<td>three</tr>" * 20_000 + "</table>"), "", NOON)


@pytest.fixture(scope="module")
def press():
    press = Press()
    yield press
    press.close()


def test_what_is_set_apart_is_the_same_to_the_byte(press):
    assert press.set(SHORT) == SHORT.set()


def test_the_worker_is_another_process_of_low_priority_and_serves_one_paper_after_the_other(press):
    press.set(SHORT)
    worker = psutil.Process(press.pid)
    assert worker.pid != os.getpid()
    assert worker.nice() == min(psutil.Process().nice() + STANDS_BACK_BY, 19)  # the lowest there is
    press.set(SHORT)
    assert press.pid == worker.pid


def test_a_sentence_of_the_library_arrives_as_it_was_said(press):
    without_a_letter = Order(PAGE.format(""), "", NOON)
    with pytest.raises(DocumentLibraryMissing, match="no font was found"):
        press.set(without_a_letter)


def test_whatever_breaks_is_a_sentence_and_the_next_paper_is_set(press):
    with pytest.raises(PaperNotSetError, match="The paper could not be set"):
        press.set(Order(None, "", NOON))
    assert press.set(SHORT).startswith(b"%PDF")


def test_a_paper_that_takes_too_long_is_given_up_and_the_next_is_set_by_another_worker():
    press = Press(longest=20)
    press.set(SHORT)
    first = press.pid
    press._longest = 0.3
    with pytest.raises(PaperNotSetError, match="took too long"):
        press.set(LONG)
    assert not psutil.pid_exists(first)
    press._longest = 60
    assert press.set(SHORT).startswith(b"%PDF")
    press.close()


def test_a_worker_that_is_killed_while_it_sets_is_said_at_once_and_replaced(press):
    press.set(SHORT)
    killed = press.pid
    threading.Timer(0.3, os.kill, [killed, signal.SIGKILL]).start()
    asked = time.monotonic()
    with pytest.raises(PaperNotSetError, match="its worker ended"):
        press.set(LONG)
    assert time.monotonic() - asked < 20
    assert press.set(SHORT).startswith(b"%PDF")
    assert press.pid != killed


def test_two_who_want_a_paper_at_once_each_get_theirs(press):
    made = {}

    def ask(words):
        made[words] = press.set(Order(PAGE.format(f"<p>{words}</p>"), "", NOON))

    askers = [threading.Thread(target=ask, args=[words]) for words in ("Alder", "Quill")]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    for words, pdf in made.items():
        assert pypdf.PdfReader(BytesIO(pdf)).pages[0].extract_text().strip() == words


def test_no_worker_is_left_behind_by_a_process_that_is_killed(tmp_path):
    script = tmp_path / "asks.py"
    script.write_text(
        textwrap.dedent("""\
        import sys, time
        from tests.papers.test_press import SHORT, Press
        if __name__ == "__main__":
            press = Press()
            press.set(SHORT)
            print(press.pid, flush=True)
            time.sleep(60)
        """)
    )
    asking = subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": os.getcwd()}
    )
    worker = psutil.Process(int(asking.stdout.readline()))
    asking.kill()
    asking.wait()
    asking.stdout.close()
    worker.wait(20)
