"""How gunicorn serves the workshop and its trust page. Read by gunicorn; `manage.py serve` adds what differs."""

import os
import signal
import ssl
import threading
from collections.abc import Callable
from typing import Any

worker_class = "gthread"
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
threads = 8
# A sheet with many photographs takes its time on bad Wi-Fi.
timeout = 120
graceful_timeout = 10
keepalive = 15
loglevel = "warning"
# Nobody steers it from outside; `manage.py serve` does by signals.
control_socket_disable = True

_contexts: dict[tuple[str, ...], tuple[tuple[int, ...], ssl.SSLContext]] = {}


def ssl_context(conf: Any, default_ssl_context_factory: Callable[[], ssl.SSLContext]) -> ssl.SSLContext:
    """The context of the certificate as it lies on the disk now: a renewed one is served without a restart."""
    files = tuple(file for file in (conf.certfile, conf.keyfile) if file)
    known = _contexts.get(files)
    try:
        state = tuple(os.stat(file).st_mtime_ns for file in files)
        if known is None or known[0] != state:
            known = _contexts[files] = (state, default_ssl_context_factory())
    except OSError:  # among them ssl.SSLError: somebody is just putting the new key and certificate in place
        if known is None:
            raise
    return known[1]


def when_ready(server: Any) -> None:
    threading.Thread(target=_end_with_the_command, daemon=True).start()


def _end_with_the_command() -> None:
    """Standard input is a pipe from `manage.py serve`: its end means that the command is gone, however it went."""
    while os.read(0, 1):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
