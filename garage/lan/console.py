"""What the console says once the workshop is open."""

import io
from typing import Any

import segno
from cryptography import x509

from garage.lan.authority import fingerprint


def addresses(hosts: list[str], port: int) -> list[str]:
    return ["The workshop is open at", *(f"  https://{host}:{port}/" for host in hosts)]


def first_visit(page: str, authority: x509.Certificate) -> list[str]:
    return [
        f"A tablet that comes for the first time opens {page}",
        "which says how it comes to trust this machine. The fingerprint (SHA-256) it then shows must be this one:",
        *(f"  {line}" for line in fingerprint(authority)),
    ]


def drawn(address: str) -> str:
    """`address` as a code for a tablet's camera, two rows of it to a line."""
    text = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(text, compact=True)
    # White on black whatever the console's own colours are: not every camera reads a code turned inside out.
    return "\n".join(f"\x1b[97;40m{line}\x1b[0m" for line in text.getvalue().splitlines())


def can_draw(out: Any) -> bool:
    """Whether somebody looks at `out`, and whether it can show the halves of which a code is made."""
    if not out.isatty():
        return False
    try:
        "▀▄█".encode(getattr(out, "encoding", None) or "ascii")
    except UnicodeEncodeError:
        return False
    return True
