"""Run in a process of its own, on the data folder that CRANKMARK_DATA names: brings the tables up to date and looks.

Prints one JSON object: what the pages answered, and the hash of every document as the site gave it out.
"""

import hashlib
import json
import os
import sys

import django


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client, override_settings
    from django.test.utils import setup_test_environment
    from django.urls import reverse

    call_command("migrate", verbosity=0, interactive=False)
    setup_test_environment()
    from garage.people.models import Staff
    from jobs.models import IssuedDocument, Job, MapVersion

    client = Client()
    found: dict[str, object] = {}
    with override_settings(SECURE_SSL_REDIRECT=False):
        client.force_login(Staff.objects.get(username="rowan"), backend="django.contrib.auth.backends.ModelBackend")
        answers = {}
        for job in Job.objects.all():
            for name in ("board:job", "board:journal", "inspection:page", "inspection:sheet", "fitting:page",
                         "strobe:page", "maps:page", "roadtest:page", "handover:page", "costs:page"):  # fmt: skip
                answers[f"{job.code} {name}"] = client.get(reverse(name, args=[job.code])).status_code
        for version in MapVersion.objects.select_related("job"):
            url = reverse("bench:version", args=[version.job.code, version.number])
            answers[f"{version.job.code} map {version.number}"] = client.get(url).status_code
        answers["board"] = client.get(reverse("board:board")).status_code
        found["answers"] = answers
        found["documents"] = {}
        for paper in IssuedDocument.objects.select_related("job"):
            answer = client.get(reverse("documents:document", args=[paper.job.code, paper.pk]))
            found["documents"][paper.file.name] = [hashlib.sha256(answer.content).hexdigest(), paper.sha256]
        found["sound"] = [version.is_sound() for version in MapVersion.objects.exclude(released_at=None)]
        found["journal"] = sum(_lines_of(client, job) for job in Job.objects.all())
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%_kept_%'")
        found["triggers"] = cursor.fetchone()[0]
        cursor.execute("PRAGMA foreign_key_check")
        found["loose_ends"] = len(cursor.fetchall())
    json.dump(found, sys.stdout)


def _lines_of(client, job):
    """How many lines the journal has, counted by turning its pages."""
    from django.urls import reverse

    page = client.get(reverse("board:journal", args=[job.code])).context["page"]
    lines = len(page)
    while page.after:
        page = client.get(reverse("board:journal", args=[job.code]), {"after": page.after}).context["page"]
        lines += len(page)
    return lines


if __name__ == "__main__":
    main()
