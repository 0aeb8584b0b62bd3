"""Whether a certificate can be served, and whether a server answers with it."""

import http.client
import ssl
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509

from garage.lan.names import in_url


class CertificateUnusableError(Exception):
    """A certificate and its key cannot be served; the text says which and why."""


def prove_usable(certificate: Path, key: Path | None) -> None:
    """Load them as the server will.

    Raises
    ------
    CertificateUnusableError
        Where a file is missing, unreadable, under a password, or does not belong to the other.
    """
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    try:
        # An empty password, lest OpenSSL asks for one on the console.
        context.load_cert_chain(certificate, key, password="")
    except OSError as problem:
        raise CertificateUnusableError(
            f"The certificate {certificate}{f' and the key {key}' if key else ''} cannot be used "
            f"({_reason(problem)}). Both must be PEM files without password that belong together and may be read."
        ) from problem


def names_in(certificate: Path) -> list[str]:
    """The host names and addresses for which a certificate of one's own stands, as they stand in an address."""
    try:
        first = x509.load_pem_x509_certificate(certificate.read_bytes())
        carried = first.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (ValueError, x509.ExtensionNotFound):
        return []
    addresses = carried.get_values_for_type(x509.IPAddress)
    return [*carried.get_values_for_type(x509.DNSName), *(in_url(ip_address(str(one))) for one in addresses)]


def answers(address: str, port: int, *, secure: bool) -> bool:
    """Whether a server at this machine's own `address` answers a question, whatever it answers."""
    connection: http.client.HTTPConnection
    if secure:
        # It only has to be up: whether the certificate is trusted is for the tablets to judge.
        context = ssl.create_default_context()
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        connection = http.client.HTTPSConnection(address, port, timeout=5, context=context)
    else:
        connection = http.client.HTTPConnection(address, port, timeout=5)
    try:
        connection.request("GET", "/health/")
        connection.getresponse()
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
    return True


def _reason(problem: OSError) -> str:
    if isinstance(problem, ssl.SSLError):
        return (problem.reason or "not a certificate and its key").lower().replace("_", " ")
    return problem.strerror or str(problem)
