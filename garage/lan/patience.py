"""How long and how many: what one request may take to arrive, and how many connections one address may hold."""

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from ipaddress import IPv6Address, ip_address

# [seconds]
FOR_THE_HANDSHAKE = 10
# From the opening of a connection, or the answer before, to the whole head of the next request.
FOR_THE_HEAD = 15
# A form at once; a photograph over bad Wi-Fi as long as it comes in at this pace.
FOR_A_FORM = 20
SLOWEST_UPLOAD = 50_000  # [bytes per second]
FOR_TAKING_THE_ANSWER = 60

# A browser opens six at once; several people may share one tablet stand or one router. Per worker.
CONNECTIONS_OF_ONE_ADDRESS = 32
CONNECTIONS = 400
# What is being answered at once in each worker.
THREADS = 8


def for_the_body(announced: int) -> float:
    """How long a body of so many bytes may take [seconds]."""
    return FOR_A_FORM + announced / SLOWEST_UPLOAD


class Guests:
    """Who is connected now. One house's worth of IPv6 addresses counts as one, for it costs nothing to have many."""

    def __init__(self, each: int = CONNECTIONS_OF_ONE_ADDRESS, together: int = CONNECTIONS) -> None:
        self.each, self.together = each, together
        self._of: Counter[str] = Counter()

    @contextmanager
    def admitted(self, address: str) -> Iterator[bool]:
        """Whether one more connection from `address` is taken; it counts until the block ends."""
        house = _house(address)
        if self._of[house] >= self.each or self._of.total() >= self.together:
            yield False
            return
        self._of[house] += 1
        try:
            yield True
        finally:
            self._of[house] -= 1
            if not self._of[house]:
                del self._of[house]


def _house(address: str) -> str:
    try:
        parsed = ip_address(address.split("%")[0])
    except ValueError:
        return address
    if isinstance(parsed, IPv6Address):
        return str(parsed.ipv4_mapped or int(parsed) >> 64)
    return str(parsed)
