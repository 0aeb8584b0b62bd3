"""One worker of the server: gunicorn starts, renews and ends it, hypercorn's protocol reads and answers in it.

A connection that stalls costs no thread here. gunicorn's own threaded worker lends each one that is half read a
thread, so that twenty of them stop the workshop.
"""

import asyncio
import os
import signal
import ssl
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from gunicorn.workers.base import Worker
from hypercorn.asyncio.tcp_server import TCPServer
from hypercorn.asyncio.worker_context import WorkerContext
from hypercorn.config import Config

from garage.lan import patience
from garage.lan.application import WholeRequests
from garage.lan.gunicorn_settings import CertificateOnDisk
from garage.site.uploads import LARGEST_REQUEST, largest_request_at


class Connection(TCPServer):
    """hypercorn's own, except that it is over when the other side has hung up, and not a keep-alive later."""

    async def _read_data(self) -> None:
        try:
            await super()._read_data()
        finally:
            await self.idle_task.stop()


class PatientWorker(Worker):
    """Serves the sockets that gunicorn hands over until it is told to end."""

    def run(self) -> None:
        asyncio.run(self._serve())

    def init_signals(self) -> None:
        super().init_signals()
        # asyncio wakes itself.
        signal.set_wakeup_fd(-1)

    async def _serve(self) -> None:
        loop, ending = asyncio.get_running_loop(), asyncio.Event()
        loop.set_default_executor(ThreadPoolExecutor(max_workers=patience.THREADS))
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGQUIT):
            loop.add_signal_handler(number, ending.set)
        self._config, self._context = _hypercorn(), WorkerContext(None)
        self._application = WholeRequests(self.wsgi, LARGEST_REQUEST, largest_request_at)
        self._certificate = CertificateOnDisk(self.cfg.certfile, self.cfg.keyfile) if self.cfg.certfile else None
        behind_proxy = os.environ.get("CRANKMARK_BEHIND_PROXY") == "true"
        # Behind a proxy everybody comes from its one address, and the proxy is there to hold stalled ones back.
        self._guests = patience.Guests(each=patience.CONNECTIONS) if behind_proxy else patience.Guests()
        self._connections: set[asyncio.Task[Any]] = set()
        servers = [await asyncio.start_server(self._met, sock=_duplicate(each), backlog=512) for each in self.sockets]
        while not ending.is_set() and os.getppid() == self.ppid:
            self.notify()
            try:
                await asyncio.wait_for(ending.wait(), 1)
            except TimeoutError:
                continue
        await self._end(servers)

    async def _end(self, servers: list[asyncio.Server]) -> None:
        """Take nobody new, and let those who are being answered have their answer."""
        for server in servers:
            server.close()
        await self._context.terminated.set()
        if self._connections:
            await asyncio.wait(self._connections, timeout=self.cfg.graceful_timeout)

    async def _met(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        peer = writer.get_extra_info("peername")
        with self._guests.admitted(str(peer[0]) if peer else "") as is_in:
            if not is_in:
                writer.transport.abort()
                return
            task = asyncio.current_task()
            assert task is not None  # noqa: S101 - this is one
            self._connections.add(task)
            try:
                await self._answer(reader, writer)
            finally:
                self._connections.discard(task)

    async def _answer(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            if self._certificate:
                context = self._certificate.context()
                await writer.start_tls(context, ssl_handshake_timeout=patience.FOR_THE_HANDSHAKE)
            loop = asyncio.get_running_loop()
            await Connection(self._application, loop, self._config, self._context, {}, reader, writer)
        except (OSError, ssl.SSLError, TimeoutError, asyncio.CancelledError):
            # A guest who left, or who speaks no TLS: nothing to be told to anybody.
            writer.transport.abort()


def _duplicate(listening: Any) -> Any:
    # Closing ours must not close the one that gunicorn hands to the next worker.
    return listening.sock.dup()


def _hypercorn() -> Config:
    config = Config()
    config.alpn_protocols = ["http/1.1"]
    config.keep_alive_timeout = patience.FOR_THE_HEAD
    config.include_server_header = False
    config.errorlog = "-"
    config.loglevel = "ERROR"
    return config
