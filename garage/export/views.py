"""The page where the owner takes the whole book along."""

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.export import finished
from garage.export.actions import ask_for_export
from garage.people.access import permission_required
from garage.people.actor import actor_of


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def page(request: HttpRequest) -> HttpResponse:
    """What lies ready; asked with POST, another one is made."""
    if request.method == "POST":
        if not finished.is_being_made():
            ask_for_export(actor=actor_of(request), folder=finished.exports_folder())
        return redirect("export:page")
    context = {
        "exports": finished.finished(),
        "being_made": finished.is_being_made(),
        "trouble": finished.what_went_wrong(),
    }
    return render(request, "garage/export/page.html", context)


def _found(name: str) -> finished.Finished:
    for one in finished.finished():
        if one.file.name == name:
            return one
    raise Http404


@require_GET
@permission_required("manage_workshop")
def download(request: HttpRequest, name: str) -> HttpResponse:
    answer = FileResponse(_found(name).file.open("rb"), as_attachment=True, content_type="application/zip")
    answer["Cache-Control"] = "private, no-store"
    return answer  # type: ignore[return-value]  # Django streams it, as any other answer


@require_POST
@permission_required("manage_workshop")
def remove(request: HttpRequest, name: str) -> HttpResponse:
    _found(name).file.unlink(missing_ok=True)
    return redirect("export:page")
