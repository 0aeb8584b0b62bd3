"""Takes a person's second factor off, for an only owner who lost phone and paper: who sits at this machine may."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from garage.people.models import Staff
from garage.record.actor import Actor
from garage.second_factor.actions import remove_second_factor
from garage.second_factor.queries import has_second_factor


class Command(BaseCommand):
    help = "Remove a person's second factor. The password alone signs them in then. The record keeps that."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("user", help="the user name")

    def handle(self, *args: Any, **options: Any) -> None:
        person = Staff.objects.filter(username__iexact=options["user"]).first()
        if person is None:
            raise CommandError(f"Nobody here has the user name {options['user']}.")
        if not has_second_factor(person):
            raise CommandError(f"{person} has no second factor.")
        remove_second_factor(
            person=person,
            reason="on the console of the workshop computer",
            actor=Actor(person=person, at=timezone.now()),
        )
        self.stdout.write(f"Second factor of {person} removed. Sign in with the password and set up a new one.")
