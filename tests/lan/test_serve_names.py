"""Under which names tablets reach the machine."""

from ipaddress import ip_address

import pytest

from garage.lan.names import names_from, names_of_this_machine


@pytest.mark.parametrize("name", ["bench", "bench.", "BENCH", "bench.local", "Bench.Local"])
def test_a_machine_is_found_by_its_bare_and_its_multicast_name(name):
    assert {"bench", "bench.local", "localhost"} <= set(names_from(name, []).hosts)


def test_a_machine_with_a_domain_keeps_it():
    assert names_from("bench.garage.example", []).hosts == ("bench.local", "bench", "bench.garage.example", "localhost")


def test_a_nameless_machine_is_localhost_alone():
    assert names_from("localhost", []).hosts == ("localhost",)


@pytest.mark.parametrize("odd", ["old_press", "-bench", "werkbank zwei", "a" * 64, ""])
def test_a_name_no_certificate_can_carry_is_left_out(odd):
    assert names_from(odd, []).hosts == ("localhost",)


def test_names_asked_for_come_with_it_and_patterns_do_not():
    names = names_from("bench", [], also=["Book.garage.example", "192.168.7.9", "[fd00::9]", "*", ".garage.example"])
    assert "book.garage.example" in names.hosts
    assert {ip_address("192.168.7.9"), ip_address("fd00::9")} <= set(names.addresses)
    assert not {"*", ".garage.example"} & set(names.hosts)


def test_addresses_stand_as_browsers_write_them():
    names = names_from("bench", [ip_address("192.168.7.20"), ip_address("fd00::20")])
    assert names.reachable() == ["192.168.7.20", "[fd00::20]", "bench.local"]
    assert "[::1]" in names.as_allowed_hosts()


def test_this_machine_always_knows_itself():
    names = names_of_this_machine()
    assert "localhost" in names.hosts
    assert {ip_address("127.0.0.1"), ip_address("::1")} <= set(names.addresses)
    assert len(set(names.addresses)) == len(names.addresses)


def test_the_names_in_the_settings_count_among_its_own(monkeypatch):
    monkeypatch.setenv("ALLOWED_HOSTS", "book.garage.example, .garage.example,,192.168.7.9")
    names = names_of_this_machine()
    assert "book.garage.example" in names.hosts
    assert ip_address("192.168.7.9") in names.addresses


def test_no_address_is_one_that_browsers_cannot_open():
    assert not [one for one in names_of_this_machine().addresses if one.version == 6 and one.is_link_local]
