"""The workshop's own certificate authority, and the certificate by which tablets know this machine.

Browsers give cameras and work without a network only to https pages, and no public authority vouches for a name such
as `bench.local`. So the workshop has an authority of its own, which each tablet is told to trust once. It can vouch for
names and addresses of a local network only (name constraints, RFC 5280, section 4.2.1.10): whoever stole its key could
not pass himself off as a bank.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from garage.files.atomic import keep, keep_first, private_folder
from garage.lan.names import LOCAL_DOMAINS, Names

AUTHORITY_LASTS = dt.timedelta(days=3652)
# 398 days is the longest that browsers take from public authorities (CA/Browser Forum, Baseline Requirements 6.3.2);
# some hold private ones to it too.
CERTIFICATE_LASTS = dt.timedelta(days=397)
RENEWED_BEFORE = dt.timedelta(days=30)
# A tablet whose clock is behind must not find a certificate from the future.
CLOCKS_DIFFER = dt.timedelta(days=1)

# RFC 1918, RFC 6598, RFC 3927, RFC 1122 and RFC 4193, RFC 4291: what never leaves a local network.
LOCAL_NETWORKS = tuple(
    ip_network(network)
    for network in (
        "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8",
        "fc00::/7", "fe80::/10", "::1/128",
    )
)  # fmt: skip


class AuthorityUnreadableError(Exception):
    """What lies where the authority is kept is none. Never replaced unasked: every tablet would have to trust anew."""


@dataclass(frozen=True, slots=True)
class Authority:
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def may_vouch_for(self, names: Names) -> Names:
        """Those of `names` its constraints permit; a single other one would void the whole certificate."""
        constraints = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
        permitted = [subtree.value for subtree in constraints.permitted_subtrees or []]
        domains = [value for value in permitted if isinstance(value, str)]
        networks = [value for value in permitted if isinstance(value, IPv4Network | IPv6Network)]
        return Names(
            tuple(host for host in names.hosts if any(_within(host, domain) for domain in domains)),
            tuple(address for address in names.addresses if any(address in network for network in networks)),
        )


@dataclass(frozen=True, slots=True)
class ServerCertificate:
    """The file with this machine's key and certificate, whether it was made just now, and for which names it stands."""

    file: Path
    is_new: bool
    names: Names


def authority_file(folder: Path) -> Path:
    """The authority's certificate without its key, in the form in which it may be handed to anybody."""
    return folder / "authority.crt"


def fingerprint(certificate: x509.Certificate) -> list[str]:
    """SHA-256 over the certificate, in pairs of digits as devices show it, on four lines that can be compared."""
    pairs = certificate.fingerprint(hashes.SHA256()).hex(" ").upper().split()
    return [" ".join(pairs[start : start + 8]) for start in range(0, len(pairs), 8)]


def kept_authority(folder: Path, names: Names, now: dt.datetime) -> Authority:
    """The authority kept in `folder`, made on the first call and again only when it is about to expire.

    Raises
    ------
    AuthorityUnreadableError
        Where its file cannot be understood.
    OSError
        Where the folder cannot be read or written.
    """
    file = private_folder(folder) / "authority.pem"
    if file.exists():
        file.chmod(0o600)
        authority = _read(file)
        if authority.certificate.not_valid_after_utc - now < RENEWED_BEFORE:
            authority = new_authority(names, now)
            keep(file, _pem(authority.key, authority.certificate))
    else:
        made = new_authority(names, now)
        keep_first(file, _pem(made.key, made.certificate))
        authority = _read(file)
    _offer(folder, authority.certificate)
    return authority


def new_authority(names: Names, now: dt.datetime) -> Authority:
    key = ec.generate_private_key(ec.SECP256R1())
    own_networks = [
        # A workshop may use public addresses inside; the fixed ones it has today are permitted, one by one.
        ip_network(address)
        for address in names.addresses
        if address.version == 4 and not any(address in network for network in LOCAL_NETWORKS)
    ]
    subject = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "Crankmark"),
            # The day tells two of them apart in a tablet's list.
            x509.NameAttribute(NameOID.COMMON_NAME, f"Workshop authority {_short(names)} {now:%Y-%m-%d}"),
        ]
    )
    public = key.public_key()
    certificate = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCKS_DIFFER)
        .not_valid_after(now + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_key_usage(key_cert_sign=True), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(public), critical=False)
        .add_extension(
            x509.NameConstraints(
                permitted_subtrees=[
                    *(x509.DNSName(domain) for domain in _domains(names)),
                    *(x509.IPAddress(network) for network in [*LOCAL_NETWORKS, *own_networks]),
                ],
                excluded_subtrees=None,
            ),
            critical=True,
        )
        .sign(key, hashes.SHA256())
    )
    return Authority(certificate, key)


