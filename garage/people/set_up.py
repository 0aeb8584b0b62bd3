"""The one-time code that opens the set-up page of an empty workshop: only who can read the console can use it."""

import secrets
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError

from garage.files.atomic import kept_text
from garage.people.models import Workshop

# Letters and digits that nobody mistakes for one another when reading them off a console.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
LENGTH = 10


def is_set_up() -> bool:
    return Workshop.objects.exists()


def one_time_code() -> str:
    """The code that opens the set-up page: made once, kept in the data folder until used, the same in every worker."""
    return kept_text(_code_file(), lambda: "".join(secrets.choice(ALPHABET) for _ in range(LENGTH)))


def is_the_code(typed: str) -> bool:
    file = _code_file()
    kept = file.read_text().strip() if file.exists() else ""
    plain = "".join(typed.upper().split()).replace("-", "")
    # An emptied file is no code, and must not let an empty one in.
    return len(kept) == LENGTH and secrets.compare_digest(plain.encode(), kept.encode())


def forget_the_code() -> None:
    _code_file().unlink(missing_ok=True)


def announce() -> str | None:
    """What the console says at the start of an empty workshop; nothing for one that is set up or has no tables yet."""
    try:
        if is_set_up():
            return None
    except DatabaseError:
        return None
    code = one_time_code()
    return f"This workshop is not set up yet. Open the site and enter the one-time code {code[:5]}-{code[5:]}"


def _code_file() -> Path:
    folder = Path(settings.DATA_DIR)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder / "set-up-code"
