"""Mail to customers with what came of it, reminders by mail, and when a customer's link was first opened."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0027_mail_server"),
        ("jobs", "0030_slight_pinking"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="MailAttachment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("file_name", models.CharField(max_length=120)),
                ("stored_as", models.CharField(max_length=200)),
                ("sha256", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="MailStep",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("made_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("place", models.PositiveSmallIntegerField()),
                ("number", models.PositiveSmallIntegerField()),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("begun", "begun"),
                            ("sent", "sent"),
                            ("put off", "not taken, tried again later"),
                            ("refused", "refused"),
                            ("given up", "given up after a day"),
                            ("cut off", "cut off"),
                            ("asked again", "tried again"),
                            ("by hand", "sent by hand"),
                            ("stopped", "stopped"),
                        ],
                        max_length=12,
                    ),
                ),
                ("sentence", models.CharField(blank=True, max_length=300)),
                ("answer", models.CharField(blank=True, max_length=300)),
                ("again_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["place"],
            },
        ),
        migrations.CreateModel(
            name="MailText",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("papers", "papers of the car"),
                            ("quote", "quote"),
                            ("bill", "bill"),
                            ("reminder", "reminder"),
                        ],
                        max_length=12,
                        unique=True,
                    ),
                ),
                ("subject_line", models.CharField(max_length=150, verbose_name="subject")),
                ("text", models.TextField(max_length=4000)),
                ("row_version", models.PositiveIntegerField(default=1, editable=False)),
            ],
        ),
        migrations.AddField(
            model_name="customerlink",
            name="first_opened_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="reminder",
            name="channel",
            field=models.CharField(choices=[("letter", "letter"), ("mail", "email")], default="letter", max_length=8),
        ),
        migrations.CreateModel(
            name="Mail",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("papers", "papers of the car"),
                            ("quote", "quote"),
                            ("bill", "bill"),
                            ("reminder", "reminder"),
                        ],
                        max_length=12,
                    ),
                ),
                ("what", models.CharField(max_length=160)),
                ("subject_kind", models.CharField(max_length=20)),
                ("subject_id", models.PositiveBigIntegerField()),
                ("address", models.EmailField(max_length=254)),
                ("subject_line", models.CharField(max_length=150, verbose_name="subject")),
                ("text", models.TextField(max_length=6000)),
                ("message_id", models.CharField(max_length=320)),
                ("put_in_at", models.DateTimeField()),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "job",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="mails", to="jobs.job"),
                ),
                (
                    "put_in_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["-put_in_at", "-pk"],
            },
        ),
        migrations.AddField(
            model_name="reminder",
            name="mail",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="reminder",
                to="jobs.mail",
            ),
        ),
        migrations.AddConstraint(
            model_name="reminder",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("channel", "letter"), ("mail", None)),
                    models.Q(("channel", "mail"), ("mail__isnull", False)),
                    _connector="OR",
                ),
                name="reminder_by_mail_has_its_mail",
            ),
        ),
        migrations.AddField(
            model_name="mailattachment",
            name="mail",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="attachments", to="jobs.mail"
            ),
        ),
        migrations.AddField(
            model_name="mailstep",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="mailstep",
            name="device",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="garage.device"
            ),
        ),
        migrations.AddField(
            model_name="mailstep",
            name="mail",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="steps", to="jobs.mail"),
        ),
        migrations.AddField(
            model_name="mailstep",
            name="supersedes",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="successors",
                to="jobs.mailstep",
            ),
        ),
        migrations.AddIndex(
            model_name="mail",
            index=models.Index(fields=["subject_kind", "subject_id"], name="mails_about_one_thing"),
        ),
        migrations.AddIndex(
            model_name="mailstep",
            index=models.Index(fields=["kind", "mail"], name="mail_steps_by_kind"),
        ),
        migrations.AddConstraint(
            model_name="mailstep",
            constraint=models.UniqueConstraint(fields=("mail", "place"), name="mail_step_place_once"),
        ),
        migrations.AddConstraint(
            model_name="mailstep",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("again_at__isnull", False), ("kind", "put off")),
                    models.Q(models.Q(("kind", "put off"), _negated=True), ("again_at", None)),
                    _connector="OR",
                ),
                name="mail_put_off_says_until_when",
            ),
        ),
        KeepForEver("jobs_mail", erasable=["what", "address", "subject_line", "text", "message_id"]),
        KeepForEver("jobs_mailattachment", erasable=["file_name", "stored_as"]),
        KeepForEver("jobs_mailstep", erasable=["sentence", "answer"]),
    ]
