"""The servers run together, are told what changed, and end together."""

import os
import signal

import pytest

from garage.lan import server as room
from garage.lan.server import Part, PartEndedError, serve


class Stand(Part):
    """A part without a process of its own, which writes down what happens to it."""

    __slots__ = ("is_up", "told")

    def __init__(self, name: str) -> None:
        super().__init__(name, [], {})
        self.told, self.is_up = [], True

    def start(self) -> None:
        self.told.append("start")

    @property
    def is_running(self) -> bool:
        return self.is_up

    def send(self, what: int) -> None:
        self.told.append(signal.Signals(what).name)

    def end(self, by: float) -> None:
        self.told.append("end")


@pytest.fixture(autouse=True)
def _looks_at_once(monkeypatch):
    monkeypatch.setattr(room, "LOOK_EVERY", 0.0)


def running(parts, *looks: bool, answers=lambda: True) -> list[str]:
    """Serve until all `looks` are given; what was said."""
    left, said = list(looks), []

    def look() -> bool:
        if not left:
            os.kill(os.getpid(), signal.SIGTERM)
            return False
        return left.pop(0)

    serve(parts, answers=answers, when_open=lambda: said.append("open"), look=look)
    return said


def test_new_names_bring_new_workers_to_every_part():
    parts = [Stand("workshop"), Stand("trust")]
    running(parts, False, True)
    assert [part.told for part in parts] == [["start", "SIGHUP", "SIGTERM", "end"]] * 2


def test_nothing_new_leaves_the_workers_alone():
    part = Stand("workshop")
    running([part], False, False)
    assert part.told == ["start", "SIGTERM", "end"]


def test_it_is_said_once_that_the_workshop_is_open():
    assert running([Stand("workshop")], False, False, False) == ["open"]


def test_nothing_is_said_to_be_open_before_it_answers():
    assert running([Stand("workshop")], False, answers=lambda: False) == []


def test_one_part_that_ends_takes_the_others_with_it():
    gone, other = Stand("workshop"), Stand("trust")
    gone.is_up = False
    with pytest.raises(PartEndedError):
        running([gone, other])
    assert other.told == ["start", "SIGTERM", "end"]


def test_afterwards_signals_mean_what_they_meant_before():
    before = signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)
    running([Stand("workshop")])
    assert (signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)) == before
