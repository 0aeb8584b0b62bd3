"""Filling a data folder with the demo's workshop: once, and never one that holds a real workshop."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone

from garage.people.models import Workshop
from garage.record.actor import Actor
from jobs.checklists.shipped_actions import install_shipped_templates
from jobs.demo.money import fill_the_till
from jobs.demo.people import open_the_workshop
from jobs.demo.stories import tell_all
from jobs.demo.week import plan_the_week


class RealWorkshopError(Exception):
    """The data folder holds a real workshop. Nothing was touched."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """`customer_path` is the page that the finished car's customer sees, where the folder still knows it."""

    is_new: bool
    customer_path: str


def prepare(*, before_filling: Callable[[], None] = lambda: None) -> Prepared:
    """Lay the tables, gather the static files, and fill the workshop unless that was done before.

    `before_filling` is called where it was not, since filling takes its time.

    Raises
    ------
    RealWorkshopError
        If the folder holds a workshop that is not the demo's. Asked before anything is touched.
    """
    refuse_a_real_workshop()
    call_command("migrate", verbosity=0, interactive=False)
    call_command("collectstatic", verbosity=0, interactive=False)
    is_new = False
    with transaction.atomic():
        if not Workshop.objects.exists():
            before_filling()
            _link_file().write_text(_fill())
            is_new = True
    return Prepared(is_new, _link_file().read_text().strip() if _link_file().exists() else "")


def refuse_a_real_workshop() -> None:
    if Workshop._meta.db_table not in connection.introspection.table_names():
        return
    workshop = Workshop.objects.filter(is_demo=False).first()
    if workshop is not None:
        raise RealWorkshopError(
            f"This data folder holds a workshop, {workshop}, and the demo touches no real one. Give the demo a folder "
            f"of its own: CRANKMARK_DATA=… names it. (This one is {settings.DATA_DIR}.)"
        )


def _fill() -> str:
    crew = open_the_workshop(timezone.now())
    install_shipped_templates(actor=Actor(person=crew.owner, at=crew.now, device=crew.desk))
    customer_path = tell_all(crew)
    fill_the_till(crew)
    plan_the_week(crew)
    return customer_path


def _link_file() -> Path:
    """The record keeps only a hash of a customer's link; the demo shows its own once more whenever it is started."""
    return Path(settings.DATA_DIR) / "demo-customer-link"
