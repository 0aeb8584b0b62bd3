"""Settings, all from the environment. Without any, a safe site for one machine and one data folder."""

import os
import sys
from pathlib import Path

from csp.constants import NONE, SELF
from environs import Env

from garage.files.address import storage_at
from garage.site.sqlite_engine import use_sound_sqlite

use_sound_sqlite()

# Whatever is written here belongs to the workshop: nobody else on this machine reads the book or its journal.
os.umask(0o077)

env = Env()

BASE_DIR = Path(__file__).resolve().parent.parent.parent
DATA_DIR = Path(env.str("CRANKMARK_DATA", "") or BASE_DIR / ".data").resolve()

# Development is asked for by name; nobody gets tracebacks in the browser by forgetting a variable.
DEBUG = env.bool("CRANKMARK_DEVELOPMENT", False)
SECRET_KEY = env.str("SECRET_KEY", "")
if not SECRET_KEY:
    from garage.site.data_folder import kept_secret_key

    SECRET_KEY = kept_secret_key(DATA_DIR)
# Keys that SECRET_KEY replaced: what they sealed and signed is still read.
SECRET_KEY_FALLBACKS: list[str] = env.list("SECRET_KEY_FALLBACKS", [])
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS: list[str] = env.list("CSRF_TRUSTED_ORIGINS", [])

INSTALLED_APPS = [
    "garage",
    "jobs",
    "axes",
    "csp",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "garage.watching.middleware.watched",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "garage.site.middleware.nobody_keeps_pages",
    "garage.site.middleware.nothing_but_the_camera",
    "garage.site.uploads.nothing_too_large",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "garage.site.middleware.SignedInWithARole",
    "django.middleware.csrf.CsrfViewMiddleware",
    "garage.site.middleware.device_is_known",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
    "garage.site.middleware.RefusalsAreAnswered",
]

ROOT_URLCONF = "garage.site.urls"
WSGI_APPLICATION = "garage.site.wsgi.application"
ASGI_APPLICATION = "garage.site.asgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "garage.site.context.navigation",
                "garage.backup.notices.notices",
            ],
            "libraries": {
                "finding": "garage.finding.templatetags.finding",
                "look": "garage.site.templatetags.look",
                "quantities": "garage.quantities.templatetags.quantities",
            },
            "loaders": [
                (
                    "django.template.loaders.cached.Loader",
                    ["django.template.loaders.filesystem.Loader"],
                )
            ]
            if not DEBUG
            else ["django.template.loaders.filesystem.Loader"],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.DjangoTemplates"

if env.str("DATABASE_URL", ""):
    DATABASES = {"default": env.dj_db_url("DATABASE_URL", conn_max_age=60)}
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
else:
    DATABASES = {
        "default": {
            # Django's own, on which writers take turns.
            "ENGINE": "garage.record.sqlite",
            "NAME": DATA_DIR / "crankmark.sqlite3",
            "CONN_MAX_AGE": None,
            "OPTIONS": {
                # Writers queue instead of failing; FULL so that an acknowledged tick survives a power cut.
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                "init_command": (
                    "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; "
                    "PRAGMA foreign_keys=ON; PRAGMA journal_size_limit=67108864;"
                ),
            },
            # A file, since the browser tests write from several connections; one per process, since helpers of
            # the test run (and people) run suites side by side.
            "TEST": {"NAME": env.str("CRANKMARK_TEST_DB", f"/tmp/crankmark-test-{os.getpid()}.sqlite3")},  # noqa: S108
        }
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "garage.Staff"
AUTHENTICATION_BACKENDS = [
    "garage.people.guessing.SlowsGuessing",
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
    "garage.people.second_step.SecondStep",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("username", "name", "email")},
    },
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "people:sign-in"
LOGIN_REDIRECT_URL = "board:board"
LOGOUT_REDIRECT_URL = "people:sign-in"

# By name and address together: a colleague's typing errors on one tablet do not lock the owner out at the desk.
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "errors/429.html"
AXES_HTTP_RESPONSE_CODE = 429
AXES_VERBOSE = False
# The owner is shown who came in and who tried (garage/people/sign_ins.py).
AXES_ENABLE_ACCESS_FAILURE_LOG = True
# It also keeps what was sent with a try: nothing of this is anybody's to read.
AXES_SENSITIVE_PARAMETERS = [
    "username", "ip_address", "new-password", "new-new_password", "new-new_password_again", "password_again",
    "pin", "pin_again", "code", "passkey", "csrfmiddlewaretoken",
]  # fmt: skip
AXES_CLIENT_IP_CALLABLE = "garage.people.guessing.address_of"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = env.str("TIME_ZONE", "Europe/London")
USE_I18N = True
USE_TZ = True

