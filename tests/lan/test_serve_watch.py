"""While the workshop is open its certificate is looked after, and nothing that goes wrong there closes it."""

import datetime as dt
from ipaddress import ip_address

import pytest
import time_machine

from garage.lan import watch as room
from garage.lan.names import names_from
from garage.lan.watch import AuthorityWatch, NamesWatch

BENCH = names_from("bench", [ip_address("192.168.7.20")])
MOVED = names_from("bench", [ip_address("192.168.7.99")])


@pytest.fixture
def machine(monkeypatch):
    """`machine(names)`: from now on this machine is called that."""

    def is_called(names) -> None:
        monkeypatch.setattr(room, "names_of_this_machine", lambda: names)

    is_called(BENCH)
    return is_called


@pytest.fixture
def said() -> list[str]:
    return []


@pytest.fixture
def watch(machine, tmp_path, said) -> AuthorityWatch:
    return AuthorityWatch(tmp_path / "certificates", said.append)


def test_a_quiet_day_changes_nothing_and_says_nothing(watch, said):
    before = watch.certificate_file.read_bytes()
    assert not watch.look()
    assert watch.certificate_file.read_bytes() == before
    assert said == []


def test_a_new_address_brings_a_new_certificate_and_new_workers(watch, machine, said):
    before = watch.certificate_file.read_bytes()
    machine(MOVED)
    assert watch.look()
    assert watch.certificate_file.read_bytes() != before
    assert "192.168.7.99" in said[0]
    assert watch.hosts()[0] == "192.168.7.99"


def test_a_certificate_near_its_end_is_renewed_while_the_workshop_is_open(watch, said):
    before, authority = watch.certificate_file.read_bytes(), watch.authority
    with time_machine.travel(dt.datetime.now(dt.UTC) + dt.timedelta(days=380), tick=False):
        assert not watch.look()  # the names are the same: the workers read the new file by themselves
    assert watch.certificate_file.read_bytes() != before
    assert watch.authority == authority
    assert len(said) == 1


def test_a_folder_that_cannot_be_written_is_said_once_and_the_workshop_stays_open(watch, machine, said, monkeypatch):
    def full(*args) -> None:
        raise OSError(28, "No space left on device")

    machine(MOVED)
    with monkeypatch.context() as broken:
        broken.setattr(room, "kept_server_certificate", full)
        assert watch.look()
        assert not watch.look()
    assert [line for line in said if "No space left" in line] == said
    assert len(said) == 1
    watch.look()
    assert "new certificate" in said[-1]


def test_a_name_the_authority_may_not_vouch_for_is_said_and_not_offered(watch, machine, said):
    machine(names_from("bench", [ip_address("192.168.7.20"), ip_address("2001:db8::20")]))
    watch.look()
    assert "[2001:db8::20]" in said[-1]
    assert watch.hosts() == ["192.168.7.20", "bench.local"]


def test_with_a_certificate_of_ones_own_only_names_are_watched(machine, tmp_path):
    watch = NamesWatch()
    assert not watch.look()
    machine(MOVED)
    assert watch.look()
    assert watch.hosts() == ["192.168.7.99", "bench.local"]
