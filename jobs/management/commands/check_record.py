"""Walks the whole record and says what is not as it was written."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.backup.checks import problems_of_the_book
from jobs.maps.models import MapVersion


class Command(BaseCommand):
    help = "Check every page, reference, guard, document, photograph and released map of the record."

    def handle(self, *args: Any, **options: Any) -> None:
        problems = [*problems_of_the_book(), *_broken_seals()]
        if not problems:
            self.stdout.write("The record is sound.")
            return
        for problem in problems:
            self.stdout.write(problem)
        raise CommandError(
            f"{len(problems)} found that {'is' if len(problems) == 1 else 'are'} not as written. "
            "Change nothing. `manage.py backup --list` shows the backups."
        )


def _broken_seals() -> list[str]:
    released = MapVersion.objects.filter(released_at__isnull=False).select_related("job", "unit_revision__unit_type")
    return [
        f"Map version {version.number} of job {version.job.code} is not as it was released."
        for version in released.iterator()
        if not version.is_sound()
    ]
