"""`manage.py serve` as a workshop runs it: over https, with an authority of its own and the production settings."""

import base64
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization

from tests.browser.real_server import PATIENCE, ROOT, RealServer

OPEN = "Ctrl-C ends it."


@contextmanager
def served(folder: Path, *options: str) -> Iterator["LanServer"]:
    """The workshop of `folder`, open until the block ends; `.url` is where, `.authority` whom to trust."""
    server = LanServer(folder, *options)
    try:
        server.start()
        yield server
    finally:
        server.stop()


class LanServer(RealServer):
    """Prepares, starts and stops as any real server does; without a worker, whom few tests need, unless told."""

    with_worker = False

    def __init__(self, folder: Path, *options: str) -> None:
        super().__init__(folder)
        with socket.socket() as taken, socket.socket() as free:
            taken.bind(("127.0.0.1", self.port))  # held meanwhile, or the second may be the same
            free.bind(("127.0.0.1", 0))
            self.http_port = free.getsockname()[1]
        self.url, self.plain_url = f"https://localhost:{self.port}", f"http://localhost:{self.http_port}"
        self.options = options
        # A place left open in the developer's own environment must not decide what is tested.
        for name in ("CRANKMARK_DEVELOPMENT", "CRANKMARK_HTTPS", "CRANKMARK_HSTS", "ALLOWED_HOSTS", "DATABASE_URL"):
            self.environment.pop(name, None)
        self.environment["WEB_CONCURRENCY"] = "1"

    def start(self) -> None:
        self.begin()
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            if OPEN in self.said():
                return
            assert self.process is not None
            if self.process.poll() is not None:
                break
            time.sleep(0.1)
        raise AssertionError(f"not open: {self.said()[-2000:]}")

    def begin(self) -> None:
        """Start it and wait for nothing."""
        with (self.folder / "server.log").open("wb") as log:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "serve", "--bind", "127.0.0.1", "--port", str(self.port),
                 "--http-port", str(self.http_port), *([] if self.with_worker else ["--without-worker"]),
                 *self.options],
                cwd=ROOT, env=self.environment, stdout=log, stderr=log,
            )  # fmt: skip

    def stop(self, how: int = signal.SIGTERM) -> None:
        if self.process is not None and how == signal.SIGKILL:
            # The whole family at once, as a power cut does it.
            for one in psutil.Process(self.process.pid).children(recursive=True):
                one.kill()
        super().stop(how)

    def said(self) -> str:
        """What stands on the console since the last start."""
        return (self.folder / "server.log").read_text()

    @property
    def authority(self) -> x509.Certificate:
        return x509.load_der_x509_certificate((self.folder / "certificates" / "authority.crt").read_bytes())

    def trusted(self) -> ssl.SSLContext:
        """A client that trusts this workshop's authority and nobody else."""
        return ssl.create_default_context(cadata=self.authority.public_bytes(serialization.Encoding.DER))

    def pin(self) -> str:
        """What Chromium's `--ignore-certificate-errors-spki-list` takes: the checksum of the served public key."""
        served = ssl.get_server_certificate(("127.0.0.1", self.port))
        key = x509.load_pem_x509_certificate(served.encode()).public_key()
        digest = hashes.Hash(hashes.SHA256())
        digest.update(key.public_bytes(serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo))
        return base64.b64encode(digest.finalize()).decode()
