"""Where the book speaks of a person: every text of every table, and the words by which they are found."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import models

from garage.customers.models import Customer
from garage.people.models import Staff
from garage.record.models import TrailEntry, kind_of
from garage.vehicles.models import Vehicle

ERASED = "[erased]"
# Not a text about a customer: accounts of the workshop's people, its lists and types, and the customer itself.
NOT_SEARCHED = frozenset(
    {
        "garage_staff", "garage_customer", "garage_workshop", "garage_device", "garage_unittype",
        "garage_unittyperevision", "jobs_checklisttemplate", "jobs_templaterevision", "jobs_checklistitem",
        "jobs_erasure", "jobs_filetoremove", "garage_backgroundworker", "garage_opensession", "garage_passkey",
        "garage_recoverycode", "garage_timecode", "garage_waitinglist", "garage_pricedpart", "garage_bay",
        "jobs_remindertext",
    }
)  # fmt: skip
# Columns of letters that hold no free words: kinds, seals, units, and the figures of maps and proofs.
NO_WORDS = frozenset(
    {
        "event", "subject_kind", "stage", "kind", "code", "sha256", "token_sha256", "content_hash", "unit",
        "entered_unit", "vacuum_unit", "boost_unit", "curve", "vacuum_table", "boost", "delivered", "form", "shown",
        "mismatches", "factory_band", "choice", "lamp", "trigger", "firing_order", "capsule_start_unit",
        "capsule_full_unit", "read_again", "file", "thumbnail", "filled", "columns", "header_sha256", "currency",
        "basis",
    }
)  # fmt: skip
# Columns that hold no words in one table alone.
NO_WORDS_OF = {"jobs_bill": frozenset({"number"}), "jobs_quote": frozenset({"number"})}
SHORTEST_WORD = 3
# Parts of a name that name nobody.
TITLES = frozenset({"mrs", "the", "and", "ltd", "limited", "garage", "motors", "sons", "from", "club"})


@dataclass(frozen=True, slots=True)
class Names:
    """How to find a person: what names nobody else, anywhere; and what names them on their own cars alone."""

    anywhere: re.Pattern[str] | None
    on_own_cars: re.Pattern[str] | None

    def pattern(self, *, own: bool) -> re.Pattern[str] | None:
        return self.on_own_cars if own else self.anywhere


@dataclass(frozen=True, slots=True)
class Mention:
    """A row that speaks of the person: its columns that do, and the sentences of theirs that name the person."""

    model: type[models.Model]
    pk: Any
    texts: dict[str, Any]
    says: list[str]
    own: bool  # of the person's own cars


def names_of(customer: Customer, more: list[str] | None = None, plates: list[str] | None = None) -> Names:
    """The words that name `customer`; `more` are those that the owner knows besides, `plates` go with the person.

    What another customer bears too, such as a name or a telephone, counts on the person's own cars alone.
    """
    lines = customer.address.splitlines()
    # A line of an address without a number, such as a town, names nobody by itself.
    numbered = [line for line in lines if any(letter.isdigit() for letter in line) and len(line) > SHORTEST_WORD * 2]
    whole = [customer.phone, customer.email, *numbered, *(more or []), *(plates or [])]
    others = Customer.objects.exclude(pk=customer.pk).values_list("name", "phone", "email")
    of_others = {text.casefold() for row in others for text in row}
    theirs = [*whole, *lines, customer.name, *_words_of(customer.name)]
    alone = [text for text in [*whole, customer.name] if text.casefold() not in of_others]
    return Names(_pattern(alone), _pattern(theirs))


def _words_of(name: str) -> list[str]:
    """The single words of a name, but for those that a person of the workshop bears."""
    of_staff = {word.casefold() for one in Staff.objects.values_list("name", flat=True) for word in one.split()}
    return [
        word
        for word in re.findall(r"\w[\w'’-]+", name)
        if len(word) >= SHORTEST_WORD and word.casefold() not in TITLES | of_staff
    ]


def _pattern(words: list[str]) -> re.Pattern[str] | None:
    cleaned = {" ".join(word.strip(" ,;.").split()) for word in words}
    longest_first = sorted((word for word in cleaned if len(word) >= SHORTEST_WORD), key=len, reverse=True)
    if not longest_first:
        return None
    spaced = [r"\s+".join(re.escape(part) for part in word.split()) for word in longest_first]
    return re.compile(rf"(?<!\w)(?:{'|'.join(spaced)})(?!\w)", re.IGNORECASE)


def without(value: Any, pattern: re.Pattern[str] | None) -> Any:
    """`value`, a text or JSON value, with every find of `pattern` taken out; the keys of objects stay."""
    if pattern is None:
        return value
    if isinstance(value, str):
        return pattern.sub(ERASED, value)
    if isinstance(value, list):
        return [without(one, pattern) for one in value]
    if isinstance(value, dict):
        return {key: without(one, pattern) for key, one in value.items()}
    return value


def mentions(names: Names, customer: Customer) -> Iterator[Mention]:
    """Every row that speaks of the person. Reads every text of the book, row by row."""
    for model in searched_models():
        columns = text_columns(model)
        own = own_rows(model, customer)
        found = model._base_manager.order_by("pk").values_list("pk", *columns)
        for pk, *values in found.iterator(chunk_size=1000):
            pattern = names.pattern(own=pk in own)
            texts = {
                name: value
                for name, value in zip(columns, values, strict=True)
                if without(value, pattern) != value
            }  # fmt: skip
            if texts:
                sentences = dict.fromkeys(one for value in texts.values() for one in _sentences(value))
                says = [one for one in sentences if without(one, pattern) != one]
                yield Mention(model, pk, texts, says, pk in own)


def _sentences(value: Any) -> Iterator[str]:
    """A text, or the texts in a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list | dict):
        for one in value.values() if isinstance(value, dict) else value:
            yield from _sentences(one)


