"""The application is called with whole requests and with no header that only a proxy may set.

ASGI 3.0, HTTP: 'http.disconnect' says that the client is gone. PEP 3333: '-' in a header's name becomes '_'.
"""

import asyncio
from typing import Any

from garage.lan import patience
from garage.lan.application import WholeRequests

SCOPE = {
    "type": "http", "http_version": "1.1", "method": "POST", "scheme": "https", "path": "/", "root_path": "",
    "query_string": b"", "client": ("192.168.1.20", 5000), "server": ("192.168.1.2", 8443), "headers": [],
}  # fmt: skip


def called(
    messages: list[Any], *headers: tuple[bytes, bytes], most: int = 1000, status: str = "200 OK", answer: Any = (b"x",)
) -> tuple[list[dict], list[Any]]:
    """With which environments the application was called, and what was answered."""
    calls, answers = [], []

    def application(environ, start_response):
        calls.append(environ | {"body": environ["wsgi.input"].read()})
        start_response(status, [])
        return answer

    async def run():
        left = list(messages)

        async def receive():
            return left.pop(0) if left else await asyncio.sleep(60)

        async def send(message):
            answers.append(message.get("status", message.get("body")))

        async def spawn(function, *arguments):
            return await asyncio.to_thread(function, *arguments)

        loop = asyncio.get_running_loop()

        def call_soon(function, *arguments):
            return asyncio.run_coroutine_threadsafe(function(*arguments), loop).result()

        scope = {**SCOPE, "headers": list(headers)}
        await WholeRequests(application, most)(scope, receive, send, spawn, call_soon)

    asyncio.run(run())
    return calls, answers


def body(data: bytes, *, more: bool = False) -> dict[str, Any]:
    return {"type": "http.request", "body": data, "more_body": more}


def test_a_request_in_pieces_is_handed_over_as_one():
    calls, answers = called([body(b"measured", more=True), body(b"_deg=32.5")])
    assert calls[0]["body"] == b"measured_deg=32.5"
    assert answers[0] == 200


def test_a_request_that_was_cut_off_never_reaches_the_application():
    calls, answers = called([body(b"measured_deg=3", more=True), {"type": "http.disconnect"}])
    assert (calls, answers) == ([], [])


def test_a_body_that_stalls_is_answered_with_408_without_the_application(monkeypatch):
    monkeypatch.setattr(patience, "FOR_A_FORM", 0.05)
    calls, answers = called([body(b"measured_deg=3", more=True)])
    assert (calls, answers[0]) == ([], 408)


def test_more_than_is_taken_is_answered_with_413_without_the_application():
    calls, answers = called([body(b"x" * 1001)])
    assert (calls, answers[0]) == ([], 413)


def test_a_header_with_an_underscore_cannot_pass_for_the_proxy_s():
    calls, _ = called([body(b"")], (b"x_forwarded_proto", b"https"), (b"x-requested-by", b"tablet"))
    assert "HTTP_X_FORWARDED_PROTO" not in calls[0]
    assert calls[0]["HTTP_X_REQUESTED_BY"] == "tablet"


def test_the_application_sees_from_where_a_request_came():
    calls, _ = called([body(b"")])
    assert calls[0]["REMOTE_ADDR"] == "192.168.1.20"


class Closing(list):
    """An answer that holds something until it is closed, as a file does."""

    closed = False

    def close(self):
        self.closed = True


def test_an_answer_without_a_body_is_answered_all_the_same():
    """RFC 9110, 15.4.5: a 304 has no content. The head would never be sent, for it goes with the first part."""
    _, answers = called([body(b"")], status="304 Not Modified", answer=[])
    assert answers[0] == 304
    assert b"".join(answers[1:]) == b""


def test_what_an_answer_holds_is_let_go():
    answer = Closing([b"a", b"b"])
    _, answers = called([body(b"")], answer=answer)
    assert b"".join(answers[1:]) == b"ab"
    assert answer.closed
