"""What the console says once the workshop is open."""

from typing import TextIO

import segno
from cryptography import x509

from garage.site.lan.authority import fingerprint


def addresses(hosts: list[str], port: int) -> list[str]:
    return ["The workshop is open at", *(f"  https://{host}:{port}/" for host in hosts)]


def first_visit(page: str, authority: x509.Certificate) -> list[str]:
    return [
        f"A tablet that comes for the first time opens {page}",
        "which says how it comes to trust this machine. The fingerprint (SHA-256) it then shows must be this one:",
        *(f"  {line}" for line in fingerprint(authority)),
    ]


def draw(address: str, out: TextIO) -> None:
    """`address` as a code for a tablet's camera, where `out` can show one."""
    try:
        segno.make(address, error="m", micro=False).terminal(out, border=2, compact=True)
    except UnicodeEncodeError:
        return
