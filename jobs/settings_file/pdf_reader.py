"""Run as a process of its own: reads a PDF from its input and writes the one file asked for, or why not, as JSON.

It stands alone: nothing of ours is imported, and before the PDF is looked at the process gives up memory and time
beyond what a sheet needs. Called by `out_of_pdf.py`.
"""

import base64
import json
import sys
from contextlib import suppress
from io import BytesIO
from typing import Any

# Python and pypdf take 60 MB, a sheet with photographs 40 more.
MEMORY = 400 * 1024 * 1024  # bytes
# What any one stream may unpack to; those of a sheet's structure are below 1 MB.
STREAM = 20 * 1024 * 1024  # bytes
OBJECTS = 100_000


def give_up(seconds: int) -> None:
    """Memory and time of this process end here, as far as its system knows such limits."""
    try:
        import resource
    except ImportError:  # Windows: the limits of pypdf and the caller's clock are left
        return
    for limit, most in (
        (resource.RLIMIT_AS, MEMORY),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, 0),
    ):
        with suppress(ValueError, OSError):  # a system that does not know this one
            resource.setrlimit(limit, (most, most))


def looked_up(pdf: bytes, name: str, pages: int, size: int) -> dict[str, str]:
    """The file called `name`, or a word for what stands against it."""
    from pypdf import PdfReader
    from pypdf.errors import LimitReachedError, PyPdfError

    try:
        reader = PdfReader(BytesIO(pdf), xref_stream_maximum_entries=OBJECTS)
        if reader.is_encrypted:
            return {"problem": "encrypted"}
        root: Any = reader.trailer["/Root"]
        if not 0 <= int(root["/Pages"].get("/Count", 0)) <= pages:
            return {"problem": "too many pages"}
        found = []
        for place, one in enumerate(reader.attachment_list):
            if place == 100:
                return {"problem": "too much"}
            if name in (one.name, one.alternative_name):
                found.append(one)
        if len(found) != 1:
            return {"problem": "several" if found else "nothing"}
        content = found[0].content
        if len(content) > size:
            return {"problem": "too much"}
        return {"found": base64.b64encode(content).decode("ascii")}
    except (MemoryError, RecursionError, LimitReachedError):
        return {"problem": "too much"}
    except (PyPdfError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError, AssertionError):
        return {"problem": "damaged"}  # as many ways to be damaged as there are lines in a reader


def main() -> None:
    asked = json.loads(sys.argv[1])
    pdf = sys.stdin.buffer.read()
    give_up(asked["seconds"])
    import logging

    from pypdf import overwrite_configuration

    logging.disable()
    overwrite_configuration(
        maximum_declared_stream_length=STREAM,
        array_based_stream_maximum_output_length=STREAM,
        lzw_maximum_output_length=STREAM,
        run_length_maximum_output_length=STREAM,
        zlib_maximum_output_length=STREAM,
        brotli_maximum_output_length=STREAM,
        jbig2dec_binary=None,
    )
    json.dump(looked_up(pdf, asked["name"], asked["pages"], asked["bytes"]), sys.stdout)


if __name__ == "__main__":
    main()
