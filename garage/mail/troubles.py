"""Why a server did not take a mail, in a sentence, and whether it makes sense to try again."""

import smtplib
import socket
import ssl
from typing import Any

PASSWORD_NOT_READABLE = "The kept password cannot be read here. Type it again under Mail."  # noqa: S105 - a sentence
MOST_OF_AN_ANSWER = 200


class MailNotTakenError(Exception):
    """A mail was not taken; says why. `for_good`: trying again would end the same way. `answer` is the server's own."""

    def __init__(self, sentence: str, *, for_good: bool = False, answer: str = "") -> None:
        super().__init__(sentence)
        self.for_good, self.answer = for_good, answer


def shortened(answer: Any) -> str:
    """What a server answered, in one line of letters, signs and blanks, cut where it goes on for too long."""
    said = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else str(answer)
    line = " ".join("".join(letter if letter.isprintable() else " " for letter in said).split())
    return line if len(line) <= MOST_OF_AN_ANSWER else f"{line[: MOST_OF_AN_ANSWER - 1]}…"


def trouble_of(problem: OSError, *, host: str, port: int, seconds: float) -> MailNotTakenError:
    """What `problem`, raised while mail was handed to `host`, means."""
    if isinstance(problem, smtplib.SMTPException):
        return _refused(problem, host, port) or _broken_off(problem, host, seconds)
    if isinstance(problem, socket.gaierror):
        return no_such_server(host)
    if isinstance(problem, ssl.SSLCertVerificationError):
        why = shortened(problem.verify_message)
        return MailNotTakenError(f"The certificate of {host} is wrong: {why}. Nothing was sent.")
    if isinstance(problem, ssl.SSLError):
        return MailNotTakenError(f"{host} speaks no TLS at port {port}. Try STARTTLS, or another port.")
    if isinstance(problem, ConnectionRefusedError):
        return MailNotTakenError(f"{host} refused the connection at port {port}. Check the port.")
    if isinstance(problem, TimeoutError):
        return _no_answer(host, seconds)
    return MailNotTakenError(f"{host} was not reached: {shortened(problem.strerror or problem)}.")


def no_such_server(host: str) -> MailNotTakenError:
    return MailNotTakenError(f"No server called {host} was found. Check the name and the network.")


def _no_answer(host: str, seconds: float) -> MailNotTakenError:
    return MailNotTakenError(f"{host} did not answer within {seconds:g} s. Check port and TLS.")


def _refused(problem: smtplib.SMTPException, host: str, port: int) -> MailNotTakenError | None:
    """What the server itself refused; None where it said nothing. A code from 500 on is for good (RFC 5321, 4.2.1)."""
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        code, answer = next(iter(problem.recipients.values()))
        return _by_code(host, "refused the recipient", code, answer)
    if isinstance(problem, smtplib.SMTPAuthenticationError):
        return _by_code(host, "refused the user name or the password", problem.smtp_code, problem.smtp_error)
    if isinstance(problem, smtplib.SMTPSenderRefused):
        return _by_code(host, "refused the sender's address", problem.smtp_code, problem.smtp_error)
    if isinstance(problem, smtplib.SMTPDataError):
        return _by_code(host, "refused the mail", problem.smtp_code, problem.smtp_error)
    if isinstance(problem, smtplib.SMTPResponseException):
        return _by_code(host, "takes no mail", problem.smtp_code, problem.smtp_error)
    if isinstance(problem, smtplib.SMTPNotSupportedError):
        if "STARTTLS" in str(problem):
            return MailNotTakenError(f"{host} offers no STARTTLS at port {port}. Try TLS, or another port.")
        if "AUTH" in str(problem):
            return MailNotTakenError(f"{host} asks for no password here. Check port and TLS.", for_good=True)
        return MailNotTakenError(f"{host} cannot send this mail.", for_good=True, answer=shortened(problem))
    return None


def _by_code(host: str, for_good: str, code: int, answer: bytes | str) -> MailNotTakenError:
    said = f"{code} {shortened(answer)}".strip()
    if code < 500:
        return MailNotTakenError(f"{host} put the mail off.", answer=said)
    return MailNotTakenError(f"{host} {for_good}.", for_good=True, answer=said)


def _broken_off(problem: smtplib.SMTPException, host: str, seconds: float) -> MailNotTakenError:
    # smtplib says of a read that took too long, too, that the connection was closed.
    if isinstance(problem.__context__, TimeoutError):
        return _no_answer(host, seconds)
    if isinstance(problem.__context__, ssl.SSLError):
        return MailNotTakenError(f"TLS with {host} broke off. Check port and TLS.")
    return MailNotTakenError(f"{host} cut the connection.", answer=shortened(problem))
