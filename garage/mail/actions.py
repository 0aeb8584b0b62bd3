"""Setting up the mail server."""

from typing import Any

from django.db import transaction

from garage.mail.models import MailSettings
from garage.mail.password import sealed
from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change, said_of


@transaction.atomic
def change_mail(*, values: dict[str, Any], password: str, row_version: int, actor: Actor) -> None:
    """Mail goes out as `values` say from now on; an empty `password` keeps the one that is there.

    A server without a user name needs none, and none is kept. That the password is another is noted, never which.

    Raises
    ------
    StaleEditError
        If another owner changed it in the meantime.
    """
    kept, _ = MailSettings.objects.get_or_create()
    names = list(values)
    if not values["user_name"]:
        values = values | {"sealed_password": ""}
    elif password:
        values = values | {"sealed_password": sealed(password)}
    if already_holds(kept, values):
        return
    before, had = said_of(kept, names, "mail: "), kept.sealed_password
    save_if_unchanged(kept, row_version=row_version, values=values)
    after = said_of(kept, names, "mail: ")
    if kept.sealed_password != had:
        said = "mail: password"
        before[said], after[said] = "kept" if had else "", "changed" if kept.sealed_password else ""
    note_change(get_workshop(), before=before, after=after, actor=actor)
