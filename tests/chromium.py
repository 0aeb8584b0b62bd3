"""Chromium for the tests: one that a whole worker shares, and none of whose contexts outlives its test."""

import asyncio
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # for most tests it need not be loaded
    from playwright.sync_api import Browser, Playwright

# Where this machine keeps its Chromium, if it has one.
PROGRAM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage"]


class SharedChromium:
    """Is begun once, and lent to one test after the other.

    Between two tests Playwright's event loop stands still, and nobody sees it: while one runs in a thread Django hands
    out other connections than before, and what prepares the next test would go past the test's own.
    """

    def __init__(self, playwright: "Playwright") -> None:
        self._playwright, self._loop = playwright, asyncio.get_running_loop()
        self._browser = self._launched()
        asyncio._set_running_loop(None)

    @contextmanager
    def lent(self) -> Iterator["Browser"]:
        """For one test, which makes contexts of its own; they end with it, and with them whatever they kept."""
        asyncio._set_running_loop(self._loop)
        try:
            if not self._browser.is_connected():
                self._browser = self._launched()
            yield self._browser
            for context in self._browser.contexts:
                context.close()
        finally:
            asyncio._set_running_loop(None)

    def end(self) -> None:
        asyncio._set_running_loop(self._loop)
        self._browser.close()
        self._playwright.stop()

    def _launched(self) -> "Browser":
        return self._playwright.chromium.launch(executable_path=PROGRAM, args=ARGUMENTS)
