"""Writing check-lists: a draft is written and reordered freely, a published revision never changes again."""

from typing import Any
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.db.models import F, Max
from django.utils.text import slugify

from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import save_if_unchanged
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, SheetKind, TemplateRevision
from jobs.checklists.photographs import Picture

# Larger than any list, so that numbering anew never meets the numbers it replaces.
OUT_OF_THE_WAY = 10_000
# What makes an item, besides its place in a list.
CONTENT = [
    "kind", "text", "help", "caution", "source", "picture", "unit", "quantity", "correction", "low", "high",
    "note_above", "note_text", "decimals", "choices", "good_choices", "required", "second_person", "hold_point",
    "reader", "car_fact", "inspection_key", "applies",
]  # fmt: skip


class ListRuleError(RuleRefusedError):
    """A rule of check-lists is in the way. The message is for the person who asked."""


@transaction.atomic
def create_template(
    *, name: str, kind: SheetKind, suits: dict[str, Any], idempotency_key: UUID, actor: Actor
) -> ChecklistTemplate:
    """A new list with an empty draft. The same `idempotency_key` again is the same list."""
    known = ChecklistTemplate.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        return known
    template = ChecklistTemplate.objects.create(name=name, kind=kind, suits=suits, idempotency_key=idempotency_key)
    TemplateRevision.objects.create(template=template, number=1, made_by=actor.person, made_at=actor.at)
    trail.write(Event.LIST_MADE, template, f"List ‘{name}’ made", actor=actor)
    return template


@transaction.atomic
def edit_template(*, template: ChecklistTemplate, row_version: int, actor: Actor, **values: Any) -> None:
    """Rename, retire or offer a list for other cars. Raises `StaleEditError` if somebody else did meanwhile."""
    before = trail.said_of(template, list(values))
    save_if_unchanged(template, row_version=row_version, values=values)
    after = trail.said_of(template, list(values))
    trail.note_change(template, before=before, after=after, actor=actor, event=Event.LIST_CHANGED)


@transaction.atomic
def begin_draft(*, template: ChecklistTemplate, actor: Actor) -> TemplateRevision:
    """The draft of the next revision: the one there is, or a copy of the newest revision."""
    newest = template.revisions.first()
    if newest and newest.published_at is None:
        return newest
    try:
        with transaction.atomic():
            draft = TemplateRevision.objects.create(
                template=template, number=newest.number + 1 if newest else 1, made_by=actor.person, made_at=actor.at
            )
    except IntegrityError:  # somebody else began it between our looking and our writing
        return template.revisions.get(published_at=None)
    for item in newest.items.all() if newest else []:
        ChecklistItem.objects.create(
            revision=draft, key=item.key, section=item.section, position=item.position,
            **{name: getattr(item, name) for name in CONTENT},
        )  # fmt: skip
    trail.write(Event.LIST_DRAFT_BEGUN, template, f"Draft of {draft} begun", actor=actor)
    return draft


@transaction.atomic
def publish(*, draft: TemplateRevision, reason: str, actor: Actor) -> None:
    """From now on new jobs work by `draft`, and it never changes again."""
    _refuse_published(draft)
    if not draft.items.exists():
        raise ListRuleError("An empty list cannot be published. Add an item.")
    won = TemplateRevision.objects.filter(pk=draft.pk, published_at=None).update(published_at=actor.at, reason=reason)
    if not won:
        raise ListRuleError("Someone else published this draft meanwhile.")
    draft.refresh_from_db()
    trail.write(Event.LIST_PUBLISHED, draft.template, f"{draft} published: {reason}", actor=actor)


@transaction.atomic
def drop_draft(*, draft: TemplateRevision, actor: Actor) -> None:
    """Throw a draft away. Lists that never had a published revision go with it."""
    _refuse_published(draft)
    template = draft.template
    trail.write(Event.LIST_DRAFT_DROPPED, template, f"Draft of {draft} discarded", actor=actor)
    draft.delete()
    if not template.revisions.exists():
        template.delete()


@transaction.atomic
def add_item(
    *,
    draft: TemplateRevision,
    section: str,
    idempotency_key: UUID,
    actor: Actor,
    new_picture: Picture | None = None,
    **content: Any,
) -> ChecklistItem:
    """A new item at the end of its section. The same `idempotency_key` again is the same item."""
    _refuse_published(draft)
    known = ChecklistItem.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        return known
    last = draft.items.aggregate(last=Max("position"))["last"] or 0
    item = ChecklistItem.objects.create(
        revision=draft, key=_free_key(draft, content["text"]), section=section, position=last + 1,
        idempotency_key=idempotency_key,
        **_with_picture(content, new_picture, idempotency_key),
    )  # fmt: skip
    _number_anew(draft, _to_end_of_section(list(draft.items.all()), item))
    _note(Event.LIST_ITEM_ADDED, draft, f"added ‘{item.text}’ to {section}", actor)
    return item


