"""What the console shows can be read: by people, and by a tablet's camera."""

import io
import re

import segno

from garage.lan.console import can_draw, drawn

ADDRESS = "http://192.168.7.20:8080/"


class Console(io.StringIO):
    def __init__(self, encoding: str, *, watched: bool = True) -> None:
        super().__init__()
        self.kind, self.watched = encoding, watched

    @property
    def encoding(self) -> str:
        return self.kind

    def isatty(self) -> bool:
        return self.watched


def test_the_code_on_the_console_is_that_of_the_address():
    lines = re.sub(r"\x1b\[[0-9;]*m", "", drawn(ADDRESS)).splitlines()
    light = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    rows = []
    for line in lines:
        rows += [[light[cell][half] for cell in line] for half in (0, 1)]
    wanted = [[0 if dark else 1 for dark in row] for row in segno.make(ADDRESS, error="m").matrix_iter(border=4)]
    assert rows[: len(wanted)] == wanted


def test_a_console_that_nobody_watches_or_that_has_no_such_signs_gets_no_code():
    assert can_draw(Console("utf-8"))
    assert not can_draw(Console("utf-8", watched=False))
    assert not can_draw(Console("ascii"))
