"""The preview of a list, page by page, and the lists that were brought in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator

from garage.arrivals.models import Arrival
from garage.arrivals.plan import GROUPS, Choice, Part, Plan, PlannedRow, choice_key

A_PAGE = 50
LATEST = 10
_ORDER = list(GROUPS)


@dataclass(frozen=True, slots=True)
class ShownPart:
    """The customer or car of a row in words, and the choice where there is one."""

    label: str
    text: str
    verdict: str
    name: str  # of the choice's box; empty where nothing is asked
    choice: str


@dataclass(frozen=True, slots=True)
class ShownRow:
    line: int
    group: str
    label: str
    refusals: list[str]
    parts: list[ShownPart]


@dataclass(frozen=True, slots=True)
class Preview:
    page: Page
    rows: list[ShownRow]
    shown: str
    counts: list[tuple[str, str, int]]  # key, label and rows of each group
    asks: bool


def preview_of(plan: Plan, *, shown: str, page: str | None) -> Preview:
    """A page of the preview; `shown` is the group that is looked at, empty for all."""
    shown = shown if shown in _ORDER else ""
    rows = plan.of(shown) if shown else sorted(plan.rows, key=lambda planned: _ORDER.index(planned.group))
    found: Page = Paginator(rows, A_PAGE).get_page(page)
    return Preview(
        page=found,
        rows=[_shown(planned, plan) for planned in found.object_list],
        shown=shown,
        counts=[(group, label, len(plan.of(group))) for group, label in GROUPS.items()],
        asks=any(part.asks for planned in plan.rows for part in planned.parts),
    )


def _shown(planned: PlannedRow, plan: Plan) -> ShownRow:
    return ShownRow(
        line=planned.row.line,
        group=planned.group,
        label=GROUPS[planned.group],
        refusals=planned.row.refusals,
        parts=[_shown_part(planned, part, plan) for part in planned.parts],
    )


def _shown_part(planned: PlannedRow, part: Part, plan: Plan) -> ShownPart:
    return ShownPart(
        label="Customer" if part.kind == "customer" else "Car",
        text=_said(part.kind, part.values),
        verdict=_verdict(part, plan),
        name=f"choice {choice_key(planned.row, part)}" if part.asks else "",
        choice=part.choice,
    )


def _said(kind: str, values: Mapping[str, Any]) -> str:
    names = ("name", "phone", "email") if kind == "customer" else ("registration", "maker", "model", "year")
    # A customer may be called by the phone number alone.
    return " · ".join(dict.fromkeys(str(values[name])[:80] for name in names if values.get(name)))


def _verdict(part: Part, plan: Plan) -> str:
    if part.found is None:
        return "new"
    target = part.found.target
    if target.line is not None:
        return f"as line {target.line}, same {part.found.by}"
    there = (plan.book.customers if part.kind == "customer" else plan.book.cars)[target.pk or 0]
    verdict = f"same {part.found.by}: {_said(part.kind, there)}"
    if part.kind == "car" and (owner := plan.book.customers.get(there["customer_id"])):
        verdict += f", of {owner['name']}"
    return verdict


def choices_of(posted: Mapping[str, Any]) -> dict[str, str]:
    """The choices of one page of the preview, as they were sent."""
    return dict(_choices(posted))


def _choices(posted: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name in posted:
        if name.startswith("choice ") and posted[name] in list(Choice):
            yield name.removeprefix("choice "), posted[name]


def latest() -> list[Arrival]:
    return list(Arrival.objects.select_related("by", "undone_by")[:LATEST])
