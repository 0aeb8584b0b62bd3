"""Keeps the certificate fitting to the machine while it serves, and knows under which names it is reached."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from cryptography import x509

from garage.lan.authority import AuthorityUnreadableError, kept_authority, kept_server_certificate
from garage.lan.names import names_of_this_machine


class NamesWatch:
    """Notices when the machine gets another name or address, and leaves certificates to whoever has made them."""

    def __init__(self) -> None:
        self.names = names_of_this_machine()

    def look(self) -> bool:
        """Whether the names changed since the last look."""
        before, self.names = self.names, names_of_this_machine()
        return self.names != before

    def hosts(self) -> list[str]:
        """Where tablets find the workshop, the best first."""
        return self.names.reachable() or ["localhost"]


class AuthorityWatch(NamesWatch):
    """Makes authority and certificate at the start and later renews what is due. `say` takes lines for the console."""

    def __init__(self, folder: Path, say: Callable[[str], None]) -> None:
        super().__init__()
        self.folder, self.say, self._trouble = folder, say, ""
        self._authority = kept_authority(folder, self.names, _now())
        self.certificate_file = kept_server_certificate(folder, self._authority, self.names, _now()).file
        self._say_who_is_left_out()

    @property
    def authority(self) -> x509.Certificate:
        return self._authority.certificate

    def look(self) -> bool:
        changed = super().look()
        try:
            self._renew()
            self._trouble = ""
        except (OSError, AuthorityUnreadableError) as problem:
            # What is served stays good for weeks: said once, and tried again at the next look.
            if self._trouble != str(problem):
                self._trouble = str(problem)
                self.say(f"This machine’s certificate could not be looked after: {problem}")
        if changed:
            self._say_who_is_left_out()
        return changed

    def hosts(self) -> list[str]:
        return self._authority.may_vouch_for(self.names).reachable() or ["localhost"]

    def _renew(self) -> None:
        before = self.authority
        self._authority = kept_authority(self.folder, self.names, _now())
        if self.authority != before:
            self.say("The workshop’s authority was near its end. Every tablet must come to trust the new one.")
        certificate = kept_server_certificate(self.folder, self._authority, self.names, _now())
        if certificate.is_new:
            self.say(f"This machine has a new certificate, for {', '.join(certificate.names.as_allowed_hosts())}.")

    def _say_who_is_left_out(self) -> None:
        vouched_for = self._authority.may_vouch_for(self.names).reachable()
        if left_out := [name for name in self.names.reachable() if name not in vouched_for]:
            self.say(f"Not vouched for, since they reach beyond a local network: {', '.join(left_out)}.")


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)