@transaction.atomic
def edit_item(
    *,
    item: ChecklistItem,
    row_version: int,
    section: str,
    actor: Actor,
    new_picture: Picture | None = None,
    **content: Any,
) -> None:
    """Write an item anew. One that changes its section goes to that section's end.

    Raises `StaleEditError` if somebody else wrote it meanwhile.
    """
    _refuse_published(item.revision)
    moved = section != item.section
    named = ["section", *(name for name in content if name != "picture")]
    before = trail.said_of(item, named)
    save_if_unchanged(
        item,
        row_version=row_version,
        values={"section": section, **_with_picture(content, new_picture, item.idempotency_key, row_version)},
    )
    if moved:
        _number_anew(item.revision, _to_end_of_section(list(item.revision.items.all()), item))
    after = trail.said_of(item, named)
    changes = [
        {"label": name, "before": before[name], "after": now} for name, now in after.items() if before[name] != now
    ]
    _note(Event.LIST_ITEM_CHANGED, item.revision, f"changed ‘{item.text}’", actor, changes)


@transaction.atomic
def move_item(*, item: ChecklistItem, up: bool, actor: Actor) -> None:
    """One place up or down; at the border of its section, into the next one."""
    _refuse_published(item.revision)
    items = list(item.revision.items.all())
    place = items.index(item)
    other = place - 1 if up else place + 1
    if not 0 <= other < len(items):
        return
    _note(Event.LIST_ITEM_MOVED, item.revision, f"moved ‘{item.text}’ {'up' if up else 'down'}", actor)
    if items[other].section != item.section:
        ChecklistItem.objects.filter(pk=item.pk).update(section=items[other].section, row_version=F("row_version") + 1)
        return
    items[place], items[other] = items[other], items[place]
    _number_anew(item.revision, items)


@transaction.atomic
def move_section(*, draft: TemplateRevision, title: str, up: bool, actor: Actor) -> None:
    """A whole section one place up or down."""
    _refuse_published(draft)
    sections: dict[str, list[ChecklistItem]] = {}
    for item in draft.items.all():
        sections.setdefault(item.section, []).append(item)
    titles = list(sections)
    if title not in titles:
        raise ListRuleError("This section was removed from the list.")
    place = titles.index(title)
    other = place - 1 if up else place + 1
    if 0 <= other < len(titles):
        titles[place], titles[other] = titles[other], titles[place]
        _number_anew(draft, [item for name in titles for item in sections[name]])
        _note(Event.LIST_ITEM_MOVED, draft, f"moved section {title} {'up' if up else 'down'}", actor)


@transaction.atomic
def remove_item(*, item: ChecklistItem, actor: Actor) -> None:
    """Take an item off a draft. Published revisions and what was entered by them stay as they are."""
    _refuse_published(item.revision)
    _note(Event.LIST_ITEM_REMOVED, item.revision, f"took ‘{item.text}’ off", actor)
    item.delete()


def _note(
    event: Event, draft: TemplateRevision, what: str, actor: Actor, changes: list[dict[str, str]] | None = None
) -> None:
    trail.write(event, draft.template, f"{draft}, draft: {what}", actor=actor, changes=changes)


def _refuse_published(revision: TemplateRevision) -> None:
    # Held until this action is done: what is being changed cannot be published meanwhile, nor the other way round.
    held = TemplateRevision.objects.select_for_update(of=("self",)).filter(pk=revision.pk).order_by("pk").first()
    if held is None:
        raise ListRuleError("This draft was discarded.")
    if held.published_at is not None:
        raise ListRuleError(f"{revision} is published and never changes. Start the next revision.")


def _to_end_of_section(items: list[ChecklistItem], moved: ChecklistItem) -> list[ChecklistItem]:
    others = [item for item in items if item.pk != moved.pk]
    last = max((place for place, item in enumerate(others) if item.section == moved.section), default=len(others) - 1)
    return [*others[: last + 1], moved, *others[last + 1 :]]


def _number_anew(draft: TemplateRevision, items: list[ChecklistItem]) -> None:
    draft.items.update(position=F("position") + OUT_OF_THE_WAY)
    for position, item in enumerate(items, start=1):
        ChecklistItem.objects.filter(pk=item.pk).update(position=position)


def _free_key(draft: TemplateRevision, text: str) -> str:
    """A key from the item's words that no item of this list ever had: by it entries find their item again."""
    taken = set(ChecklistItem.objects.filter(revision__template=draft.template).values_list("key", flat=True))
    wanted = slugify(text)[:50] or "item"
    return next(key for key in (wanted, *(f"{wanted}-{n}" for n in range(2, 10_000))) if key not in taken)


def _with_picture(
    content: dict[str, Any], new_picture: Picture | None, idempotency_key: UUID, row_version: int = 0
) -> dict[str, Any]:
    if new_picture is None:
        return content
    stored = default_storage.save(f"item-pictures/{idempotency_key}-{row_version}.jpg", ContentFile(new_picture.image))
    return {**content, "picture": stored}
