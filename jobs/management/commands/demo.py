"""`manage.py demo`: an invented workshop with cars at every stage, served to this machine alone."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.demo.people import ACCOUNTS, WORKSHOP
from jobs.demo.prepare import Prepared, RealWorkshopError, prepare
from jobs.demo.serving import PortTakenError, refuse_a_taken_port, serve


class Command(BaseCommand):
    help = "Fill the data folder with an invented workshop and serve it on this machine. A real workshop is left alone."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to serve on, 8000 unless said otherwise")
        parser.add_argument("--prepare-only", action="store_true", help="do all but serve")

    def handle(self, *args: Any, port: int, prepare_only: bool, **options: Any) -> None:
        try:
            if not prepare_only:
                refuse_a_taken_port(port)
            prepared = prepare(
                before_filling=lambda: self.stderr.write("Filling an invented workshop; this takes half a minute.")
            )
        except (RealWorkshopError, PortTakenError) as refusal:
            raise CommandError(str(refusal)) from None
        self.stdout.write(_notice(prepared, port))
        if not prepare_only:
            serve(port)


def _notice(prepared: Prepared, port: int) -> str:
    address = f"http://localhost:{port}"
    lines = [
        f"The demo's workshop, {WORKSHOP}, is ready: {address}/",
        "Everything in it is invented, and it answers this machine alone.",
        "",
        f"  {'name':<14}  {'role':<10}  {'user name':<9}  {'password':<18}  PIN",
    ]
    lines += [f"  {one.name:<14}  {one.role:<10}  {one.username:<9}  {one.password:<18}  {one.pin}" for one in ACCOUNTS]
    if prepared.customer_path:
        lines += ["", f"What a customer sees: {address}{prepared.customer_path}"]
    lines += ["", "A workshop of your own wants a data folder of its own: see README.md. Ctrl-C ends the demo."]
    return "\n".join(lines)
