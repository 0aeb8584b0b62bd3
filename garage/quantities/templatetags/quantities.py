"""Template filters for figures: the one conversion out."""

from datetime import datetime
from decimal import Decimal

from django import template
from django.utils import timezone
from django.utils.formats import date_format

from garage.quantities import words
from garage.quantities.measure import VACUUM
from timing.units import convert

register = template.Library()


@register.filter
def plain(value: float | None, decimals: int | None = None) -> str:
    """`{{ 8.50000001|plain }}` is 8.5; `{{ 8|plain:1 }}` is 8.0; nothing for nothing. For people to read."""
    return "" if value is None else words.plain(float(value), decimals)


@register.filter
def bare(value: float | None, decimals: int | None = None) -> str:
    """As `plain`, in ASCII: for a script or an address."""
    return "" if value is None else words.bare(float(value), decimals)


@register.filter
def advance(value: float | None, decimals: int | None = None) -> str:
    """`{{ 8|advance }}` is '8° BTDC'."""
    return "" if value is None else words.advance(float(value), decimals)


@register.filter
def late(value: float | None, decimals: int | None = None) -> str:
    """`{{ -10|late }}` is '10° early'."""
    return "" if value is None else words.late(float(value), decimals)


@register.filter
def change(degrees: float) -> str:
    """What an entry changed by: '+1.5°', '−2.0°', and a dash where it did not."""
    return f"{'+' if degrees > 0 else ''}{words.plain(float(degrees), 1)}°" if degrees else "–"


@register.filter
def unit_sign(unit: str) -> str:
    """The sign of the unit of an entry: '°' for 'degrees', the unit itself for every other."""
    return "°" if unit == "degrees" else unit


@register.filter
def pressure(value: float | None, unit: str = "kPa") -> str:
    """`{{ 40.64|pressure:"inHg" }}` is '12 inHg'."""
    return "" if value is None else words.pressure(float(value), unit or "kPa")


@register.filter
def in_unit(value: float | None, unit: str = "kPa") -> str:
    """The figure alone, in `unit`."""
    return "" if value is None else words.plain(float(convert(float(value), "kPa", unit or "kPa")))


@register.filter
def gauge(value: float | None, unit: str = "kPa") -> str:
    """The figure alone, in `unit` and as fine as a gauge is read: `{{ 50|gauge:"inHg" }}` is 14.8."""
    if value is None:
        return ""
    return words.plain(VACUUM.in_unit(float(value), unit or "kPa"), VACUUM.decimals_in(unit or "kPa", 0))


@register.filter
def moment(iso: str | None) -> str:
    """`{{ "2026-05-14T10:05:00+00:00"|moment }}` is '14 May 2026, 11:05' on the workshop's clock."""
    if not iso:
        return ""
    return date_format(timezone.localtime(datetime.fromisoformat(iso)), "j M Y, H:i")


@register.filter
def day(iso: str | None) -> str:
    """`{{ "2026-05-14"|day }}` is '14 May 2026'; a moment gives its day."""
    if not iso:
        return ""
    parsed = datetime.fromisoformat(iso)
    return date_format(timezone.localtime(parsed) if parsed.tzinfo else parsed, "j F Y")


@register.filter
def trimmed(amount: Decimal | str) -> str:
    """An exact figure without noughts at its end: `{{ "2.50"|trimmed }}` is 2.5, `{{ "20.00"|trimmed }}` is 20."""
    return f"{Decimal(amount).normalize():f}"
