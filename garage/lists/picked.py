"""Rows picked by their keys, where the keys are the answer to a question of its own."""

from typing import Any

from django.db.models import BooleanField, F, Func, QuerySet, Subquery


class KeyIsAmong(Func):
    """Whether a row's key is among `keys`: each of those rows is looked up, however many the table has.

    Django's own `pk__in` leaves PostgreSQL to join the two, and it rather reads the whole table. An array of keys it
    takes for few, and looks them up. SQLite does so anyhow.
    """

    output_field = BooleanField()
    arg_joiner = " IN "
    template = "%(expressions)s"

    def __init__(self, keys: "QuerySet[Any, Any]") -> None:
        super().__init__(F("pk"), Subquery(keys))

    def as_postgresql(self, compiler: Any, connection: Any, **more: Any) -> Any:
        return self.as_sql(compiler, connection, template="%(expressions)s)", arg_joiner=" = ANY(ARRAY", **more)
