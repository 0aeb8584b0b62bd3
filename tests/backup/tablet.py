"""A tablet that sends to a real server over http: ticks, photographs and papers, each with what was acknowledged."""

import hashlib
import json
import urllib.error
import urllib.parse
import urllib.request
import uuid
from datetime import UTC, datetime

TOKEN = "a" * 32


class Tablet:
    """One signed-in person at one sheet."""

    def __init__(self, url: str, session: str, person: int, code: str) -> None:
        self.url, self.person, self.code = url, person, code
        self._headers = {
            "Cookie": f"sessionid={session}; csrftoken={TOKEN}", "X-CSRFToken": TOKEN, "Accept": "application/json",
        }  # fmt: skip

    def tick(self, item: str, **more: object) -> str:
        """An entry; its id, once the server has said that it is kept."""
        message = self._message("entry", item, **more)
        return self._kept(message, json.dumps(message).encode(), "application/json")

    def photograph(self, item: str, picture: bytes) -> str:
        message = self._message("photograph", item, entry=str(uuid.uuid4()))
        edge = uuid.uuid4().hex
        parts = [
            f'--{edge}\r\nContent-Disposition: form-data; name="message"\r\n\r\n{json.dumps(message)}\r\n'.encode(),
            f'--{edge}\r\nContent-Disposition: form-data; name="photograph"; filename="x.jpg"\r\n'
            "Content-Type: image/jpeg\r\n\r\n".encode(), picture, f"\r\n--{edge}--\r\n".encode(),
        ]  # fmt: skip
        return self._kept(message, b"".join(parts), f"multipart/form-data; boundary={edge}")

    def paper(self) -> str:
        """A bench record; the idempotency key under which it lies."""
        key = str(uuid.uuid4())
        form = urllib.parse.urlencode({"idempotency_key": key, "csrfmiddlewaretoken": TOKEN}).encode()
        self._post(f"/jobs/{self.code}/handover/issue/bench%20record/", form, "application/x-www-form-urlencoded")
        return key

    def _message(self, kind: str, item: str, **more: object) -> dict[str, object]:
        now = datetime.now(UTC).isoformat()
        return {
            "message": kind, "id": str(uuid.uuid4()), "maker": self.person, "item": item, "madeAt": now, "sentAt": now,
            "outcome": "done", **more,
        }  # fmt: skip

    def _kept(self, message: dict[str, object], body: bytes, kind: str) -> str:
        answer = self._post(f"/jobs/{self.code}/sheet/fitting/send/", body, kind)
        assert json.loads(answer) == {"kept": message["id"]}
        return str(message["id"])

    def _post(self, path: str, body: bytes, kind: str) -> bytes:
        request = urllib.request.Request(f"{self.url}{path}", body, {**self._headers, "Content-Type": kind})  # noqa: S310
        try:
            with urllib.request.urlopen(request, timeout=120) as answer:  # noqa: S310 - our own address
                return answer.read()
        except urllib.error.HTTPError as refusal:
            raise AssertionError(f"{path}: {refusal.code} {refusal.read()[:500]!r}") from refusal


def hash_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
