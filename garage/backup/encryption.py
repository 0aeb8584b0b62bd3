"""A passphrase on an archive: the age format, version 1 (https://c2sp.org/age), of which many programs exist.

The passphrase makes a key by scrypt; with it the header keeps a file key, and an HMAC keeps the header. The archive
follows in chunks of 64 KiB, each sealed by ChaCha20-Poly1305 under a nonce that holds its place and whether it is the
last: none can be changed, left out, moved or cut off unseen, and no more than one of them is ever in memory.
"""

import base64
import hmac
import os
import re
from hashlib import sha256
from typing import IO, Protocol

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from garage.backup.errors import BackupError

FAMILY, VERSION = b"age-encryption.org/", b"age-encryption.org/v1"
CHUNK, TAG = 64 * 1024, 16
# OWASP Password Storage Cheat Sheet: scrypt with N = 2^17, r = 8, p = 1. It takes 128 MB and half a second.
WORK = 17
# What another program's archive may ask of this machine; the format's own reference stops there too.
MOST_WORK = 22
LONGEST_LINE = 200
STANZA = re.compile(rb"-> scrypt ([A-Za-z0-9+/]{22}) ([1-9][0-9]?)")


class Writer(Protocol):
    def write(self, content: bytes, /) -> int: ...


class EncryptingWriter:
    """Writes what it is given to `file`, encrypted. `finish` writes the last chunk: without it nothing is whole."""

    def __init__(self, file: Writer, passphrase: str) -> None:
        self._file, self._given, self._waiting, self._place = file, 0, bytearray(), 0
        file_key, nonce = os.urandom(16), os.urandom(16)
        file.write(_header(file_key, passphrase) + nonce)
        self._key = ChaCha20Poly1305(_derived(file_key, salt=nonce, info=b"payload"))

    def write(self, content: bytes) -> int:
        self._waiting += content
        self._given += len(content)
        # The last chunk is known by its flag, so one is always held back until it is known whether more follows.
        whole = (len(self._waiting) - 1) // CHUNK * CHUNK
        view = memoryview(self._waiting)
        for start in range(0, whole, CHUNK):
            self._seal(view[start : start + CHUNK], last=False)
        view.release()
        if whole > 0:
            del self._waiting[:whole]
        return len(content)

    def tell(self) -> int:
        return self._given

    def finish(self) -> None:
        self._seal(self._waiting, last=True)

    def _seal(self, chunk: bytes | bytearray | memoryview, *, last: bool) -> None:
        self._file.write(self._key.encrypt(_nonce(self._place, last=last), chunk, None))
        self._place += 1


class DecryptingReader:
    """Reads what `file` holds encrypted. Nothing of a chunk is given out before it is known to be as it was written.

    Raises
    ------
    BackupError
        At once for a wrong passphrase or a header that was changed; while reading, for a chunk that was changed,
        moved or cut off. `name` stands in the sentence.
    """

    def __init__(self, file: IO[bytes], passphrase: str, name: str) -> None:
        self._file, self._name, self._place, self._ready, self._ended = file, name, 0, b"", False
        file_key = _file_key(file, passphrase, name)
        self._key = ChaCha20Poly1305(_derived(file_key, salt=_exactly(file, 16), info=b"payload"))
        self._ahead = _exactly(file, CHUNK + TAG)

    def read(self, size: int = -1) -> bytes:
        parts, wanted = [], size
        while wanted and (self._ready or self._open_next()):
            part = self._ready if wanted < 0 else self._ready[:wanted]
            self._ready = self._ready[len(part) :]
            parts.append(part)
            wanted = wanted if wanted < 0 else wanted - len(part)
        return b"".join(parts)

    def _open_next(self) -> bool:
        if self._ended:
            return False
        sealed, self._ahead = self._ahead, _exactly(self._file, CHUNK + TAG)
        self._ended = not self._ahead
        try:
            self._ready = self._key.decrypt(_nonce(self._place, last=self._ended), sealed, None)
        except InvalidTag as problem:
            if self._ended:
                raise BackupError(f"{self._name} was cut short or changed. Take another backup.") from problem
            raise BackupError(
                f"{self._name} was changed, or its parts are not in their order. Take another backup."
            ) from problem
        self._place += 1
        return bool(self._ready)


def is_encrypted(beginning: bytes) -> bool:
    return beginning.startswith(FAMILY)


def _header(file_key: bytes, passphrase: str) -> bytes:
    salt = os.urandom(16)
    sealed = ChaCha20Poly1305(_from_passphrase(passphrase, salt, WORK)).encrypt(bytes(12), file_key, None)
    lines = [VERSION, b"-> scrypt %b %d" % (_base64(salt), WORK), _base64(sealed), b"---"]
    header = b"\n".join(lines)
    return header + b" " + _base64(_mac(file_key, header)) + b"\n"


def _file_key(file: IO[bytes], passphrase: str, name: str) -> bytes:
    version, stanza, sealed, mac = (file.readline(LONGEST_LINE).rstrip(b"\n") for _ in range(4))
    if version != VERSION:
        raise BackupError(f"{name} was encrypted in a form that this release does not know. Install a later release.")
    asked = STANZA.fullmatch(stanza)
    if asked is None or not mac.startswith(b"--- "):
        raise BackupError(f"{name} is not encrypted with a passphrase, or its beginning was changed.")
    salt, work = _unbase64(asked[1]), int(asked[2])
    if work > MOST_WORK:
        raise BackupError(f"{name} asks for more memory than a backup of Crankmark does. It was not made by Crankmark.")
    try:
        key = ChaCha20Poly1305(_from_passphrase(passphrase, salt, work)).decrypt(bytes(12), _unbase64(sealed), None)
    except (InvalidTag, ValueError) as problem:
        raise BackupError(f"The passphrase does not open {name}.") from problem
    header = b"\n".join([version, stanza, sealed, b"---"])
    if not hmac.compare_digest(_base64(_mac(key, header)), mac[4:]):
        raise BackupError(f"The beginning of {name} was changed. Take another backup.")
    return key


def _from_passphrase(passphrase: str, salt: bytes, work: int) -> bytes:
    salted = b"age-encryption.org/v1/scrypt" + salt
    return Scrypt(salt=salted, length=32, n=2**work, r=8, p=1).derive(passphrase.encode())


def _derived(key: bytes, *, salt: bytes, info: bytes) -> bytes:
    return HKDF(SHA256(), 32, salt or None, info).derive(key)


def _mac(file_key: bytes, header: bytes) -> bytes:
    return hmac.digest(_derived(file_key, salt=b"", info=b"header"), header, sha256)


def _nonce(place: int, *, last: bool) -> bytes:
    return place.to_bytes(11, "big") + bytes([last])


def _base64(content: bytes) -> bytes:
    return base64.b64encode(content).rstrip(b"=")


def _unbase64(text: bytes) -> bytes:
    return base64.b64decode(text + b"=" * (-len(text) % 4), validate=True)


def _exactly(file: IO[bytes], size: int) -> bytes:
    """So many bytes, and fewer only at the end: a network gives what it has."""
    parts = []
    while size and (part := file.read(size)):
        parts.append(part)
        size -= len(part)
    return b"".join(parts)
