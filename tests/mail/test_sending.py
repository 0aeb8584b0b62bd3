"""Handing a mail to a server: what arrives, and what is said where it is not taken.

Checked against aiosmtpd, a mail server written by others, in the test's own process.
"""

import socket
from dataclasses import replace

import pytest

from garage.mail.models import Security
from garage.mail.sending import Attached, Outgoing, hand_over
from garage.mail.server import MailServer
from garage.mail.troubles import MOST_OF_AN_ANSWER, MailNotTakenError, shortened
from tests.mail.post_office import PASSWORD, USER, certificate_for, open_post_office, silent_server

MAIL = Outgoing(
    message_id="<17@lockgate.example>",
    to="mira@holt.example",
    subject="Papers of KLM 204 B",
    text="Dear Mira Höltñ,\n\nhere they are.\n",
    attached=(Attached("sheet.pdf", b"%PDF-1.7 \x00\xff\r\n."),),
)


def server_at(port: int, **more) -> MailServer:
    usual = MailServer("localhost", port, Security.NONE, "", "", "office@lockgate.example", "Lockgate Motor Works")
    return replace(usual, **more)


def refused(server: MailServer, mail: Outgoing = MAIL, **limits) -> MailNotTakenError:
    with pytest.raises(MailNotTakenError) as trouble:
        hand_over(mail, server, **{"answer_s": 3.0} | limits)
    return trouble.value


@pytest.fixture
def office():
    with open_post_office() as opened:
        yield opened


def test_a_mail_arrives_with_its_words_and_every_byte_of_its_paper(office):
    answer = hand_over(MAIL, server_at(office.port))
    letter = office.only_letter()
    assert (letter["From"], letter["To"]) == ("Lockgate Motor Works <office@lockgate.example>", "mira@holt.example")
    assert (letter["Subject"], letter["Message-ID"]) == (MAIL.subject, MAIL.message_id)
    assert letter.get_body().get_content() == MAIL.text.replace("\n", "\r\n")  # RFC 5322, 2.3
    (paper,) = letter.iter_attachments()
    assert (paper.get_filename(), paper.get_content_type()) == ("sheet.pdf", "application/pdf")
    assert paper.get_content() == MAIL.attached[0].content
    assert answer == "250 2.0.0 queued as 4F1A"


def test_a_refused_recipient_is_refused_for_good(office):
    office.answer_to["RCPT"] = "550 5.1.1 no such box"
    trouble = refused(server_at(office.port))
    assert (str(trouble), trouble.answer, trouble.for_good) == (
        "localhost refused the recipient.", "550 5.1.1 no such box", True,
    )  # fmt: skip
    assert office.delivered == []


@pytest.mark.parametrize("command", ["RCPT", "DATA"])
def test_a_server_that_is_busy_is_worth_another_try(office, command):
    office.answer_to[command] = "451 4.7.1 come back later"
    trouble = refused(server_at(office.port))
    assert (trouble.answer, trouble.for_good) == ("451 4.7.1 come back later", False)


def test_a_refused_sender_is_named(office):
    office.answer_to["MAIL"] = "553 5.7.1 not your address"
    assert str(refused(server_at(office.port))) == "localhost refused the sender's address."


@pytest.mark.filterwarnings("ignore:Requiring AUTH while not requiring TLS")
def test_a_wrong_password_is_said_and_is_not_in_what_is_said():
    with open_post_office(asks_for_password=True) as office:
        hand_over(MAIL, server_at(office.port, user_name=USER, password=PASSWORD))
        trouble = refused(server_at(office.port, user_name=USER, password="dwell-angle"))
    assert str(trouble) == "localhost refused the user name or the password."
    assert trouble.for_good
    assert "dwell" not in trouble.answer
    assert len(office.delivered) == 1


def test_over_starttls_a_certificate_of_that_name_is_asked_for(tmp_path, monkeypatch):
    right, wrong = certificate_for("localhost", tmp_path), certificate_for("mail.other.example", tmp_path)
    for certificate, trusted, why in [(right, wrong, "self-signed"), (wrong, wrong, "Hostname mismatch")]:
        monkeypatch.setenv("SSL_CERT_FILE", str(trusted))
        with open_post_office(certificate=certificate) as office:
            trouble = refused(server_at(office.port, security=Security.STARTTLS))
        assert str(trouble).startswith("The certificate of localhost is wrong: ")
        assert why in str(trouble)
        assert office.delivered == []
    monkeypatch.setenv("SSL_CERT_FILE", str(right))
    with open_post_office(certificate=right) as office:
        hand_over(MAIL, server_at(office.port, security=Security.STARTTLS))
    assert len(office.delivered) == 1


def test_nothing_goes_in_clear_to_a_server_without_tls(office):
    starttls, tls = (refused(server_at(office.port, security=one)) for one in (Security.STARTTLS, Security.TLS))
    assert str(starttls).startswith("localhost offers no STARTTLS")
    assert str(tls).startswith("localhost speaks no TLS")
    assert office.delivered == []


def test_a_port_where_nobody_listens_is_said():
    with socket.socket() as unused:
        unused.bind(("127.0.0.1", 0))
        assert "refused the connection" in str(refused(server_at(unused.getsockname()[1])))


@pytest.mark.parametrize("name", ["mail.invalid", "mail..invalid", f"{'m' * 64}.invalid"])
def test_a_name_that_nobody_has_is_said(name):
    """RFC 6761, 6.4: names under .invalid are never found; RFC 1035, 2.3.4: no part is empty or longer than 63."""
    assert str(refused(server_at(25, host=name))).startswith(f"No server called {name} was found")


def test_a_server_that_says_nothing_is_left_after_the_time_for_an_answer():
    with silent_server() as port:
        assert str(refused(server_at(port), answer_s=0.2)) == (
            "localhost did not answer within 0.2 s. Check port and TLS."
        )


def test_a_server_that_takes_for_ever_is_left_after_the_time_for_everything():
    with silent_server() as port:
        assert str(refused(server_at(port), answer_s=2.0, all_s=0.2)) == "localhost was not done within 0.2 s."


def test_a_second_header_in_a_subject_is_refused_before_anything_is_sent(office):
    assert refused(server_at(office.port), replace(MAIL, subject="Papers\nBcc: all@example")).for_good
    assert office.delivered == []


def test_a_long_answer_with_signs_of_control_becomes_one_short_line():
    said = shortened(b"no\r\n\x1b[31mred\x00 " + b"x" * 900)
    assert said.startswith("no [31mred x")
    assert len(said) == MOST_OF_AN_ANSWER