def searched_models() -> list[type[models.Model]]:
    found = [model for app in ("garage", "jobs") for model in apps.get_app_config(app).get_models()]
    return [model for model in found if model._meta.db_table not in NOT_SEARCHED and text_columns(model)]


def text_columns(model: type[models.Model]) -> list[str]:
    """The columns of free words."""
    return [
        field.attname
        for field in model._meta.concrete_fields
        if isinstance(field, models.CharField | models.TextField | models.JSONField)
        and not field.choices
        and field.attname not in NO_WORDS | NO_WORDS_OF.get(model._meta.db_table, frozenset())
    ]


def own_rows(model: type[models.Model], customer: Customer) -> frozenset[Any]:
    """The rows that belong to the cars of `customer`."""
    cars = list(Vehicle.objects.filter(customer=customer).values_list("pk", flat=True))
    if model is Vehicle:
        return frozenset(cars)
    if model is TrailEntry:
        jobs = apps.get_model("jobs", "Job").objects.filter(vehicle__in=cars).values_list("pk", flat=True)
        about = models.Q(subject_kind=kind_of(customer), subject_id=customer.pk)
        about |= models.Q(subject_kind=kind_of(Vehicle()), subject_id__in=cars) | models.Q(job_id__in=list(jobs))
        return frozenset(TrailEntry.objects.filter(about).values_list("pk", flat=True))
    way = _way_to_the_car(model)
    if way is None:
        return frozenset()
    return frozenset(model._base_manager.filter(**{f"{way}__in": cars}).values_list("pk", flat=True))


def _way_to_the_car(model: type[models.Model]) -> str | None:
    """The shortest way from a row to its car, as a filter names it."""
    ways: list[tuple[type[models.Model], list[str]]] = [(model, [])]
    seen = {model}
    while ways:
        here, way = ways.pop(0)
        for field in here._meta.concrete_fields:
            if isinstance(field, models.ForeignKey):
                there = field.related_model
                if there is Vehicle:
                    return "__".join([*way, field.name])
                if there not in seen:
                    seen.add(there)
                    ways.append((there, [*way, field.name]))
    return None
