"""Fragments of the look that need a little reckoning before they can be written out. The style page shows each."""

import re
from collections.abc import Iterable
from datetime import datetime
from uuid import uuid4

from django import forms, template
from django.contrib.auth.models import AnonymousUser, PermissionsMixin
from django.db.models.fields import BLANK_CHOICE_DASH
from django.forms import BoundField
from django.forms.forms import BaseForm
from django.template.loader import render_to_string
from django.urls import NoReverseMatch, reverse
from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.timezone import localtime

from garage.people.access import open_to
from garage.quantities.words import exactly
from garage.site.stage_scale import Stage, on_scale, small_scale

register = template.Library()

# Django's message levels, so that a message wears the same marks as everything else.
MESSAGE_LEVELS = {
    "error": "stop",
    "warning": "caution",
    "success": "good",
    "info": "note",
    "debug": "note",
}


# How each mark is drawn in its box of 16 by 16: its shape, and what is cut into it where no letter stands there.
SHAPES = {
    "stop": ('<path class="mark-shape" d="M5 .8h6L15.2 5v6L11 15.2H5L.8 11V5z"/>', "M4.3 8h7.4"),
    "caution": ('<path class="mark-shape" d="M8 .8 15.8 15H.2z"/>', "M8 5.4v4.4M8 11v2.2"),
    "good": ('<path class="mark-outline" stroke-width="2.6" d="M1.8 8.6 6.2 13 14.4 3.2"/>', ""),
    "note": ('<circle class="mark-shape" cx="8" cy="8" r="{radius}"/>', ""),
    "hold": ('<path class="mark-outline" d="M.5 5.7h15M.5 10.3h15"/>', ""),
    "abandoned": ('<path class="mark-outline" d="m3 3 10 10M13 3 3 13"/>', ""),
    "open": ('<circle class="mark-outline" cx="8" cy="8" r="5.6"/>', ""),
}
MARKS = frozenset(SHAPES)


def known_mark(kind: str) -> str:
    kind = MESSAGE_LEVELS.get(kind, kind)
    if kind not in MARKS:
        raise template.TemplateSyntaxError(f"no mark is called {kind!r}; there are {', '.join(sorted(MARKS))}")
    return kind


@register.simple_tag
def mark(kind: str, letter: str = "", title: str = "") -> SafeString:
    """The drawn sign alone. Without a title it is decoration, and a word must stand beside it."""
    kind = known_mark(kind)
    shape, cut = SHAPES[kind]
    drawn = shape.format(radius="7.4" if letter else "3.8")
    if letter:
        drawn += format_html(
            '<text class="mark-text" x="8" y="{}">{}</text>', "13.2" if kind == "caution" else "11.2", letter
        )
    elif cut:
        drawn += f'<path class="mark-cut" d="{cut}"/>'
    return format_html(
        '<svg class="mark tone-{}{}" viewBox="0 0 16 16" focusable="false" {}>{}</svg>',
        kind,
        " mark-letter" if letter else "",
        format_html('role="img" aria-label="{}"', title) if title else mark_safe('aria-hidden="true"'),
        mark_safe(drawn),  # noqa: S308 - the shapes above, and a letter that was escaped
    )


@register.filter
def tone(level: str) -> str:
    """The mark of a message's level; a message without one is a note."""
    return known_mark(level or "info")


@register.inclusion_tag("_state.html")
def state(kind: str, words: str, letter: str = "") -> dict[str, str]:
    """A mark and a word."""
    return {"kind": known_mark(kind), "words": words, "letter": letter}


@register.inclusion_tag("_badge.html")
def badge(kind: str, words: str) -> dict[str, str]:
    return {"kind": known_mark(kind), "words": words}


@register.inclusion_tag("_figure.html")
def figure(
    label: str,
    value: object,
    unit: str = "",
    source: str = "",
    *,
    kind: str = "",
    words: str = "",
    large: bool = False,
    url: str = "",
    link: str = "",
    missing: str = "not measured",
) -> dict[str, object]:
    """A figure with its unit and where it comes from; None or an empty text shows as missing, 0 is a figure."""
    angle = unit == "°" or unit.startswith("° ")
    return {
        "label": label,
        "value": value,
        "is_missing": value is None or value == "",
        "missing": missing,
        # The degree sign of an angle belongs to its figure; every other unit keeps its distance.
        "degree": angle,
        "unit": unit.removeprefix("°").strip() if angle else unit,
        "source": source,
        "kind": known_mark(kind) if kind else "",
        "words": words,
        "large": large,
        "url": url,
        "link": link,
    }


