"""Handing a mail to the server, through Django's own backend for SMTP, with limits of time."""

import queue
import smtplib
import threading
from collections.abc import Callable
from dataclasses import dataclass
from email.utils import formataddr, formatdate
from typing import Any

from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.smtp import EmailBackend

from garage.mail.models import Security
from garage.mail.server import MailServer
from garage.mail.troubles import MailNotTakenError, no_such_server, shortened, trouble_of

# For one answer of the server, and for everything together: a server that sends a letter a second holds nobody up.
ANSWER_S, ALL_S = 30.0, 300.0


@dataclass(frozen=True, slots=True)
class Attached:
    """A PDF that goes along."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A mail as it goes out. The same `message_id` tells a mail program that it has this one already."""

    message_id: str
    to: str
    subject: str
    text: str
    reply_to: str = ""
    attached: tuple[Attached, ...] = ()


def hand_over(mail: Outgoing, server: MailServer, *, answer_s: float = ANSWER_S, all_s: float = ALL_S) -> str:
    """Hand `mail` to `server`; gives back what it answered, shortened.

    Raises
    ------
    MailNotTakenError
        If it did not take the mail, or was not reached. After a time limit it may have been taken all the same.
    """
    return _within(all_s, lambda: _hand_over(mail, server, answer_s), server)


def _hand_over(mail: Outgoing, server: MailServer, answer_s: float) -> str:
    backend: Any = get_connection(
        "garage.mail.sending.ListeningBackend",
        host=server.host,
        port=server.port,
        username=server.user_name,
        password=server.password,
        use_tls=server.security == Security.STARTTLS,
        use_ssl=server.security == Security.TLS,
        timeout=answer_s,
    )
    message = EmailMessage(
        subject=mail.subject,
        body=mail.text,
        from_email=formataddr((server.sender_name, server.sender_address)),
        to=[mail.to],
        reply_to=[mail.reply_to] if mail.reply_to else None,
        headers={"Message-ID": mail.message_id, "Date": formatdate(localtime=True)},
        attachments=[(one.name, one.content, "application/pdf") for one in mail.attached],
        connection=backend,
    )
    try:
        backend.open()
        listening = backend.connection
        message.send()
    except OSError as problem:
        raise trouble_of(problem, host=server.host, port=server.port, seconds=answer_s) from problem
    except UnicodeError as problem:  # a name with an empty part, or a part that is too long, is asked of nobody
        raise no_such_server(server.host) from problem
    except ValueError as problem:  # a header that is none, an address that no server takes
        raise MailNotTakenError(f"This mail cannot be sent: {shortened(problem)}.", for_good=True) from problem
    finally:
        _close(backend)
    said: str = listening.answer_to_mail
    return said


def _close(backend: Any) -> None:
    """End the talk. A mail that was taken stays taken, however the server says goodbye."""
    try:
        backend.close()
    except OSError:
        backend.connection = None


def _within(seconds: float, work: Callable[[], str], server: MailServer) -> str:
    """What `work` gives back or raises; a trouble if it has done neither after `seconds`, and is left to itself."""
    came: queue.SimpleQueue[str | Exception] = queue.SimpleQueue()

    def run() -> None:
        try:
            came.put(work())
        except Exception as problem:
            came.put(problem)

    threading.Thread(target=run, daemon=True, name="mail").start()
    try:
        result = came.get(timeout=seconds)
    except queue.Empty:
        raise MailNotTakenError(f"{server.host} was not done within {seconds:g} s.") from None
    if isinstance(result, Exception):
        raise result
    return result


class _Listens(smtplib.SMTP):
    """Keeps what the server answered to the mail itself: smtplib throws it away."""

    answer_to_mail = ""

    def data(self, msg: Any) -> tuple[int, bytes]:
        code, answer = super().data(msg)
        self.answer_to_mail = shortened(f"{code} {shortened(answer)}")
        return code, answer


class _ListensOverTls(_Listens, smtplib.SMTP_SSL):
    pass


class ListeningBackend(EmailBackend):
    """Django's backend for SMTP, whose connection remembers the last answer."""

    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        return _ListensOverTls if self.use_ssl else _Listens
