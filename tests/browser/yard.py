"""Several web machines of one workshop: one database, one store of files, one secret key."""

from pathlib import Path

from tests.browser.lan import LanServer

KEY = "a secret key that all machines of this yard were given alike"


class YardServer(LanServer):
    """`manage.py serve --behind-proxy` as one of several; without a `database` it shares the folder of `first`."""

    def __init__(self, folder: Path, *options: str, shared: dict[str, str], first: Path) -> None:
        super().__init__(folder, "--behind-proxy", *options)
        self.url = f"http://localhost:{self.port}"
        self.environment |= {"SECRET_KEY": KEY, "CRANKMARK_HTTPS": "false", **shared}
        if "DATABASE_URL" not in shared:
            self.environment["CRANKMARK_DATA"] = str(first)
