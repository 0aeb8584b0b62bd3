"""Forgetting a customer: the one act that changes the record."""

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import models, transaction

from garage.arrivals.waiting import drop_all
from garage.backup.erased import note_erased
from garage.customers.models import Customer
from garage.people.queries import get_workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.erasing import erasing
from garage.record.events import Event
from garage.record.models import TrailEntry, kind_of
from garage.record.refusals import RuleRefusedError
from garage.vehicles.models import Vehicle
from jobs.billing.models import Bill
from jobs.documents.models import CustomerLink, IssuedDocument
from jobs.post.models import Mail, MailStep
from jobs.privacy.files import remove_files
from jobs.privacy.held import photographs_of
from jobs.privacy.kept_by_law import Kept, kept_of
from jobs.privacy.mentions import ERASED, mentions, names_of, without
from jobs.privacy.models import Erasure, FileToRemove
from jobs.quotes.models import Quote, QuoteAnswer
from jobs.roadlogs.models import RoadLog

NO_PLATE = "erased"


class ErasingRefusedError(RuleRefusedError):
    """This customer cannot be erased now. Says why."""


@dataclass(slots=True)
class _Gone:
    """How many of which kind went."""

    sentences: int = 0
    papers: int = 0
    photographs: int = 0
    logs: int = 0
    links: int = 0
    mails: int = 0
    plates: int = 0
    files: list[str] = field(default_factory=list)

    def counted(self) -> dict[str, int]:
        named = ("sentences", "papers", "photographs", "logs", "links", "mails", "plates")
        return {name: getattr(self, name) for name in named if getattr(self, name)}


def forget(
    *,
    customer: Customer,
    reason: str,
    photographs: Collection[UUID],
    plates: bool,
    words: list[str],
    idempotency_key: UUID,
    actor: Actor,
) -> Erasure:
    """Take the person out of the book: who they are, where they live, every text that names them, what the owner chose.

    What was measured, set and proven on their cars stays, and belongs to nobody. Papers that name the person go; their
    kind, number, day and hash stay. `words` name the person too, and are kept nowhere. What the law keeps is listed.

    Raises
    ------
    ErasingRefusedError
        If the customer was erased before.
    """
    if known := Erasure.objects.filter(idempotency_key=idempotency_key).first():
        return known
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        if customer.forgotten_at:
            raise ErasingRefusedError("This customer was erased before.")
        cars = list(Vehicle.objects.filter(customer=customer))
        kept = kept_of(customer, get_workshop().keep_bills_years)
        kept = [one for one in kept if one.until >= actor.at.date()]
        known_plates = [text for car in cars for text in (car.registration, car.chassis_number)] if plates else []
        drop_all()
        names = names_of(customer, [*words, *_formerly(customer)], known_plates)
        gone = _Gone()
        with erasing():
            _take_out_plates(cars if plates else [], gone)
            found = list(mentions(names, customer))
            _take_out_papers([mention.pk for mention in found if mention.model is IssuedDocument], gone)
            _take_out_bills(customer, kept, gone)
            _take_out_quotes(customer, kept, gone)
            _take_out_photographs(customer, photographs, gone)
            _take_out_logs(cars, gone)
            for mention in found:
                pattern = names.pattern(own=mention.own)
                _take_out_words(mention.model, mention.pk, mention.texts, pattern, kept, gone)
            _take_out_mails(customer, gone)  # the whole of them, whatever of it was found to name the person
            _take_out_former_values(customer)
        _without_a_person(customer, actor)
        gone.links = CustomerLink.objects.filter(job__vehicle__in=cars, revoked_at=None).update(revoked_at=actor.at)
        FileToRemove.objects.bulk_create([FileToRemove(name=name) for name in gone.files], ignore_conflicts=True)
        reason = without(reason, names.on_own_cars)
        made = Erasure.objects.create(
            customer=customer, at=actor.at, by=actor.person, reason=reason, gone=gone.counted(),
            chosen={"plates": plates, "photographs": sorted(map(str, photographs))},
            kept=[_as_json(one) for one in kept], idempotency_key=idempotency_key,
        )  # fmt: skip
        sentence = f"Customer erased: {_in_words(made.gone)}. Reason: {reason}"
        trail.write(Event.CUSTOMER_ERASED, customer, sentence, actor=actor, figures=made.gone)
        transaction.on_commit(lambda: note_erased(customer=customer.pk, at=actor.at, chosen=made.chosen))
        transaction.on_commit(remove_files)
    return made


def _in_words(gone: dict[str, int]) -> str:
    return ", ".join(["name and address", *(f"{count} {kind}" for kind, count in gone.items())])


def _as_json(kept: Kept) -> dict[str, Any]:
    return {
        "what": kept.what,
        "table": kept.model._meta.label,
        "pk": str(kept.pk),
        "columns": list(kept.columns),
        "until": kept.until.isoformat(),
    }


def _formerly(customer: Customer) -> list[str]:
    """What the customer was called, and where reached, before it was changed."""
    rows = [row for entry in _about(customer) for row in entry.changes]
    of_a_person = {customer._meta.get_field(name).verbose_name for name in ("name", "phone", "email")}  # type: ignore[union-attr]
    return [row[side] for row in rows if row["label"] in of_a_person for side in ("before", "after") if row[side]]


def _about(customer: Customer) -> models.QuerySet[TrailEntry]:
    return TrailEntry.objects.filter(subject_kind=kind_of(customer), subject_id=customer.pk)


def _take_out_logs(cars: list[Vehicle], gone: _Gone) -> None:
    """A logger's file may say where the car was. It goes; what was read of it is the engine's alone, and stays."""
    logs = RoadLog.objects.filter(run__job__vehicle__in=cars).exclude(file="")
    for log in logs:
        gone.files.append(str(log.file))
        gone.logs += 1
    logs.update(file="", file_name="log")


