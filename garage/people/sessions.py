"""Sessions of which the database keeps the hash of the key: who copies the database cannot pass for anybody.

A row names its person and device beside, so that people see where they are signed in.
"""

import hashlib
from typing import Any
from uuid import UUID, uuid4

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
from django.utils import timezone

# In the session's data: what `garage.people.signing_in` notes of a sign-in.
OPENED = "opened"


def kept_key(session_key: str) -> str:
    """Under which name a session lies in the database. The cookie has the key itself."""
    return hashlib.sha256(session_key.encode()).hexdigest()[:40]


class SessionStore(DatabaseSessions):
    """Django's own, which asks and writes by the hash."""

    @classmethod
    def get_model_class(cls) -> Any:
        from garage.people.models import OpenSession  # Django loads this engine before the models

        return OpenSession

    def exists(self, session_key: str) -> bool:
        return super().exists(kept_key(session_key))

    def delete(self, session_key: str | None = None) -> None:
        key = session_key or self.session_key
        if key is not None:
            super().delete(kept_key(key))

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        made: Any = super().create_model_instance(data)
        made.session_key = kept_key(made.session_key)
        opened = data.get(OPENED, {})
        made.name = UUID(opened["name"]) if opened else uuid4()
        made.person_id = data.get(SESSION_KEY)
        made.by_pin = "by_pin" in data
        made.last_used = timezone.now()
        return made

    def _get_session_from_db(self) -> Any:
        """The row of this session while it lasts. Django's own looks for the key itself."""
        key = self.session_key or ""
        found = self.model.objects.filter(session_key=kept_key(key), expire_date__gt=timezone.now()).first()
        if found is None:
            self._session_key = None
        return found
