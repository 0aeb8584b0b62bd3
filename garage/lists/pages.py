"""A page of a long list, picked by the key of the row it goes on from: its cost does not grow with the list.

A page picked by its number would make the database walk past every row before it, and count them all.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db.models import Model, Q, QuerySet

Row = TypeVar("Row", bound=Model)

_KEY = re.compile(r"[0-9]{1,18}")


@dataclass(frozen=True, slots=True)
class KeyedPage(Generic[Row]):
    """Some rows of a list; `before` and `after` are the rows' keys from which the neighbouring pages go on."""

    rows: list[Row]
    before: int | None
    after: int | None

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)


def page_by_key(rows: QuerySet[Row], asked: Mapping[str, str], *, order: Sequence[str], length: int) -> KeyedPage[Row]:
    """`length` of `rows` in their `order`, after or before the row that the address names, else from the beginning.

    `order` are columns that all rise or, with a minus sign, all fall; the last tells rows apart and none is null. An
    address that names no row of the list leads to its beginning.
    """
    falls = order[0].startswith("-")
    columns = [column.removeprefix("-") for column in order]
    backwards = "after" not in asked and "before" in asked
    edge = _edge(rows, asked["before"] if backwards else asked.get("after", ""), columns)
    if edge is None:
        backwards = False
    else:
        rows = rows.filter(_beyond(columns, edge, falls != backwards))
    found = list(rows.order_by(*_turned(order) if backwards else order)[: length + 1])
    goes_on, found = len(found) > length, found[:length]
    if backwards:
        found.reverse()
    if not found:
        return KeyedPage([], None, None)
    has_before, has_after = (goes_on, True) if backwards else (edge is not None, goes_on)
    return KeyedPage(found, found[0].pk if has_before else None, found[-1].pk if has_after else None)


def _edge(rows: QuerySet[Any], named: str, columns: Sequence[str]) -> tuple[Any, ...] | None:
    if not _KEY.fullmatch(named):
        return None
    return rows.filter(pk=int(named)).order_by().values_list(*columns).first()


def _beyond(columns: Sequence[str], edge: Sequence[Any], falls: bool) -> Q:
    """The rows past `edge`. The first column is bounded by itself, so that an index can begin there."""
    column, value, beyond = columns[0], edge[0], "lt" if falls else "gt"
    past = Q(**{f"{column}__{beyond}": value})
    if len(columns) == 1:
        return past
    return Q(**{f"{column}__{beyond}e": value}) & (past | _beyond(columns[1:], edge[1:], falls))


def _turned(order: Sequence[str]) -> list[str]:
    return [column.removeprefix("-") if column.startswith("-") else f"-{column}" for column in order]