# The second place for backups, on another disk (garage/backup). How many days, weeks and months of them are kept.
_backups = env.str("CRANKMARK_BACKUP", "")
BACKUP_FOLDER = Path(_backups).resolve() if _backups else None
# The newest goes to a bucket as well: s3://bucket/folder. Whatever says how to reach it, boto3 reads by itself.
BACKUP_BUCKET = env.str("CRANKMARK_BACKUP_BUCKET", "")
_passphrase = env.str("CRANKMARK_BACKUP_PASSPHRASE_FILE", "")
BACKUP_PASSPHRASE_FILE = Path(_passphrase).resolve() if _passphrase else None
BACKUP_KEEP: list[int] = env.list("CRANKMARK_BACKUP_KEEP", [7, 5, 12], subcast=int)

# Work in the background (garage/background). A worker that is silent for so many seconds has lost what it was doing.
TASKS = {
    "default": {
        "BACKEND": "django_tasks_db.DatabaseBackend",
        "QUEUES": [],
        "OPTIONS": {"id_function": "garage.background.identity.next_id"},
    }
}
BACKGROUND_SILENCE = env.float("CRANKMARK_BACKGROUND_SILENCE", 60.0)
# Papers are set by a process of their own, so that no tick waits for one; the tests set theirs where they stand.
PAPERS_SET_APART = True

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = DATA_DIR / "static"
# Where photographs and documents are kept: in the data folder, or in a store such as s3://bucket/folder.
FILES_URL = env.str("FILES_URL", "")
STORAGES = {
    "default": storage_at(FILES_URL, DATA_DIR / "files"),
    "staticfiles": {"BACKEND": "garage.site.hashed_static.HashedStaticFiles"},
}
# Development and tests serve straight from `static/`; the manifest is made by `collectstatic` for production.
WHITENOISE_USE_FINDERS = DEBUG
if DEBUG or "pytest" in sys.modules:
    STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    WHITENOISE_AUTOREFRESH = True

FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700
DATA_UPLOAD_MAX_MEMORY_SIZE = 4 * 1024 * 1024

# Whether the site is reached over https is one fact; all that hangs on it is derived from it.
HTTPS = env.bool("CRANKMARK_HTTPS", False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
# `manage.py serve` turns it off where the certificate comes from the workshop's own authority.
STRICT_TRANSPORT = HTTPS and env.bool("CRANKMARK_HSTS", True)
SECURE_HSTS_SECONDS = 31_536_000 if STRICT_TRANSPORT else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = STRICT_TRANSPORT
BEHIND_PROXY = env.bool("CRANKMARK_BEHIND_PROXY", False)
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SESSION_ENGINE = "garage.people.sessions"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 7
# A tablet that lay there over night asks for a sign-in. What was not sent yet waits on it.
SESSION_IDLE_AFTER = 60 * env.int("CRANKMARK_IDLE_MINUTES", 12 * 60)
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "garage.site.views.csrf_failure"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

# Queries that take longer are named in the log [ms]; who holds the token reads the figures at /metrics/.
SLOW_QUERY_MS = env.float("SLOW_QUERY_MS", 500.0)
METRICS_TOKEN = env.str("METRICS_TOKEN", "")

# For a terminal plain lines, for a service's journal or a collector JSON.
LOG_FORMAT = env.str("LOG_FORMAT", "") or ("text" if sys.stderr.isatty() else "json")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "quiet": {"()": "garage.watching.quiet_log.WithoutTracebacksOfGuests"},
        "number": {"()": "garage.watching.log.NumberAndRoute"},
    },
    "formatters": {
        "text": {"format": "{asctime} {levelname} {name} {number} {message}", "style": "{"},
        "json": {"()": "garage.watching.log.JsonLines"},
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "json" if LOG_FORMAT == "json" else "text",
            "filters": ["quiet", "number"],
        }
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    # Django's own goes the same way: its lines without an address. axes would name who tried; the owner's page does.
    "loggers": {
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        "axes": {"level": "ERROR"},
    },
}
SILENCED_SYSTEM_CHECKS: list[str] = []