def _take_out_former_values(customer: Customer) -> None:
    """An entry about the customer says what was changed, and no more from what to what."""
    for entry in _about(customer).exclude(changes=[]):
        changes = [row | {side: ERASED for side in ("before", "after") if row[side]} for row in entry.changes]
        TrailEntry.objects.filter(pk=entry.pk).update(changes=changes)


def _take_out_words(
    model: type[models.Model], pk: Any, texts: dict[str, Any], pattern: Any, kept: list[Kept], gone: _Gone
) -> None:
    stays = {column for one in kept if (one.model, one.pk) == (model, pk) for column in one.columns}
    values = {name: without(value, pattern) for name, value in texts.items() if name not in stays}
    for name, value in values.items():
        longest = model._meta.get_field(name).max_length  # type: ignore[union-attr]
        if longest and isinstance(value, str):
            values[name] = value[:longest]
    if values:
        model._base_manager.filter(pk=pk).update(**values)
        gone.sentences += 1


def _take_out_papers(keys: list[Any], gone: _Gone) -> None:
    for paper in IssuedDocument.objects.filter(pk__in=keys).exclude(file=""):
        gone.files.append(str(paper.file))
        IssuedDocument.objects.filter(pk=paper.pk).update(file="")
        gone.papers += 1


def _take_out_bills(customer: Customer, kept: list[Kept], gone: _Gone) -> None:
    """The papers of bills that no law keeps any longer; their number, day, sums and hash stay."""
    stay = [one.pk for one in kept if one.model is Bill]
    for bill in Bill.objects.filter(job__vehicle__customer=customer).exclude(pk__in=stay).exclude(file=""):
        gone.files.append(str(bill.file))
        Bill.objects.filter(pk=bill.pk).update(file="")
        gone.papers += 1


def _take_out_quotes(customer: Customer, kept: list[Kept], gone: _Gone) -> None:
    """The papers of quotes that no law keeps, and who answered them, whatever name was typed; the sums stay."""
    stay = [one.pk for one in kept if one.model is Quote]
    found = Quote.objects.filter(job__vehicle__customer=customer).exclude(pk__in=stay)
    QuoteAnswer.objects.filter(quote__in=found).update(name=ERASED, words="")
    for quote in found.exclude(file=""):
        gone.files.append(str(quote.file))
        Quote.objects.filter(pk=quote.pk).update(file="")
        gone.papers += 1


def _take_out_mails(customer: Customer, gone: _Gone) -> None:
    """To whom mail went, what it said and what the server answered, whoever it names; when it went stays."""
    found = Mail.objects.filter(job__vehicle__customer=customer)
    MailStep.objects.filter(mail__in=found).exclude(answer="").update(answer=ERASED)
    gone.mails = found.update(address=ERASED, subject_line=ERASED, text=ERASED)


def _take_out_photographs(customer: Customer, chosen: Collection[UUID | str], gone: _Gone) -> None:
    ids = {str(one) for one in chosen}
    for held in photographs_of(customer):
        if str(held.row.pk) in ids:
            gone.files += [str(held.row.file), str(held.row.thumbnail)]
            type(held.row)._default_manager.filter(pk=held.row.pk).update(file="", thumbnail="")
            gone.photographs += 1


def _take_out_plates(cars: list[Vehicle], gone: _Gone) -> None:
    for car in cars:
        Vehicle.objects.filter(pk=car.pk).update(
            registration=NO_PLATE, chassis_number="", row_version=models.F("row_version") + 1
        )
        gone.plates += 1


def _without_a_person(customer: Customer, actor: Actor) -> None:
    Customer.objects.filter(pk=customer.pk).update(
        name=f"Erased customer {customer.pk}", phone="", email="", address="", country="", notes="",
        forgotten_at=actor.at, row_version=models.F("row_version") + 1,
    )  # fmt: skip


@transaction.atomic
def note_copy(*, customer: Customer, actor: Actor) -> None:
    """Keep that the customer was given a copy of what is held."""
    trail.write(Event.CUSTOMER_COPY_MADE, customer, "Copy of what is held made for the customer", actor=actor)


@transaction.atomic
def erase_what_is_due(*, today: date, actor: Actor) -> int:
    """Erase what the law made the workshop keep, where its day has passed; how many rows."""
    done, files = 0, list[str]()
    with erasing():
        for erasure in Erasure.objects.select_for_update().exclude(kept=[]):
            due = [one for one in erasure.kept if date.fromisoformat(one["until"]) < today]
            for one in due:
                files += _erase_kept(one)
            if due:
                left = [one for one in erasure.kept if one not in due]
                Erasure.objects.filter(pk=erasure.pk).update(kept=left)
                sentence = f"{len(due)} kept entries erased: their day has passed"
                trail.write(Event.KEPT_ERASED, erasure.customer, sentence, actor=actor)
                done += len(due)
    FileToRemove.objects.bulk_create([FileToRemove(name=name) for name in files], ignore_conflicts=True)
    transaction.on_commit(remove_files)
    return done


def _erase_kept(one: dict[str, Any]) -> list[str]:
    """Take out the words of a row whose day has passed; the names of the files that go with them."""
    model = apps.get_model(one["table"])
    row = model._base_manager.get(pk=one["pk"])
    papers = {name for name in one["columns"] if isinstance(model._meta.get_field(name), models.FileField)}
    files = [str(getattr(row, name)) for name in papers if getattr(row, name)]
    words = {name: "" if name in papers else ERASED for name in one["columns"]}
    model._base_manager.filter(pk=row.pk).update(**words)
    return files
