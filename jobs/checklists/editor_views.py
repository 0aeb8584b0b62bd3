"""The owner's desk for check-lists: lists, their revisions, and the items of a draft."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.answers import onward
from garage.record.row_versions import StaleEditError
from jobs.checklists import editor_actions as actions
from jobs.checklists.applies import in_words
from jobs.checklists.editor_forms import EditItemForm, EditTemplateForm, NewItemForm, NewTemplateForm, PublishForm
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, SheetKind, TemplateRevision
from jobs.checklists.shipped import waiting_to_be_put_in
from jobs.checklists.shipped_actions import install_shipped_templates
from jobs.checklists.verdict import limits_in_words


@require_GET
@permission_required("edit_checklists")
def templates(request: HttpRequest) -> HttpResponse:
    rows = [
        {
            "template": template,
            "published": template.revisions.exclude(published_at=None).first(),
            "draft": template.revisions.filter(published_at=None).first(),
            "suits": in_words(template.suits),
        }
        for template in ChecklistTemplate.objects.order_by("retired", "kind", "name")
    ]
    context = {"rows": rows, "not_put_in": waiting_to_be_put_in()}
    return render(request, "jobs/checklists/checklists.html", context)


@require_POST
@permission_required("record_readings")
def put_in_shipped(request: HttpRequest) -> HttpResponse:
    """Asked for by the owner at the desk, or by whoever begins the very first sheet."""
    put_in = install_shipped_templates(actor=actor_of(request))
    words = ", ".join(template.name for template in put_in)
    messages.info(request, f"Added: {words}." if put_in else "All Crankmark lists are here already.")
    return redirect(onward(request, reverse("checklists:templates")))


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def new_template(request: HttpRequest) -> HttpResponse:
    form = NewTemplateForm(request.POST or None)
    if form.is_valid():
        made = actions.create_template(
            name=form.cleaned_data["name"],
            kind=SheetKind(form.cleaned_data["kind"]),
            suits=form.rule,
            idempotency_key=form.cleaned_data["idempotency_key"],
            actor=actor_of(request),
        )
        return redirect("checklists:revision", made.revisions.get(number=1).pk)
    return _form_page(request, form, title="Add list", action="Add list", back="checklists:templates")


@require_GET
@permission_required("edit_checklists")
def template(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(ChecklistTemplate, pk=pk)
    revisions = found.revisions.select_related("made_by")
    return render(
        request,
        "jobs/checklists/checklist.html",
        {"template": found, "revisions": revisions, "suits": in_words(found.suits)},
    )


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def edit_template(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(ChecklistTemplate, pk=pk)
    initial = {"name": found.name, "retired": found.retired, "row_version": found.row_version}
    form = EditTemplateForm(request.POST or None, template=found, rule=found.suits, initial=initial)
    more: dict[str, Any] = {}
    if form.is_valid():
        values = {"name": form.cleaned_data["name"], "retired": form.cleaned_data["retired"], "suits": form.rule}
        try:
            actions.edit_template(
                actor=actor_of(request), template=found, row_version=form.cleaned_data["row_version"], **values
            )
            return redirect("checklists:template", pk)
        except StaleEditError:
            more = _both(form, found, {"name": found.name, "retired": found.retired, "suits": in_words(found.suits)})
    return _form_page(request, form, title=f"Edit ‘{found}’", action="Save", back="checklists:template", pk=pk, **more)


@require_POST
@permission_required("edit_checklists")
def begin_draft(request: HttpRequest, pk: int) -> HttpResponse:
    draft = actions.begin_draft(template=get_object_or_404(ChecklistTemplate, pk=pk), actor=actor_of(request))
    return redirect("checklists:revision", draft.pk)


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def revision(request: HttpRequest, pk: int) -> HttpResponse:
    """All items of a revision; those of a draft may be moved. Moving a section is this page's only action."""
    found = get_object_or_404(TemplateRevision.objects.select_related("template"), pk=pk)
    if request.method == "POST":
        title, up = request.POST.get("section", ""), request.POST.get("way") == "up"
        _told(request, lambda: actions.move_section(actor=actor_of(request), draft=found, title=title, up=up))
        return redirect("checklists:revision", pk)
    sections: dict[str, list[dict[str, Any]]] = {}
    for item in found.items.all():
        sections.setdefault(item.section, []).append({"item": item, "facts": _facts_of(item)})
    context = {
        "revision": found,
        "is_draft": found.published_at is None,
        "sections": sections,
        "count": found.items.count(),
    }
    return render(request, "jobs/checklists/revision.html", context)


