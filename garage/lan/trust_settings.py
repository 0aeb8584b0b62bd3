"""Settings of the one plain-http page: no database, no sessions, nobody signs in, nothing redirected by itself."""

from garage.site.settings import *  # noqa: F403 - everything that is not named below is the workshop's

ROOT_URLCONF = "garage.lan.trust"
DATABASES = {}
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
TEMPLATES = [{**TEMPLATES[0], "OPTIONS": {**TEMPLATES[0]["OPTIONS"], "context_processors": []}}]  # type: ignore[dict-item]  # noqa: F405
SECURE_SSL_REDIRECT = False
SECURE_HSTS_SECONDS = 0
