"""The sockets on which the workshop listens, opened before anything else, and the words where they cannot be."""

import errno
import socket
from contextlib import suppress

EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104 - the tablets are elsewhere; --bind narrows it


class DoorError(Exception):
    """A port or address cannot be listened on; the text says why and what to do."""


def opened(bind: str, port: int, option: str) -> list[socket.socket]:
    """Sockets listening on `port` of the address `bind`, or of every address where it is empty.

    Raises
    ------
    DoorError
        Naming `option`, which chooses another port.
    """
    if bind:
        return [_listening(_address(bind), port, option)]
    sockets = [_listening(EVERYWHERE[0], port, option)]
    # A machine may be without IPv6 altogether; one that has it is reached both ways.
    if socket.has_ipv6:
        with suppress(DoorError):
            sockets.append(_listening(EVERYWHERE[1], sockets[0].getsockname()[1], option))
    return sockets


def _address(bind: str) -> str:
    try:
        return str(socket.getaddrinfo(bind.strip("[]"), None, type=socket.SOCK_STREAM)[0][4][0])
    except OSError as problem:
        raise DoorError(f"{bind} is no address of this machine. Give one that it has with --bind.") from problem


def _listening(address: str, port: int, option: str) -> socket.socket:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    door = socket.socket(family, socket.SOCK_STREAM)
    try:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if family == socket.AF_INET6:
            door.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        door.bind((address, port))
        door.listen(512)
    except OSError as problem:
        door.close()
        raise DoorError(_words(problem, address, port, option)) from problem
    return door


def _words(problem: OSError, address: str, port: int, option: str) -> str:
    match problem.errno:
        case errno.EADDRINUSE:
            return (
                f"Port {port} is taken by another program, perhaps by an earlier start of this one. "
                f"End that one, or choose another port with {option}."
            )
        case errno.EACCES | errno.EPERM:
            return f"This user may not listen on port {port}. Choose one above 1023 with {option}."
        case errno.EADDRNOTAVAIL:
            return f"{address} is no address of this machine. Give one that it has with --bind."
    return f"Port {port} of {address} cannot be listened on ({problem.strerror}). Choose another with {option}."