@register.inclusion_tag("_field.html")
def field(bound: BoundField, unit: str | None = None, *, label: str = "", help: str = "") -> dict[str, object]:
    """One form field with its label, help, unit and refusal.

    The unit may also be an attribute of the form field; an empty one hides it, where the form asks for the unit itself.
    """
    numeric = isinstance(bound.field, forms.IntegerField | forms.FloatField | forms.DecimalField)
    attrs: dict[str, str | bool] = {}
    widget: forms.Widget | None = None
    if numeric and isinstance(bound.field.widget, forms.NumberInput):
        # A number input throws away what it cannot read; a text input keeps what was typed beside the reason.
        widget = FigureInput(attrs=_without_number_limits(bound.field.widget.attrs))
        whole = isinstance(bound.field, forms.IntegerField) and not isinstance(bound.field, forms.FloatField)
        attrs = {"inputmode": "numeric" if whole and not _may_be_negative(bound.field) else "decimal"}
        attrs["autocomplete"] = "off"
    if isinstance(bound.field, forms.ChoiceField):
        _say_what_no_choice_means(bound.field)
    # Where the unit is chosen beside the box, the box itself shows it.
    asked_in = "" if getattr(bound.field, "chooses_unit", False) else getattr(bound.field, "unit", "")
    unit = asked_in if unit is None else unit
    described_by = " ".join(
        part for part in (bound.aria_describedby or "", f"{bound.auto_id}_unit" if unit else "") if part
    )
    if described_by and not bound.use_fieldset:
        attrs["aria-describedby"] = described_by
    is_tick = isinstance(bound.field.widget, forms.CheckboxInput)
    return {
        "bound": bound,
        "widget": bound.as_widget(widget=widget, attrs=attrs),
        "label": label or bound.label,
        "help": help or bound.help_text,
        "unit": unit,
        "is_number": numeric or bool(unit),
        "is_tick": is_tick,
        "is_choices": isinstance(bound.field.widget, forms.RadioSelect | forms.CheckboxSelectMultiple),
        "say_needed": bound.field.required and _asks_for_optional_things_too(bound.form),
    }


# Django's own word for no choice. Where a form says it better, that stands.
NO_CHOICE = str(BLANK_CHOICE_DASH[0][1])


def _say_what_no_choice_means(choice: forms.ChoiceField) -> None:
    """The first line of a list that has nothing chosen yet: a call to choose, or that it is not known."""
    words = "choose" if choice.required else "not known"
    if isinstance(choice, forms.ModelChoiceField):
        if choice.empty_label == NO_CHOICE:
            choice.empty_label = words
            choice.widget.choices = choice.choices
        return
    choices = list(choice.widget.choices)
    if choices and choices[0] == ("", NO_CHOICE):
        choice.choices = [("", words), *choices[1:]]


class FigureInput(forms.TextInput):
    """A figure as people write it: 90, not 90.0. What was typed comes back as it was typed."""

    def format_value(self, value: object) -> str | None:
        return exactly(value) if isinstance(value, float) else super().format_value(value)


def _without_number_limits(attrs: dict[str, object]) -> dict[str, object]:
    return {name: value for name, value in attrs.items() if name not in ("min", "max", "step")}


def _may_be_negative(number: forms.Field) -> bool:
    """Some number pads have no minus sign unless a decimal is asked for."""
    lowest = getattr(number, "min_value", None)
    return lowest is None or lowest < 0


def _asks_for_optional_things_too(form: BaseForm) -> bool:
    return any(not other.field.required for other in form.visible_fields())


@register.inclusion_tag("_fields.html")
def fields(form: BaseForm, *names: str) -> dict[str, object]:
    """The named fields of a form in that order, or all of them; hidden ones go along when all are asked for."""
    return {
        "shown": [form[name] for name in names] if names else form.visible_fields(),
        "hidden": [] if names else form.hidden_fields(),
    }


