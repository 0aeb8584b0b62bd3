"""The workshop's site with the addresses of `bare_urls`, for benchmarks."""

from django.conf import settings

from garage.site.wsgi import application

__all__ = ["application"]

settings.ROOT_URLCONF = "tests.bench.bare_urls"
