"""Template filters for figures: the one conversion out."""

from django import template

from garage.quantities import words
from timing.units import convert

register = template.Library()


@register.filter
def plain(value: float | None, decimals: int | None = None) -> str:
    """`{{ 8.50000001|plain }}` is 8.5; `{{ 8|plain:1 }}` is 8.0; nothing for nothing."""
    return "" if value is None else words.plain(float(value), decimals)


@register.filter
def advance(value: float | None, decimals: int | None = None) -> str:
    """`{{ 8|advance }}` is '8° BTDC'."""
    return "" if value is None else words.advance(float(value), decimals)


@register.filter
def pressure(value: float | None, unit: str = "kPa") -> str:
    """`{{ 40.64|pressure:"inHg" }}` is '12 inHg'."""
    return "" if value is None else words.pressure(float(value), unit or "kPa")


@register.filter
def in_unit(value: float | None, unit: str = "kPa") -> str:
    """The figure alone, in `unit`."""
    return "" if value is None else words.plain(float(convert(float(value), "kPa", unit or "kPa")))
