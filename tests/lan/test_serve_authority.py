"""The workshop's authority vouches for this machine in its own network, and for nothing else.

Chains are judged by two verifiers that are not ours: the one in `cryptography` (RFC 5280 with the web's profile), and
OpenSSL through a real handshake of `ssl`.
"""

import datetime as dt
import errno
import hashlib
import os
import ssl
import stat
import threading
from ipaddress import ip_address

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from garage.lan import authority as room
from garage.lan.authority import (
    AuthorityUnreadableError,
    authority_file,
    fingerprint,
    kept_authority,
    kept_server_certificate,
    new_authority,
    new_certificate,
)
from garage.lan.names import Names, names_from

NOW = dt.datetime(2027, 3, 1, 9, 0, tzinfo=dt.UTC)
BENCH = names_from("bench", [ip_address("192.168.7.20"), ip_address("fd12:3456::20")])


def verified(leaf: x509.Certificate, root: x509.Certificate, name: str, at: dt.datetime = NOW) -> None:
    try:
        subject: x509.GeneralName = x509.IPAddress(ip_address(name))
    except ValueError:
        subject = x509.DNSName(name)
    PolicyBuilder().store(Store([root])).time(at).build_server_verifier(subject).verify(leaf, [])


def leaf_in(file) -> x509.Certificate:
    return x509.load_pem_x509_certificate(file.read_bytes())


def names_carried(certificate: x509.Certificate) -> set[str]:
    carried = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(name.value) for name in carried}


def shake_hands(chain_file, root: x509.Certificate, name: str) -> None:
    """A TLS handshake in memory, the client trusting `root` alone."""
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(chain_file)
    asking = ssl.create_default_context(cadata=root.public_bytes(serialization.Encoding.DER))
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = asking.wrap_bio(back, there, server_hostname=name)
    server = serving.wrap_bio(there, back, server_side=True)
    waiting = [client, server]
    while waiting:
        for side in list(waiting):
            try:
                side.do_handshake()
                waiting.remove(side)
            except ssl.SSLWantReadError:
                continue


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "data" / "certificates"


@pytest.fixture
def authority(folder):
    return kept_authority(folder, BENCH, NOW)


@pytest.fixture
def server(folder, authority):
    return kept_server_certificate(folder, authority, BENCH, NOW)


@pytest.mark.parametrize(
    "name", ["bench.local", "bench", "localhost", "192.168.7.20", "fd12:3456::20", "127.0.0.1", "::1"]
)
def test_who_trusts_the_authority_trusts_this_machine_under_each_of_its_names(authority, server, name):
    verified(leaf_in(server.file), authority.certificate, name)


@pytest.fixture
def today(tmp_path):
    """Authority and server's file of today, for OpenSSL asks the machine's clock."""
    now = dt.datetime.now(dt.UTC)
    made = new_authority(BENCH, now)
    return made.certificate, kept_server_certificate(tmp_path, made, BENCH, now).file


@pytest.mark.parametrize("name", ["bench.local", "localhost", "192.168.7.20", "fd12:3456::20"])
def test_openssl_shakes_hands_with_this_machine(today, name):
    root, file = today
    shake_hands(file, root, name)


@pytest.mark.parametrize("name", ["shed.local", "bank.example", "192.168.7.21", "bench.local.example"])
def test_another_name_is_refused(authority, server, name):
    with pytest.raises(VerificationError):
        verified(leaf_in(server.file), authority.certificate, name)


def test_openssl_refuses_another_name(today):
    root, file = today
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        shake_hands(file, root, "shed.local")


@pytest.mark.parametrize("name", ["bank.example", "203.0.113.9", "2001:db8::9"])
def test_a_stolen_authority_vouches_for_nothing_outside_a_local_network(authority, name):
    try:
        forged_for = Names((), (ip_address(name),))
    except ValueError:
        forged_for = Names((name,), ())
    key = ec.generate_private_key(ec.SECP256R1())
    forged = new_certificate(authority, key.public_key(), forged_for, NOW)
    with pytest.raises(VerificationError):
        verified(forged, authority.certificate, name)


def test_openssl_refuses_what_a_stolen_authority_signed_for_a_bank(tmp_path):
    today = dt.datetime.now(dt.UTC)
    made, key = new_authority(BENCH, today), ec.generate_private_key(ec.SECP256R1())
    forged = new_certificate(made, key.public_key(), Names(("bank.example",), ()), today)
    file = tmp_path / "forged.pem"
    file.write_bytes(room._pem(key, forged))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(file, made.certificate, "bank.example")


