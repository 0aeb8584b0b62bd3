"""The demo's workshop, filled once for the tests that walk through it."""

from collections.abc import Iterator

import pytest
from django.core.files.storage import storages
from django.db import transaction

from jobs.demo.prepare import Prepared, prepare


@pytest.fixture(scope="package")
def demo(django_db_setup, django_db_blocker) -> Iterator[Prepared]:
    """Filled within one transaction that is given up at the end: the next package finds an empty house."""
    with django_db_blocker.unblock():
        held = transaction.atomic()
        held.__enter__()
        try:
            yield prepare()
        finally:
            transaction.set_rollback(True)
            held.__exit__(None, None, None)


@pytest.fixture(autouse=True)
def _files_of_the_demo(demo, _files_of_the_test, settings) -> None:
    """Its documents and photographs lie where they were put when it was filled, not in the folder of a test."""
    settings.STORAGES = {**settings.STORAGES, "default": {**settings.STORAGES["default"], "OPTIONS": DEMO_FILES}}


DEMO_FILES = dict(storages.backends["default"]["OPTIONS"])