def kept_server_certificate(folder: Path, authority: Authority, names: Names, now: dt.datetime) -> ServerCertificate:
    """This machine's certificate in `folder`, made anew when it is near its end or no longer fits the machine."""
    file = private_folder(folder) / "server.pem"
    wanted = authority.may_vouch_for(names)
    if _still_good(file, authority, wanted, now):
        file.chmod(0o600)
        return ServerCertificate(file, is_new=False, names=wanted)
    key = ec.generate_private_key(ec.SECP256R1())
    keep(file, _pem(key, new_certificate(authority, key.public_key(), wanted, now)))
    return ServerCertificate(file, is_new=True, names=wanted)


def new_certificate(
    authority: Authority, public: ec.EllipticCurvePublicKey, names: Names, now: dt.datetime
) -> x509.Certificate:
    issuer = authority.certificate
    begins = max(now - CLOCKS_DIFFER, issuer.not_valid_before_utc)
    return (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, _short(names))]))
        .issuer_name(issuer.subject)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(min(begins + CERTIFICATE_LASTS, issuer.not_valid_after_utc))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(_alternative_names(names)), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()), critical=False)
        .sign(authority.key, hashes.SHA256())
    )


def _still_good(file: Path, authority: Authority, names: Names, now: dt.datetime) -> bool:
    try:
        certificate, _ = _parts(file.read_bytes())
        certificate.verify_directly_issued_by(authority.certificate)
        carried = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (FileNotFoundError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    ends = certificate.not_valid_after_utc
    # Close to the authority's own end a new certificate would last no longer than this one.
    if ends - now < RENEWED_BEFORE and ends < authority.certificate.not_valid_after_utc:
        return False
    return ends > now and set(carried) == set(_alternative_names(names))


def _read(file: Path) -> Authority:
    try:
        certificate, key = _parts(file.read_bytes())
        if certificate.public_key() != key.public_key():
            raise ValueError("key and certificate do not belong together")
        certificate.extensions.get_extension_for_class(x509.NameConstraints)
    except (ValueError, TypeError, x509.ExtensionNotFound) as problem:
        raise AuthorityUnreadableError(
            f"The workshop’s certificate authority in {file} cannot be read. Put the file back from the backup, or "
            "remove it to have a new one made, which every tablet must then trust again."
        ) from problem
    return Authority(certificate, key)


def _offer(folder: Path, certificate: x509.Certificate) -> None:
    file, content = authority_file(folder), certificate.public_bytes(serialization.Encoding.DER)
    if not file.exists() or file.read_bytes() != content:
        keep(file, content)


def _parts(pem: bytes) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = serialization.load_pem_private_key(pem, password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise TypeError("not an elliptic-curve key")
    return x509.load_pem_x509_certificate(pem), key


def _pem(key: ec.EllipticCurvePrivateKey, certificate: x509.Certificate) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    ) + certificate.public_bytes(serialization.Encoding.PEM)


def _key_usage(*, digital_signature: bool = False, key_cert_sign: bool = False) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=digital_signature,
        key_cert_sign=key_cert_sign,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )


def _alternative_names(names: Names) -> list[x509.GeneralName]:
    hosts: Iterable[x509.GeneralName] = (x509.DNSName(host) for host in names.hosts)
    addresses: Iterable[x509.GeneralName] = (x509.IPAddress(address) for address in names.addresses)
    return [*hosts, *addresses]


def _domains(names: Names) -> list[str]:
    own = [host for host in names.hosts if not any(_within(host, domain) for domain in LOCAL_DOMAINS)]
    return [*LOCAL_DOMAINS, *own]


def _within(host: str, domain: str) -> bool:
    return host == domain or host.endswith(f".{domain}")


def _short(names: Names) -> str:
    # X.520 ends a common name at 64 characters.
    return next((host for host in names.hosts), "this machine").removesuffix(".local")[:40]
