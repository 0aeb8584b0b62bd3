"""Sessions of which the database keeps the hash of the key: who copies the database cannot pass for anybody."""

import hashlib

from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
from django.contrib.sessions.models import Session


def kept_key(session_key: str) -> str:
    """Under which name a session lies in the database. The cookie has the key itself."""
    return hashlib.sha256(session_key.encode()).hexdigest()[: Session._meta.get_field("session_key").max_length]


class SessionStore(DatabaseSessions):
    """Django's own, which asks and writes by the hash."""

    def exists(self, session_key: str) -> bool:
        return super().exists(kept_key(session_key))

    def delete(self, session_key: str | None = None) -> None:
        key = session_key or self.session_key
        if key is not None:
            super().delete(kept_key(key))

    def create_model_instance(self, data: dict[str, object]) -> Session:
        made = super().create_model_instance(data)
        made.session_key = kept_key(made.session_key)
        return made

    def _get_session_from_db(self) -> Session | None:
        key = self.session_key
        if key is None:
            return None
        # The same question under the other name; what is found is read by Django's own hand.
        asked = SessionStore(None)
        asked._session_key = kept_key(key)
        found = DatabaseSessions._get_session_from_db(asked)
        if found is None:
            self._session_key = None
        return found
