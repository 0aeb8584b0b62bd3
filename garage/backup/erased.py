"""The list of erased customers beside the backups, out of reach of what is restored: numbers and choices, no names."""

import json
import os
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings

NAME = "erased-customers.jsonl"


def note_erased(*, customer: int, at: datetime, chosen: dict[str, Any]) -> None:
    """Add one to the list where backups are kept; nothing where there is no such place."""
    folder = settings.BACKUP_FOLDER
    if folder is None or not Path(folder).is_dir():
        return
    line = json.dumps({"customer": customer, "at": at.isoformat(), **chosen}) + "\n"
    with open(Path(folder) / NAME, "a", opener=lambda path, flags: os.open(path, flags, 0o600)) as opened:
        opened.write(line)
        opened.flush()
        os.fsync(opened.fileno())


def erased_since(folder: Path, moment: datetime) -> list[dict[str, Any]]:
    """Those of the list in `folder` who were erased after `moment`, each once."""
    try:
        lines = (folder / NAME).read_text().splitlines()
    except OSError:
        return []
    rows = [json.loads(line) for line in lines if line.strip()]
    since = {row["customer"]: row for row in rows if datetime.fromisoformat(row["at"]) > moment}
    return list(since.values())
