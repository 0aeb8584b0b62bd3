"""Under which names and addresses the tablets of the workshop reach this machine."""

import os
import re
import socket
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address
from urllib.parse import urlsplit

import psutil

Address = IPv4Address | IPv6Address

# RFC 6762 (multicast names), RFC 6761 (this machine), RFC 8375 (home networks), and the domain ICANN reserved in 2024.
LOCAL_DOMAINS = ("local", "localhost", "home.arpa", "internal")
# What a certificate may carry as a host name: letters, digits and hyphens (RFC 1123, section 2.1).
HOST_NAME = re.compile(r"(?=.{1,253}$)([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*")
# Where a packet would go to the outside, to learn which of several addresses faces the network. None is sent.
SOMEWHERE_OUTSIDE = ("198.51.100.1", 9)


@dataclass(frozen=True, slots=True)
class Names:
    """The host names and addresses of one machine, each once, those that people should use first."""

    hosts: tuple[str, ...]
    addresses: tuple[Address, ...]

    def as_allowed_hosts(self) -> list[str]:
        return [*self.hosts, *(in_url(address) for address in self.addresses)]

    def reachable(self) -> list[str]:
        """Those that lead here from another machine, as they stand in an address."""
        outward = [in_url(address) for address in self.addresses if not address.is_loopback]
        return [*outward, *(host for host in self.hosts if host.endswith(".local"))]


def asked_for() -> list[str]:
    """The names in ALLOWED_HOSTS: under these too the workshop is to be reached, be they patterns or not."""
    return [name for name in map(str.strip, os.environ.get("ALLOWED_HOSTS", "").split(",")) if name]


def in_url(address: Address) -> str:
    return f"[{address}]" if address.version == 6 else str(address)


def is_local(host: str) -> bool:
    """Whether `host`, with or without a port, is a name or address that answers in a local network only."""
    bare = urlsplit(f"//{host}").hostname or ""
    try:
        return not ip_address(bare).is_global
    except ValueError:
        return "." not in bare or any(bare.endswith(f".{domain}") for domain in LOCAL_DOMAINS)


def names_of_this_machine() -> Names:
    """What this machine is called now, and what it is asked to be called."""
    return names_from(socket.gethostname(), _addresses(), asked_for())


def names_from(host_name: str, addresses: Iterable[Address], also: Iterable[str] = ()) -> Names:
    """`host_name` with and without its domain and as a multicast name (RFC 6762), `addresses`, and `also`."""
    whole = host_name.strip(".").lower()
    bare = whole.partition(".")[0]
    hosts = [f"{bare}.local", bare, whole, "localhost"]
    addresses = list(addresses)
    for name in also:
        try:
            addresses.append(ip_address(name.strip("[]")))
        except ValueError:
            hosts.append(name.lower())
    found = [host for host in dict.fromkeys(hosts) if HOST_NAME.fullmatch(host) and host != "localhost.local"]
    here = [ip_address("127.0.0.1"), ip_address("::1")]
    return Names(tuple(found), tuple(dict.fromkeys([*addresses, *here])))


def _addresses() -> list[Address]:
    up = {name for name, state in psutil.net_if_stats().items() if state.isup}
    found = [
        ip_address(one.address.partition("%")[0])
        for name, entries in psutil.net_if_addrs().items()
        if name in up
        for one in entries
        if one.family in (socket.AF_INET, socket.AF_INET6)
    ]
    # Link-local IPv6 needs a zone, which no browser takes in an address.
    useful = [one for one in found if not (one.version == 6 and one.is_link_local) and not one.is_unspecified]
    outward = _facing_the_network()
    return sorted(useful, key=lambda one: (one != outward, one.is_loopback, one.version))


def _facing_the_network() -> Address | None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(SOMEWHERE_OUTSIDE)
        except OSError:  # a network without a way out has no such address
            return None
        return ip_address(probe.getsockname()[0])