@register.inclusion_tag("_error_summary.html")
def error_summary(*forms: BaseForm) -> dict[str, object]:
    """What was refused of one form or of several that are sent together, each with a way to its field."""
    sent = [form for form in forms if form.is_bound]
    return {
        "general": [error for form in sent for error in form.non_field_errors()],
        "hidden": [bound for form in sent for bound in form.hidden_fields() if bound.errors],
        "refused": [bound for form in sent for bound in form.visible_fields() if bound.errors],
    }


@register.inclusion_tag("_scale.html")
def scale(stages: Iterable[Stage], label: str = "Stages of this job") -> dict[str, object]:
    """The stages as a graduated rule. At most one is current; none is, for a job that is over."""
    return {"stages": [on_scale(stage) for stage in stages], "label": label}


@register.inclusion_tag("_scale_small.html")
def scale_small(stages: Iterable[Stage]) -> dict[str, object]:
    """The same rule in one line of a list, with its meaning in words beside it."""
    return small_scale(list(stages))


@register.simple_tag
def place(name: str, *args: object, **kwargs: object) -> str:
    """The address of a place, or nothing where the house has no such place: the frame of a page never breaks it."""
    try:
        return reverse(name, args=args, kwargs=kwargs)
    except NoReverseMatch:
        return ""


@register.simple_tag
def by_at(person: object, at: datetime, written: str = "j M Y, H:i") -> str:
    """Who did it and when, in one breath: `R. Vale, 14 May 2026, 10:05`."""
    return f"{person}, {date_format(localtime(at), written)}"


# A number as people write it, up to the first word, slash or comma after it.
PHONE = re.compile(r"\s*(\+?[\d\s().-]{3,})")


@register.filter
def phone_link(number: str) -> SafeString:
    """A number that can be tapped: a `tel:` address without the blanks and strokes it is written with (RFC 3966, 3).

    The nought in brackets after a country code is not dialled (ITU-T E.123, 7.1); what has no number in it stays text.
    """
    found = PHONE.match(number)
    written = found[1] if found else ""
    if written.startswith("+"):
        written = written.replace("(0)", "")
    digits = re.sub(r"\D", "", written)
    if len(digits) < 3:
        return format_html("{}", number)
    plus = "+" if written.startswith("+") else ""
    return format_html('<a class="phone" href="tel:{}{}">{}</a>', plus, digits, number)


@register.filter
def email_link(address: str) -> SafeString:
    """An address that can be tapped, and that is parted before its @ where the line is too short for it."""
    name, at, place = address.rpartition("@")
    return format_html('<a href="mailto:{}">{}<wbr>{}{}</a>', address, name, at, place)


@register.filter
def parted_at(text: str) -> SafeString:
    """What a machine said, in which an address is parted before its @ where the line is too short for it."""
    return format_html_join(mark_safe("<wbr>@"), "{}", ((part,) for part in text.split("@")))


@register.filter
def is_open_to(url: str, user: PermissionsMixin | AnonymousUser) -> bool:
    """`{% if url|is_open_to:user %}`: whether there is a place to go to, and the person may."""
    return bool(url) and open_to(user, url)


@register.filter
def is_set(value: object) -> bool:
    """True for 0, which is a figure, and false for None and an empty text, which are not."""
    return value is not None and value != ""


@register.simple_block_tag
def table_frame(content: str, label: str) -> SafeString:
    """A frame that scrolls sideways by finger and by keys when its table is wider than the page."""
    return format_html('<div class="table-frame" role="group" aria-label="{}" tabindex="0">{}</div>', label, content)


@register.simple_block_tag
def hold_line(content: str, words: str) -> SafeString:
    """A double rule across the page with what must be true before going on, and in `words` what comes then."""
    sign = render_to_string("_state.html", {"kind": "stop", "words": words})
    return format_html(
        '<div class="hold-line"><span class="hold-line-name">{}Hold point</span><p>{}</p>{}</div>',
        mark("hold"),
        content,
        sign,
    )


@register.simple_tag
def new_id() -> str:
    """An id for a form that makes something: sent twice, it makes one."""
    return str(uuid4())
