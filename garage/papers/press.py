"""The worker that sets papers: a process of its own, so that no tick on a tablet waits for a PDF.

Setting keeps Python busy for as long as it takes, and a process lends its threads one Python: in the process that
answers the tablets each of them would wait for the paper. So every web process has one child, begun with its first
paper, of low priority, that sets one paper after the other; whoever asked for one waits without keeping Python busy.
"""

import gc
import logging
import multiprocessing
import os
import signal
import threading
from dataclasses import dataclass
from datetime import datetime
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from garage.record.refusals import RuleRefusedError
from timing.errors import TimingError
from timing.sheets.pdf import Embedded, pdf_from_html

# A long bench record takes seconds; on a slow machine, with everything else going on, half a minute.
LONGEST = 120.0  # [seconds]
# The person who waits for the paper shall not hold up those who tick.
STANDS_BACK_BY = 5

log = logging.getLogger(__name__)

TOOK_TOO_LONG = "The paper took too long to set. Nothing was issued; try again."
BROKE_OFF = "The paper could not be set: its worker ended. Nothing was issued; try again."
WENT_WRONG = "The paper could not be set. Nothing was issued; the log says why."


class PaperNotSetError(RuleRefusedError):
    """A paper was not set, although nothing is wrong with what it says. Tells what to do."""


@dataclass(frozen=True, slots=True)
class Order:
    """A paper to set: what `timing.sheets.pdf.pdf_from_html` is given."""

    html: str
    stylesheet: str
    created: datetime
    one_page_by: tuple[str, ...] = ("",)
    embedded: Embedded | None = None

    def set(self) -> bytes:
        return pdf_from_html(
            self.html,
            stylesheet=self.stylesheet,
            created=self.created,
            one_page_by=self.one_page_by,
            embedded=self.embedded,
        )


class Press:
    """One child that sets papers; begun with the first, and anew after one that ended or had to be ended."""

    def __init__(self, longest: float = LONGEST) -> None:
        self._longest = longest
        self._one_at_a_time = threading.Lock()
        self._child: BaseProcess | None = None
        self._line: Connection | None = None

    def set(self, order: Order) -> bytes:
        """The PDF of `order`, whole or not at all.

        Raises
        ------
        timing.sheets.pdf.DocumentLibraryMissing
            If this machine cannot set documents.
        PaperNotSetError
            If it took too long, or something broke.
        """
        with self._one_at_a_time:
            line = self._open_line()
            try:
                line.send(order)
                if not line.poll(self._longest):
                    self._end()
                    raise PaperNotSetError(TOOK_TOO_LONG)
                answer = line.recv()
            except (EOFError, OSError) as ended:
                self._end()
                raise PaperNotSetError(BROKE_OFF) from ended
        if isinstance(answer, TimingError):
            raise answer
        if isinstance(answer, Exception):
            log.error("A paper could not be set: %s", answer)
            raise PaperNotSetError(WENT_WRONG) from answer
        return bytes(answer)

    @property
    def pid(self) -> int | None:
        """The process of the child, where there is one."""
        return self._child.pid if self._child else None

    def close(self) -> None:
        """End the child, once it has set what it is setting."""
        with self._one_at_a_time:
            self._end()

    def _open_line(self) -> Connection:
        if self._line is not None and self._child is not None and self._child.is_alive():
            return self._line
        self._end()
        # Begun afresh and not forked: a fork takes along locks that other threads hold at that moment.
        fresh = multiprocessing.get_context("spawn")
        self._line, theirs = fresh.Pipe()
        self._child = fresh.Process(target=_set_papers, args=(theirs,), name="papers", daemon=True)
        self._child.start()
        # The child has the only other end: it reads the end of the line when this process is gone, however it went.
        theirs.close()
        return self._line

    def _end(self) -> None:
        if self._line is not None:
            self._line.close()
        if self._child is not None:
            self._child.kill()
            self._child.join()
        self._line = self._child = None


def _set_papers(line: Connection) -> None:
    """The child: set what comes in until the line ends."""
    # Ctrl-C reaches the whole group of processes; this one ends with the process that asks it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(STANDS_BACK_BY)
    # A paper is a great many small things that all go at its end: looking for rubbish meanwhile only costs time.
    gc.disable()
    while True:
        try:
            order = line.recv()
        except (EOFError, OSError):
            return
        line.send(_answer_to(order))
        del order
        gc.collect()


def _answer_to(order: Order) -> bytes | Exception:
    try:
        return order.set()
    except TimingError as refusal:
        return refusal
    except Exception as broken:
        # Sent as words: not every exception can be taken to pieces and put together on the other side.
        return RuntimeError(f"{type(broken).__name__}: {broken}")
