"""Finishes an erasing that was cut off, and says what the law no longer keeps."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from jobs.privacy.files import remove_files
from jobs.privacy.models import Erasure


class Command(BaseCommand):
    help = "Take files of erased customers off the disk that a cut-off erasing left, and clean the database file."

    def handle(self, *args: Any, **options: Any) -> None:
        remove_files()
        today = timezone.localdate().isoformat()
        due = sum(one["until"] < today for erasure in Erasure.objects.all() for one in erasure.kept)
        self.stdout.write("Nothing of an erased customer is left over in files.")
        if due:
            self.stdout.write(
                f"{due} entries were kept by law, and their day has passed: erase them on the page Erased."
            )
