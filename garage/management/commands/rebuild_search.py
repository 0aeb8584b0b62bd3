"""Makes the index of the search afresh."""

from typing import Any

from django.core.management.base import BaseCommand

from garage.finding.index import rebuild


class Command(BaseCommand):
    help = "Make the index of the search afresh from what the book says."

    def handle(self, *args: Any, **options: Any) -> None:
        rebuild()
        self.stdout.write("The search knows every word of the book.")
