"""The file that goes along in a PDF, taken out by a process of its own that may use so much and no more."""

import base64
import json
import os
import subprocess
import sys
from pathlib import Path

from jobs.settings_file.reading import LARGEST_BYTES
from jobs.settings_file.refusals import SheetRefusedError
from jobs.settings_file.writing import FILE_NAME

LARGEST_PDF = 10 * 1024 * 1024
TOO_LARGE = "This file is larger than 10 MB. A sheet of ours is smaller."
MOST_PAGES = 400
NOT_A_PDF = "This is not a PDF."

_READER = Path(__file__).with_name("pdf_reader.py")
_SECONDS = 20
_SENTENCES = {
    "encrypted": "This PDF is locked with a password. Save it without one.",
    "damaged": "This PDF is damaged.",
    "too much": "This PDF takes too much to open. It is not a sheet of ours.",
    "too many pages": f"This PDF has more than {MOST_PAGES} pages. It is not a sheet of ours.",
    "nothing": "This PDF has no settings in it. Only papers that name a map have.",
    "several": "This PDF holds the settings of several cars. Take one sheet.",
}


def settings_in(pdf: bytes) -> bytes:
    """The settings file in `pdf`, as it stands there.

    A PDF can unpack to a thousand times its size, or send its reader round in circles. So it is opened by a process
    whose memory and time end (`pdf_reader.py`), and nothing of it but that one file comes back.

    Raises
    ------
    SheetRefusedError
        If there is none, or the file cannot or may not be opened.
    """
    if len(pdf) > LARGEST_PDF:
        raise SheetRefusedError(TOO_LARGE)
    if b"%PDF-" not in pdf[:1024]:  # where readers look for it (ISO 32000-1, annex H, note 13; from memory)
        raise SheetRefusedError(NOT_A_PDF)
    limits = json.dumps({"name": FILE_NAME, "pages": MOST_PAGES, "bytes": LARGEST_BYTES, "seconds": _SECONDS})
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter with our own file
            [sys.executable, "-I", str(_READER), limits],
            input=pdf,
            capture_output=True,
            check=False,
            timeout=_SECONDS,
            # No key or password of this process stands in that one's environment.
            env={name: os.environ[name] for name in ("SYSTEMROOT",) if name in os.environ},
        )
    except subprocess.TimeoutExpired as late:
        raise SheetRefusedError(_SENTENCES["too much"]) from late
    answer = _answer_of(done.stdout)
    if "found" in answer:
        return base64.b64decode(answer["found"])
    raise SheetRefusedError(_SENTENCES[answer["problem"]])


def _answer_of(told: bytes) -> dict[str, str]:
    """What the process said before it ended; one that was ended said nothing."""
    try:
        answer: dict[str, str] = json.loads(told)
    except ValueError:
        return {"problem": "too much"}
    return answer