def test_the_authority_makes_no_further_authorities(authority):
    constraints = authority.certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert constraints.critical
    assert (constraints.value.ca, constraints.value.path_length) == (True, 0)


def test_the_authority_signs_certificates_and_does_nothing_else(authority):
    usage = authority.certificate.extensions.get_extension_for_class(x509.KeyUsage)
    assert usage.critical
    assert usage.value.key_cert_sign
    assert not usage.value.digital_signature
    # RFC 5280, section 4.2.1.10: conforming authorities mark their name constraints as critical.
    assert authority.certificate.extensions.get_extension_for_class(x509.NameConstraints).critical


def test_the_servers_certificate_serves_and_signs_no_others(server):
    certificate = leaf_in(server.file)
    assert not certificate.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert not certificate.extensions.get_extension_for_class(x509.KeyUsage).value.key_cert_sign
    purposes = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(purposes) == [x509.oid.ExtendedKeyUsageOID.SERVER_AUTH]


def test_a_certificate_lasts_no_longer_than_browsers_take_it(server):
    certificate = leaf_in(server.file)
    # CA/Browser Forum, Baseline Requirements 6.3.2: 398 days, both ends included.
    assert certificate.not_valid_after_utc - certificate.not_valid_before_utc < dt.timedelta(days=398)


def test_a_tablet_whose_clock_is_some_hours_behind_takes_the_certificate(authority, server):
    verified(leaf_in(server.file), authority.certificate, "bench.local", at=NOW - dt.timedelta(hours=20))


def test_nobody_else_on_the_machine_reads_a_key_or_looks_into_the_folder(folder, server):
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {file.name: stat.S_IMODE(file.stat().st_mode) for file in folder.iterdir()} == {
        "authority.crt": 0o600,
        "authority.pem": 0o600,
        "server.pem": 0o600,
    }


def test_a_key_that_a_careless_copy_left_open_is_closed_again(folder, authority, server):
    folder.chmod(0o755)
    for file in folder.iterdir():
        file.chmod(0o644)
    kept_server_certificate(folder, kept_authority(folder, BENCH, NOW), BENCH, NOW)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "authority.pem").stat().st_mode) == 0o600
    assert stat.S_IMODE(server.file.stat().st_mode) == 0o600


def test_the_offered_file_holds_the_certificate_and_no_key(folder, authority):
    offered = authority_file(folder).read_bytes()
    assert offered == authority.certificate.public_bytes(serialization.Encoding.DER)
    secret = authority.key.private_numbers().private_value.to_bytes(32, "big")
    assert secret not in offered


def test_the_fingerprint_is_the_checksum_of_the_offered_file(folder, authority):
    shown = "".join(fingerprint(authority.certificate)).replace(" ", "")
    assert shown == hashlib.sha256(authority_file(folder).read_bytes()).hexdigest().upper()


def test_what_is_kept_is_used_again(folder, authority, server):
    again = kept_authority(folder, BENCH, NOW + dt.timedelta(days=100))
    assert again.certificate == authority.certificate
    kept = kept_server_certificate(folder, again, BENCH, NOW + dt.timedelta(days=100))
    assert not kept.is_new


def test_a_certificate_is_renewed_a_month_before_it_ends(folder, authority, server):
    first = leaf_in(server.file)
    early = first.not_valid_after_utc - dt.timedelta(days=31)
    assert not kept_server_certificate(folder, authority, BENCH, early).is_new
    due = first.not_valid_after_utc - dt.timedelta(days=29)
    renewed = kept_server_certificate(folder, authority, BENCH, due)
    assert renewed.is_new
    assert leaf_in(renewed.file).serial_number != first.serial_number
    verified(leaf_in(renewed.file), authority.certificate, "bench.local", at=due + dt.timedelta(days=300))


@pytest.mark.parametrize(
    "moved",
    [
        names_from("bench", [ip_address("192.168.7.99")]),
        names_from("shed", [ip_address("192.168.7.20")]),
        names_from("bench", [ip_address("192.168.7.20"), ip_address("10.0.0.4")]),
    ],
    ids=["another address", "another name", "one address more"],
)
def test_a_machine_that_is_reached_otherwise_gets_another_certificate(folder, authority, server, moved):
    kept = kept_server_certificate(folder, authority, moved, NOW)
    assert kept.is_new
    for address in moved.addresses:
        verified(leaf_in(kept.file), authority.certificate, str(address))
    assert not kept_server_certificate(folder, authority, moved, NOW).is_new


