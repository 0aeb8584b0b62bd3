"""How gunicorn serves the workshop and its trust page. Read by gunicorn; `manage.py serve` adds what differs."""

import os
import signal
import ssl
import threading
from typing import Any

worker_class = "garage.lan.worker.PatientWorker"
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
# A worker that has not been heard of for so long is replaced.
timeout = 120
graceful_timeout = 10
loglevel = "warning"
# Nobody steers it from outside; `manage.py serve` does by signals.
control_socket_disable = True


class CertificateOnDisk:
    """The certificate as it lies on the disk now: a renewed one is served without a restart."""

    def __init__(self, certificate: str, key: str | None) -> None:
        self._files = (certificate, key)
        self._state, self._context = self._stat(), self._load()

    def context(self) -> ssl.SSLContext:
        try:
            if (state := self._stat()) != self._state:
                self._context, self._state = self._load(), state
        except OSError:  # among them ssl.SSLError: somebody is just putting the new key and certificate in place
            pass
        return self._context

    def _stat(self) -> tuple[int, ...]:
        return tuple(os.stat(file).st_mtime_ns for file in self._files if file)

    def _load(self) -> ssl.SSLContext:
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(*self._files, password="")
        context.set_alpn_protocols(["http/1.1"])
        return context


def when_ready(server: Any) -> None:
    threading.Thread(target=_end_with_the_command, daemon=True).start()


def child_exit(server: Any, worker: Any) -> None:
    """The figures that only a living worker has go with it; what it counted stays counted."""
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        from prometheus_client.multiprocess import mark_process_dead

        mark_process_dead(worker.pid)


def _end_with_the_command() -> None:
    """Standard input is a pipe from `manage.py serve`: its end means that the command is gone, however it went."""
    while os.read(0, 1):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