def _facts_of(item: ChecklistItem) -> list[str]:
    """What the list's page says about an item under its text, besides the mark of a hold point."""
    limits, applies = limits_in_words(item), in_words(item.applies)
    kind = item.get_kind_display() + (f": {limits}" if limits else f" in {item.unit}" if item.unit else "")
    facts = {
        kind: True,
        "optional": not item.required,
        "second check": item.second_person,
        f"only {applies}": bool(applies),
        item.source: bool(item.source),
    }
    return [fact for fact, is_so in facts.items() if is_so]


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def publish(request: HttpRequest, pk: int) -> HttpResponse:
    draft = get_object_or_404(TemplateRevision, pk=pk)
    form = PublishForm(request.POST or None)
    if form.is_valid():
        try:
            actions.publish(actor=actor_of(request), draft=draft, reason=form.cleaned_data["reason"])
            return redirect("checklists:template", draft.template_id)
        except actions.ListRuleError as refusal:
            form.add_error(None, str(refusal))
    text = "New sheets use it from now on. It never changes again. Jobs under way keep theirs until changed over."
    return _form_page(
        request,
        form,
        title=f"Publish {draft}",
        action="Publish revision",
        back="checklists:revision",
        pk=pk,
        text=text,
    )


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def drop_draft(request: HttpRequest, pk: int) -> HttpResponse:
    draft = get_object_or_404(TemplateRevision, pk=pk)
    if request.method == "POST":
        _told(request, lambda: actions.drop_draft(actor=actor_of(request), draft=draft))
        return redirect("checklists:templates")
    context = {
        "title": f"Discard the draft of {draft}",
        "text": f"Its {draft.items.count()} items are lost. Published revisions stay.",
        "action": "Discard draft",
        "danger": True,
        "back_url": reverse("checklists:revision", args=[pk]),
    }
    return render(request, "confirm.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def new_item(request: HttpRequest, pk: int) -> HttpResponse:
    draft = get_object_or_404(TemplateRevision, pk=pk)
    last = draft.items.last()
    section = request.GET.get("section") or (last.section if last else "")
    form = NewItemForm(request.POST or None, request.FILES or None, initial={"section": section, "decimals": 1})
    if form.is_valid():
        try:
            actions.add_item(
                actor=actor_of(request),
                draft=draft,
                idempotency_key=form.cleaned_data["idempotency_key"],
                **form.content,
            )
            return redirect("checklists:revision", pk)
        except actions.ListRuleError as refusal:
            form.add_error(None, str(refusal))
    return _item_page(request, form, draft, title="Add item", action="Add item")


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def edit_item(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(ChecklistItem.objects.select_related("revision__template"), pk=pk)
    stored = get_object_or_404(ChecklistItem, pk=pk)  # the form writes into `item` while it checks
    form = EditItemForm(
        request.POST or None,
        request.FILES or None,
        instance=item,
        rule=stored.applies,
        initial={"row_version": item.row_version},
    )
    more: dict[str, Any] = {}
    if form.is_valid():
        try:
            actions.edit_item(
                actor=actor_of(request), item=stored, row_version=form.cleaned_data["row_version"], **form.content
            )
            return redirect("checklists:revision", stored.revision_id)
        except actions.ListRuleError as refusal:
            form.add_error(None, str(refusal))
        except StaleEditError:
            stands = {name: getattr(stored, name) for name in form.Meta.fields} | {"applies": in_words(stored.applies)}
            more = _both(form, stored, stands)
    return _item_page(request, form, stored.revision, title=stored.text, action="Save", item=stored, **more)


@require_POST
@permission_required("edit_checklists")
def move_item(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(ChecklistItem.objects.select_related("revision"), pk=pk)
    _told(request, lambda: actions.move_item(actor=actor_of(request), item=item, up=request.POST.get("way") == "up"))
    return redirect(_place_of(item))


@require_http_methods(["GET", "POST"])
@permission_required("edit_checklists")
def remove_item(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(ChecklistItem.objects.select_related("revision__template"), pk=pk)
    if request.method == "POST":
        below = item.revision.items.filter(position__gt=item.position).first()
        _told(request, lambda: actions.remove_item(actor=actor_of(request), item=item))
        return redirect(_place_of(below) if below else reverse("checklists:revision", args=[item.revision_id]))
    context = {
        "title": f"Remove ‘{item.text}’ from the draft",
        "text": f"It leaves the draft of {item.revision} with its limits and help. Published revisions and their "
        "sheets keep it. An item added again later is a new item: earlier entries do not count for it.",
        "action": "Remove item",
        "danger": True,
        "back_url": _place_of(item),
    }
    return render(request, "confirm.html", context)


def _place_of(item: ChecklistItem) -> str:
    """Where the item stands on the page of its revision."""
    return reverse("checklists:revision", args=[item.revision_id]) + f"#item-{item.key}"


def _told(request: HttpRequest, action: Any) -> None:
    try:
        action()
    except actions.ListRuleError as refusal:
        messages.error(request, str(refusal))


def _both(form: Any, current: Any, stands: dict[str, Any]) -> dict[str, Any]:
    """What somebody else stored meanwhile, beside what this person typed, ready to be sent once more."""
    form.add_error(None, "Someone else saved changes meanwhile. Compare, then save again to keep yours.")
    form.data = form.data.copy()
    form.data["row_version"] = str(current.row_version)
    labels = {name: form.fields[name].label or name for name in stands if name in form.fields}
    rows = [
        {"label": labels[name], "value": ", ".join(map(str, value)) if isinstance(value, list) else value}
        for name, value in stands.items()
        if name in labels and str(value) != str(form.cleaned_data.get(name))
    ]
    return {"stands": rows}


def _form_page(
    request: HttpRequest, form: Any, *, title: str, action: str, back: str, pk: int | None = None, **more: Any
) -> HttpResponse:
    rule_fields = getattr(form, "rule_fields", [])
    context = {
        "form": form,
        "asked": [bound for bound in form.visible_fields() if bound not in rule_fields],
        "rule_fields": rule_fields,
        "title": title,
        "action": action,
        "back_url": reverse(back, args=[pk] if pk else []),
        **more,
    }
    return render(request, "jobs/checklists/checklist_form.html", context, status=422 if form.is_bound else 200)


def _item_page(request: HttpRequest, form: Any, draft: TemplateRevision, **more: Any) -> HttpResponse:
    sections = list(dict.fromkeys(draft.items.values_list("section", flat=True)))
    context = {"form": form, "revision": draft, "sections": sections, **more}
    return render(request, "jobs/checklists/item_form.html", context, status=422 if form.is_bound else 200)
