"""What puts the lists that came with Crankmark into the workshop."""

from django.db import transaction
from django.utils import timezone

from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from jobs.checklists import shipped
from jobs.checklists.applies import check_rule
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, TemplateRevision
from jobs.checklists.shipped.spec import ShippedList


@transaction.atomic
def install_shipped_templates(*, actor: Actor) -> list[ChecklistTemplate]:
    """Put the lists that came with Crankmark into the workshop, and say which were put in or renewed.

    Doing it again changes nothing. A list that a later Crankmark brings in a new edition becomes a new published
    revision if the workshop left the old one as it was; where the workshop wrote its own, it becomes a draft.
    """
    return [template for listed in shipped.shipped_lists() if (template := _install(listed, actor))]


def _install(listed: ShippedList, actor: Actor) -> ChecklistTemplate | None:
    # Held, so that two people who ask at the same moment put a list in once.
    template, _ = ChecklistTemplate.objects.select_for_update().get_or_create(
        shipped_key=listed.key,
        defaults={"name": _free_name(listed.name), "kind": listed.kind, "suits": dict(listed.suits or {})},
    )
    revisions = list(template.revisions.all())  # newest first
    if not shipped.is_new_to(revisions, listed):
        return None
    now = actor.at
    own_work = bool(revisions) and revisions[0].made_by is not None
    revision = TemplateRevision.objects.create(
        template=template,
        number=revisions[0].number + 1 if revisions else 1,
        made_by=None,
        made_at=now,
        reason="came with Crankmark",
        shipped_fingerprint=listed.fingerprint(),
    )
    for position, row in enumerate(listed.rows(), start=1):
        check_rule(row["applies"])
        ChecklistItem.objects.create(revision=revision, position=position, **row)
    if not own_work:
        revision.published_at = now
        revision.save(update_fields=["published_at"])
    state = "published" if revision.published_at else "added as a draft"
    trail.write(
        Event.LIST_PUT_IN,
        template,
        f"Crankmark list ‘{template.name}’, revision {revision.number}, {state}",
        actor=actor,
    )
    return template


def _free_name(name: str) -> str:
    taken = set(ChecklistTemplate.objects.values_list("name", flat=True))
    return next(
        free
        for free in [name, f"{name} (Crankmark)", f"{name} ({timezone.now():%Y-%m-%d %H%M%S})"]
        if free not in taken
    )
