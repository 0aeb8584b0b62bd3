"""Prints the one-time code that opens the set-up page of an empty workshop."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.people.set_up import announce


class Command(BaseCommand):
    help = "Print the one-time code for the set-up page of an empty workshop."

    def handle(self, *args: Any, **options: Any) -> None:
        notice = announce()
        if notice is None:
            raise CommandError("This workshop is set up already, or `manage.py migrate` has not been run yet.")
        self.stdout.write(notice)