def test_an_address_beyond_the_local_network_is_left_out_lest_it_void_the_others(folder, authority):
    abroad = names_from("bench", [ip_address("192.168.7.20"), ip_address("2001:db8::20")])
    kept = kept_server_certificate(folder, authority, abroad, NOW)
    assert "2001:db8::20" not in names_carried(leaf_in(kept.file))
    verified(leaf_in(kept.file), authority.certificate, "192.168.7.20")


def test_a_workshop_with_public_addresses_inside_is_vouched_for_where_it_is(tmp_path):
    names = names_from("bench", [ip_address("203.0.113.5")])
    made = kept_authority(tmp_path, names, NOW)
    kept = kept_server_certificate(tmp_path, made, names, NOW)
    verified(leaf_in(kept.file), made.certificate, "203.0.113.5")


def test_a_name_of_the_workshops_own_is_vouched_for(tmp_path):
    names = names_from("bench", [], also=["book.garage.example"])
    made = kept_authority(tmp_path, names, NOW)
    verified(leaf_in(kept_server_certificate(tmp_path, made, names, NOW).file), made.certificate, "book.garage.example")


@pytest.mark.parametrize("rubbish", [b"", b"not a certificate", b"-----BEGIN CERTIFICATE-----\nAAAA\n"])
def test_a_broken_server_certificate_is_made_anew_by_itself(folder, authority, server, rubbish):
    server.file.write_bytes(rubbish)
    kept = kept_server_certificate(folder, authority, BENCH, NOW)
    assert kept.is_new
    verified(leaf_in(kept.file), authority.certificate, "bench.local")


def test_a_certificate_of_a_former_authority_is_made_anew(folder, server):
    other = new_authority(BENCH, NOW)
    kept = kept_server_certificate(folder, other, BENCH, NOW)
    assert kept.is_new
    verified(leaf_in(kept.file), other.certificate, "bench.local")


def test_a_broken_authority_is_never_replaced_unasked(folder, authority):
    file = folder / "authority.pem"
    file.write_bytes(file.read_bytes()[:200])
    with pytest.raises(AuthorityUnreadableError, match="every tablet must then trust"):
        kept_authority(folder, BENCH, NOW)
    assert len(file.read_bytes()) == 200


def test_key_and_certificate_of_two_authorities_are_not_taken_for_one(folder, authority):
    other = new_authority(BENCH, NOW)
    (folder / "authority.pem").write_bytes(room._pem(other.key, authority.certificate))
    with pytest.raises(AuthorityUnreadableError):
        kept_authority(folder, BENCH, NOW)


def test_no_certificate_outlasts_the_authority(folder, authority):
    end = authority.certificate.not_valid_after_utc
    late = end - dt.timedelta(days=100)
    kept = kept_server_certificate(folder, authority, BENCH, late)
    assert leaf_in(kept.file).not_valid_after_utc == end
    # Not made anew at every look of the last weeks, either.
    assert not kept_server_certificate(folder, authority, BENCH, end - dt.timedelta(days=20)).is_new


def test_an_authority_at_its_end_is_followed_by_a_new_one(folder, authority):
    late = authority.certificate.not_valid_after_utc - dt.timedelta(days=20)
    following = kept_authority(folder, BENCH, late)
    assert following.certificate != authority.certificate
    kept = kept_server_certificate(folder, following, BENCH, late)
    verified(leaf_in(kept.file), following.certificate, "bench.local", at=late)
    assert authority_file(folder).read_bytes() == following.certificate.public_bytes(serialization.Encoding.DER)


def test_a_machine_whose_clock_fell_back_makes_a_certificate_the_tablets_take(folder, authority):
    kept = kept_server_certificate(folder, authority, BENCH, dt.datetime(2020, 1, 1, tzinfo=dt.UTC))
    verified(leaf_in(kept.file), authority.certificate, "bench.local")


def test_two_starts_at_once_make_one_authority(folder):
    made, ready = [], threading.Barrier(4)

    def start() -> None:
        ready.wait()
        made.append(kept_authority(folder, BENCH, NOW).certificate.fingerprint(hashes.SHA256()))

    starts = [threading.Thread(target=start) for _ in range(4)]
    for each in starts:
        each.start()
    for each in starts:
        each.join()
    assert len(made) == 4
    assert len(set(made)) == 1


def test_a_full_disk_leaves_the_old_certificate_in_place(folder, authority, server, monkeypatch):
    before = server.file.read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        kept_server_certificate(folder, authority, names_from("shed", []), NOW)
    assert server.file.read_bytes() == before
    assert {file.name for file in folder.iterdir()} == {"authority.crt", "authority.pem", "server.pem"}
