"""A port that cannot be had is said in words, before anything is changed."""

import errno
import socket

import pytest

from garage.lan import sockets as doors
from garage.lan.sockets import DoorError, opened


@pytest.fixture
def taken():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_a_port_that_another_program_has_is_named_with_the_way_out(taken):
    with pytest.raises(DoorError, match=f"Port {taken} is taken by another program.* another port with --http-port"):
        opened("127.0.0.1", taken, "--http-port")


def test_an_address_of_another_machine_is_refused_in_words():
    with pytest.raises(DoorError, match=r"192\.0\.2\.77 is no address of this machine"):
        opened("192.0.2.77", 0, "--port")


def test_a_word_that_is_no_address_is_refused_in_words():
    with pytest.raises(DoorError, match="is no address of this machine"):
        opened("no address at all", 0, "--port")


def test_a_port_for_the_system_alone_is_refused_in_words(monkeypatch):
    class Guarded(socket.socket):
        def bind(self, address) -> None:
            raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(doors.socket, "socket", Guarded)
    with pytest.raises(DoorError, match=r"may not listen on port 443\. Choose one above 1023 with --port"):
        opened("127.0.0.1", 443, "--port")


def test_everywhere_means_on_every_address_of_either_kind():
    sockets = opened("", 0, "--port")
    try:
        port = sockets[0].getsockname()[1]
        with socket.create_connection(("127.0.0.1", port), timeout=5):
            pass
        if len(sockets) == 2:
            with socket.create_connection(("::1", port), timeout=5):
                pass
    finally:
        for door in sockets:
            door.close()


def test_one_address_means_that_one_alone():
    (door,) = opened("127.0.0.1", 0, "--port")
    with door:
        assert door.getsockname()[0] == "127.0.0.1"
