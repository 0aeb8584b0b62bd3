"""Counting the facts of each sheet inside the question that asks for the sheets."""

from typing import Any

from django.db.models import Count, Model, OuterRef, Subquery
from django.db.models.functions import Coalesce


def number_of(facts: type[Model], way: str, *, of: str = "pk", **among: Any) -> Coalesce:
    """How many `facts` there are of each sheet: their `way` leads to its column `of`, and `among` narrows them."""
    rows = facts._default_manager.filter(**{way: OuterRef(of)}, **among).order_by()
    return Coalesce(Subquery(rows.values(way).annotate(number=Count("pk")).values("number")), 0)
