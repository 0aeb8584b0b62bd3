"""Where to go on after a form was answered."""

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def onward(request: HttpRequest, otherwise: str) -> str:
    """Where the page that sent this wanted to go on, if that is on this site."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if safe else otherwise
