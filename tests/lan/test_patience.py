"""Connections that stall: they are closed in time, hold nobody else up, and never reach the workshop half read."""

import socket
import ssl
import time
from contextlib import ExitStack, closing

import pytest

from garage.lan import patience
from tests.browser.lan import LanServer, served
from tests.tables import lay_tables


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("stalled")
    lay_tables(folder)
    with served(folder) as server:
        yield server


def connected(server: LanServer, *, secure: bool = True) -> socket.socket:
    plain = socket.create_connection(("127.0.0.1", server.port), timeout=60)
    if not secure:
        return plain
    context = ssl.create_default_context()
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    return context.wrap_socket(plain, server_hostname="localhost")


def seconds_to_health(server: LanServer) -> float:
    began = time.monotonic()
    with closing(connected(server)) as mine:
        mine.sendall(b"GET /health/ HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        assert mine.recv(64).startswith(b"HTTP/1.1 200")
    return time.monotonic() - began


HALF_A_LINE = b"GET /heal"
HALF_AN_UPLOAD = b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000\r\n\r\nusername="


@pytest.mark.parametrize("half", [b"", HALF_A_LINE, HALF_AN_UPLOAD], ids=["nothing", "head", "body"])
def test_twenty_connections_that_stall_hold_nobody_up(workshop, half):
    with ExitStack() as stalled:
        for _ in range(20):
            one = stalled.enter_context(closing(connected(workshop)))
            if half:
                one.sendall(half)
        # One thread a stalled connection would have been 100 s and more. The bound is a server's patience, no figure
        # of speed: it is only there to tell waiting from being served.
        assert seconds_to_health(workshop) < patience.FOR_THE_HANDSHAKE


def test_connections_that_never_say_hello_hold_nobody_up_and_are_closed(workshop):
    with ExitStack() as stalled:
        silent = [stalled.enter_context(closing(connected(workshop, secure=False))) for _ in range(20)]
        assert seconds_to_health(workshop) < patience.FOR_THE_HANDSHAKE
        silent[0].settimeout(patience.FOR_THE_HANDSHAKE + 10)
        assert gone(silent[0])


def gone(connection: socket.socket) -> bool:
    try:
        return connection.recv(1024) == b""
    except (ConnectionError, ssl.SSLError):
        return True


def test_a_head_that_drips_in_for_ever_is_cut_off(workshop):
    with closing(connected(workshop)) as dripping:
        until = time.monotonic() + patience.FOR_THE_HEAD + 15
        dripping.sendall(b"GET /health/ HTTP/1.1\r\nHost: localhost\r\n")
        dripping.settimeout(1)
        while time.monotonic() < until:
            try:
                dripping.sendall(b"X-Drip: 1\r\n")
                if dripping.recv(1024) == b"":
                    return
            except TimeoutError:
                continue
            except (ConnectionError, ssl.SSLError):
                return
    raise AssertionError("still open")


def test_a_body_that_does_not_come_in_time_is_told_so(workshop):
    with closing(connected(workshop)) as slow:
        slow.sendall(b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 30\r\n\r\nusername=")
        assert slow.recv(64).startswith(b"HTTP/1.1 408")


def test_one_address_holds_no_more_than_its_share(workshop):
    with ExitStack() as held:
        for _ in range(patience.CONNECTIONS_OF_ONE_ADDRESS):
            held.enter_context(closing(connected(workshop, secure=False)))
        time.sleep(0.5)
        with closing(connected(workshop, secure=False)) as refused:
            assert gone(refused)


def test_an_upload_announced_as_too_large_is_refused_unread(workshop):
    with closing(connected(workshop)) as mine:
        mine.sendall(b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 999999999\r\n\r\n")
        assert mine.recv(64).startswith(b"HTTP/1.1 413")


def test_the_addresses_of_one_house_count_as_one():
    guests = patience.Guests(each=1)
    with guests.admitted("2001:db8::1") as first, guests.admitted("2001:db8::2") as second:
        assert (first, second) == (True, False)
    with guests.admitted("2001:db8::2") as later, guests.admitted("2001:db8:0:1::1") as elsewhere:
        assert (later, elsewhere) == (True, True)


def test_an_address_written_in_either_way_is_one():
    guests = patience.Guests(each=1)
    with guests.admitted("192.168.1.20"), guests.admitted("::ffff:192.168.1.20") as again:
        assert not again
