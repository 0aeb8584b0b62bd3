"""The one way past the guards of the record: for a person who is to be forgotten, within one transaction.

The triggers of `KeepForEver` let a change of an erasable column pass while `garage_openerasing` has its row. That row
can never be committed, on either database: it refers to a row that its own table does not allow, and the reference is
looked at when the transaction ends. So the guard is open for nobody but the connection that writes it, and shut again
at the end of the transaction, however that ends. Nothing is ever deleted, and no measured figure is erasable.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection

from garage.record.models import OpenErasing


@contextmanager
def erasing() -> Iterator[None]:
    """Within this, and this transaction, erasable columns of the record may be changed."""
    if not connection.in_atomic_block:
        raise RuntimeError("Erasing is part of a transaction, which ends it.")
    opened = OpenErasing.objects.create(pk=1, never_there_id=2)
    yield
    # Not after a failure: the transaction is lost then, and the row could not be committed anyway.
    opened.delete()
