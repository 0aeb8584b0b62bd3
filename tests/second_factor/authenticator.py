"""A device with passkeys, in Python: what it signs is laid out by WebAuthn level 2, chapter 6, and written from it."""

import hashlib
import json
import secrets
import struct

import cbor2
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from webauthn.helpers import bytes_to_base64url as text

PRESENT, KEY_INCLUDED = 0x01, 0x40


class Device:
    """One key. `asked` is what the site handed the browser; the browser adds the origin of the page."""

    def __init__(self) -> None:
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.id, self.count = secrets.token_bytes(32), 0

    def made(self, asked, origin):
        numbers = self.key.public_key().public_numbers()
        # COSE (RFC 9053): an elliptic curve key on P-256, for ES256
        cose = {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32, "big"), -3: numbers.y.to_bytes(32, "big")}
        attested = bytes(16) + struct.pack(">H", len(self.id)) + self.id + cbor2.dumps(cose)
        data = self._data(asked["rp"]["id"], PRESENT | KEY_INCLUDED) + attested
        statement = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        said = {"clientDataJSON": self._page("webauthn.create", asked, origin), "attestationObject": statement}
        return self._answer(said)

    def signed(self, asked, origin):
        self.count += 1
        data = self._data(asked["rpId"], PRESENT)
        page = self._page("webauthn.get", asked, origin)
        signature = self.key.sign(data + hashlib.sha256(page).digest(), ec.ECDSA(SHA256()))
        return self._answer({"clientDataJSON": page, "authenticatorData": data, "signature": signature})

    def _data(self, host, flags):
        return hashlib.sha256(host.encode()).digest() + struct.pack(">BI", flags, self.count)

    def _page(self, kind, asked, origin):
        return json.dumps({"type": kind, "challenge": asked["challenge"], "origin": origin}).encode()

    def _answer(self, said):
        response = {name: text(value) for name, value in said.items()}
        return json.dumps({"id": text(self.id), "rawId": text(self.id), "type": "public-key", "response": response})
