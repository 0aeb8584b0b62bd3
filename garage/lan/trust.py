"""The one page over plain http: how a tablet comes to trust the workshop's authority. Everything else leads to https.

A process of its own serves it, which neither opens the database nor reads a key.
"""

import os
from urllib.parse import urlsplit

from cryptography import x509
from cryptography.x509.oid import NameOID
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import path, re_path
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from garage.lan.authority import authority_file, fingerprint

FILE_NAME = "crankmark-authority.crt"


@require_safe
@never_cache
def page(request: HttpRequest) -> HttpResponse:
    if not _has_authority():
        return elsewhere(request)
    certificate = x509.load_der_x509_certificate(_offered())
    return render(
        request,
        "garage/site/trust.html",
        {
            "name": certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value,
            "fingerprint": fingerprint(certificate),
            "until": certificate.not_valid_after_utc,
            "workshop": _over_https(request, "/"),
            "file_name": FILE_NAME,
        },
    )


@require_safe
@never_cache
def download(request: HttpRequest) -> HttpResponse:
    if not _has_authority():
        return elsewhere(request)
    return HttpResponse(
        _offered(),
        content_type="application/x-x509-ca-cert",
        headers={"Content-Disposition": f'attachment; filename="{FILE_NAME}"'},
    )


def elsewhere(request: HttpRequest) -> HttpResponse:
    return HttpResponseRedirect(_over_https(request, request.get_full_path()))


def _over_https(request: HttpRequest, target: str) -> str:
    host = urlsplit(f"//{request.get_host()}").hostname or "localhost"
    port = os.environ.get("CRANKMARK_HTTPS_PORT", "443")
    return f"https://{f'[{host}]' if ':' in host else host}{'' if port == '443' else f':{port}'}{target}"


def _has_authority() -> bool:
    # With a certificate of the workshop's own there is nothing to trust.
    return bool(os.environ.get("CRANKMARK_LOCAL_AUTHORITY"))


def _offered() -> bytes:
    return authority_file(settings.DATA_DIR / "certificates").read_bytes()


urlpatterns = [
    path("", page, name="trust"),
    path(FILE_NAME, download, name="authority"),
    re_path("", elsewhere),
]
handler400 = "garage.site.views.bad_request"
