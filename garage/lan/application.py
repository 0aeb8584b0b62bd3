"""The workshop's WSGI application behind a server that reads without waiting: it is called with whole requests only."""

import asyncio
from collections.abc import Awaitable, Callable, Iterator
from functools import partial
from tempfile import SpooledTemporaryFile
from typing import IO, Any

from hypercorn.app_wrappers import WSGIWrapper, _build_environ

from garage.lan import patience

Messages = Callable[[], Awaitable[Any]]
Send = Callable[[Any], Awaitable[None]]
# A body larger than this waits in a file: many slow photographs at once must not fill the memory.
IN_MEMORY = 256 * 1024


class WholeRequests(WSGIWrapper):
    """Gathers a request's body within its time, and then lends a thread to the application.

    A body that does not come in time is answered with 408, one that was cut off not at all; neither reaches the
    application or holds a thread.
    """

    def __init__(self, app: Any, max_body_size: int, largest_at: Callable[[str], int] | None = None) -> None:
        super().__init__(partial(_never_empty, app), max_body_size)
        # Where an address takes more than others. Asked for a body that is larger than those: the addresses of the
        # site are read for that.
        self._largest_at = largest_at

    async def handle_http(
        self, scope: Any, receive: Messages, send: Send, sync_spawn: Callable[..., Any], call_soon: Callable[..., Any]
    ) -> None:
        # With '-' and '_' one to the application, a header with '_' could pass for one that only a proxy may set.
        scope = {**scope, "headers": [pair for pair in scope["headers"] if b"_" not in pair[0]]}
        announced, largest = _announced(scope), self.max_body_size
        if announced > largest and self._largest_at is not None:
            largest = self._largest_at(scope["path"])
        with SpooledTemporaryFile(max_size=IN_MEMORY) as body:
            # A body that announces itself as too large is refused by the application, unread.
            if announced <= largest:
                try:
                    async with asyncio.timeout(patience.for_the_body(announced)):
                        length = await _gathered(receive, body, largest)
                except TimeoutError:
                    return await _refused(send, 408)
                if length is None:  # nobody is there to be answered
                    return None
                if length > largest:
                    return await _refused(send, 413)
            body.seek(0)
            environ = _build_environ(scope, b"") | {"wsgi.input": body}
            await sync_spawn(self.run_app, environ, partial(call_soon, _patiently(send)))
        return await send({"type": "http.response.body", "body": b"", "more_body": False})


def _never_empty(app: Any, environ: Any, start_response: Any) -> Iterator[bytes]:
    """The answer of `app`, with one empty part where it has none: the server sends the head with the first part.

    A 304 has no body at all, and would be answered with nothing but an error.
    """
    body = app(environ, start_response)
    try:
        yield from body
        yield b""
    finally:
        if hasattr(body, "close"):
            body.close()


def _announced(scope: Any) -> int:
    lengths = [value for name, value in scope["headers"] if name == b"content-length"]
    return int(lengths[0]) if lengths and lengths[0].isdigit() else 0


async def _gathered(receive: Messages, body: IO[bytes], most: int) -> int | None:
    """How many bytes came in; None where the connection ended before the request did."""
    length = 0
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return None
        length += body.write(message.get("body", b""))
        if length > most or not message.get("more_body"):
            return length


def _patiently(send: Send) -> Send:
    async def sending(message: Any) -> None:
        await asyncio.wait_for(send(message), patience.FOR_TAKING_THE_ANSWER)

    return sending


async def _refused(send: Send, status: int) -> None:
    await send({"type": "http.response.start", "status": status, "headers": [(b"connection", b"close")]})
    await send({"type": "http.response.body", "body": b"", "more_body": False})
