"""A mail server in the test's own process (aiosmtpd, a server of others for RFC 5321), and certificates for it."""

import asyncio
import datetime as dt
import socket
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from garage.mail.models import MailSettings, Security
from garage.mail.password import sealed

USER, PASSWORD = "post@lockgate.example", "rotor-arm and cap"


class PostOffice:
    """What was delivered, and what the server answers where it is told to refuse."""

    def __init__(self) -> None:
        self.delivered: list[EmailMessage] = []
        self.recipients: list[str] = []
        self.answer_to: dict[str, str] = {}  # by command: "MAIL", "RCPT", "DATA"
        self.port = 0

    async def handle_MAIL(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if refusal := self.answer_to.get("MAIL"):
            return refusal
        envelope.mail_from = address
        return "250 OK"

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if refusal := self.answer_to.get("RCPT"):
            return refusal
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if refusal := self.answer_to.get("DATA"):
            return refusal
        self.delivered.append(message_from_bytes(envelope.content, policy=policy.default))
        self.recipients += envelope.rcpt_tos
        return "250 2.0.0 queued as 4F1A"

    def only_letter(self) -> EmailMessage:
        (only,) = self.delivered
        return only


def _is_ours(server: Any, session: Any, envelope: Any, mechanism: Any, data: Any) -> AuthResult:
    known = (data.login, data.password) == (USER.encode(), PASSWORD.encode())
    return AuthResult(success=known, handled=False)


@contextmanager
def open_post_office(*, certificate: Path | None = None, asks_for_password: bool = False) -> Iterator[PostOffice]:
    office = PostOffice()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        office.port = free.getsockname()[1]
    options: dict[str, Any] = {}
    if certificate:
        options["tls_context"] = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        options["tls_context"].load_cert_chain(certificate)
    if asks_for_password:
        options |= {"authenticator": _is_ours, "auth_required": True, "auth_require_tls": False}
    controller = Controller(office, hostname="127.0.0.1", port=office.port, loop=asyncio.new_event_loop(), **options)
    controller.start()
    try:
        yield office
    finally:
        controller.stop()


@contextmanager
def silent_server() -> Iterator[int]:
    """A port that takes connections and says nothing."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        yield listening.getsockname()[1]


def certificate_for(name: str, folder: Path) -> Path:
    """A certificate of its own for `name` with its key, in one file; nobody trusts it before they are told to."""
    key = ec.generate_private_key(ec.SECP256R1())
    called = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = dt.datetime.now(dt.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(called)
        .issuer_name(called)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    file = folder / f"{name}.pem"
    file.write_bytes(made.public_bytes(serialization.Encoding.PEM) + private)
    return file


def set_up_mail(port: int, **more: Any) -> MailSettings:
    """Mail through a server on this machine; with `password`, as a user."""
    password = more.pop("password", "")
    values = {
        "in_use": True, "server": "localhost", "port": port, "security": Security.NONE,
        "sender_address": "office@lockgate.example", "sender_name": "Lockgate Motor Works",
        "sealed_password": sealed(password) if password else "",
    }  # fmt: skip
    kept, _ = MailSettings.objects.update_or_create(only=1, defaults=values | more)
    return kept
