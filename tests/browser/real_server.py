"""A server of its own process with a data folder of its own, which a test may really stop and start again."""

import atexit
import copy
import json
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from contextlib import closing
from pathlib import Path
from typing import Any

from psutil import CONN_CLOSE_WAIT, CONN_ESTABLISHED, net_connections

from tests.tables import DATABASE, lay_tables, put_back

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 180  # [s] until a start is given up; a first one lays every table, on a machine that is busy
# The scenes that this worker has played: the folder of each, and what it said.
_PLAYED: dict[tuple[str, ...], tuple[Path, dict[str, Any]]] = {}
# The server closes a connection when it has answered; until then the other end may be gone.
ANSWERING = (CONN_ESTABLISHED, CONN_CLOSE_WAIT)
UNTIL_LEFT_ALONE = 5


class RealServer:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://localhost:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None
        self.scene = ""  # the one that is set out
        self.environment = {
            **{name: value for name, value in os.environ.items() if name != "CRANKMARK_TEST_DB"},
            "CRANKMARK_DATA": str(folder),
            "CRANKMARK_DEVELOPMENT": "1",
            "DJANGO_SETTINGS_MODULE": "garage.site.settings",
        }

    def run(self, *arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, *arguments], cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def prepare(self, *scene: str) -> dict[str, Any]:
        """Lay the tables and play `scene`; gives back what it says.

        It is the name of one in tests.browser.scenes, or the arguments of another module that plays one. A scene into
        an empty folder is played once in a run of the tests and copied after that, keys and all.
        """
        if "DATABASE_URL" in self.environment:
            self.run("manage.py", "migrate", "-v0")
            return self._played(scene)
        if any(self.folder.iterdir()):
            lay_tables(self.folder)
            return self._played(scene)
        if scene not in _PLAYED:
            kept = Path(tempfile.mkdtemp(prefix="crankmark-scene-"))
            atexit.register(shutil.rmtree, kept, ignore_errors=True)
            lay_tables(self.folder)
            said = self._played(scene)
            shutil.copytree(self.folder, kept, dirs_exist_ok=True)
            _PLAYED[scene] = (kept, said)
            return said
        kept, said = _PLAYED[scene]
        shutil.copytree(kept, self.folder, dirs_exist_ok=True)
        return copy.deepcopy(said)

    def set_out(self, scene: str) -> dict[str, Any]:
        """Open with `scene`, in which nobody has done anything yet; where it is open with that scene it stays open.

        Starting takes longer than what most tests do, and the next one needs the book as it was and nothing else.
        """
        if self.process is not None and self.scene == scene and self._is_left_alone():
            kept, said = _PLAYED[scene,]
            with closing(sqlite3.connect(self.folder / DATABASE, timeout=20)) as book:
                put_back(kept / DATABASE, book)
            shutil.rmtree(self.folder / "files", ignore_errors=True)
            if (kept / "files").exists():
                shutil.copytree(kept / "files", self.folder / "files")
            return copy.deepcopy(said)
        self.stop()
        shutil.rmtree(self.folder)
        self.folder.mkdir()
        self.scene = scene
        said = self.prepare(scene)
        self.start()
        return said

    def _is_left_alone(self) -> bool:
        """Waits until nobody is connected: what a tablet of the test before has sent is answered by then."""
        deadline = time.monotonic() + UNTIL_LEFT_ALONE
        while time.monotonic() < deadline:
            if not any(one.laddr.port == self.port and one.status in ANSWERING for one in net_connections("tcp")):
                return True
            time.sleep(0.02)
        return False

    def _played(self, scene: tuple[str, ...]) -> dict[str, Any]:
        arguments = scene if scene[0].startswith("-") else ("-m", "tests.browser.scenes", *scene)
        return json.loads(self.run(*arguments).splitlines()[-1])

    def start(self) -> None:
        log = (self.folder / "server.log").open("ab")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "garage.site.wsgi", "-b", f"127.0.0.1:{self.port}", "-w", "1",
             "--threads", "6", "--graceful-timeout", "1", "--log-level", "warning"],
            cwd=ROOT, env=self.environment, stdout=log, stderr=log,
        )  # fmt: skip
        log.close()
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            try:
                with urllib.request.urlopen(f"{self.url}/health/", timeout=5):  # noqa: S310 - our own address
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        raise AssertionError(f"no answer from {self.url}: {(self.folder / 'server.log').read_text()[-2000:]}")

    def stop(self, how: int = signal.SIGTERM) -> None:
        """Stop it; with SIGKILL in the middle of whatever it was doing."""
        if self.process is None:
            return
        if how == signal.SIGKILL:
            # gunicorn's worker outlives its killed master for a moment; both are ours.
            for child in _children_of(self.process.pid):
                os.kill(child, signal.SIGKILL)
        self.process.send_signal(how)
        self.process.wait(timeout=PATIENCE)
        self.process = None

    def rows(self, question: str, *values: object) -> list[tuple[Any, ...]]:
        """Ask its database directly, behind the back of all our own code."""
        with closing(sqlite3.connect(self.folder / DATABASE, timeout=20)) as book:
            return book.execute(question, values).fetchall()


def _children_of(pid: int) -> list[int]:
    listed = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(child) for child in listed.read_text().split()] if listed.exists() else []
