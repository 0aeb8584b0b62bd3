"""Serving the demo to this machine, the way a workshop would be served, until Ctrl-C."""

import socket
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.db import connections

HERE = "127.0.0.1"
THREADS = 8


class PortTakenError(Exception):
    """Something else listens on the port."""


def refuse_a_taken_port(port: int) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HERE, port))
        except (OSError, OverflowError) as problem:
            raise PortTakenError(
                f"Port {port} cannot be had ({problem}). Something else may be listening there: "
                "end it, or name another one with --port."
            ) from problem


def serve(port: int) -> None:
    connections.close_all()  # a server process opens its own
    try:
        from gunicorn.app.base import BaseApplication
    except ImportError:  # gunicorn wants a Unix
        _serve_in_this_process(port)
        return

    class Demo(BaseApplication):
        def load_config(self) -> None:
            for name, value in {
                "bind": f"{HERE}:{port}",
                "worker_class": "gthread",
                "threads": THREADS,
                "loglevel": "warning",
                "timeout": 60,
                "graceful_timeout": 2,
            }.items():
                self.cfg.set(name, value)

        def load(self) -> Any:
            return _application()

    Demo().run()


def _application() -> Any:
    from garage.site.wsgi import application

    return application


class _ThreadedServer(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class _QuietHandler(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """A demo's console stays with the addresses and passwords."""


def _serve_in_this_process(port: int) -> None:
    with make_server(HERE, port, _application(), _ThreadedServer, _QuietHandler) as server:
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            return
