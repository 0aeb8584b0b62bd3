import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    """Sign-ins that name their person and device. Those of before end: everybody signs in once more."""

    dependencies = [("garage", "0014_alone_in_the_workshop")]

    operations = [
        migrations.CreateModel(
            name="OpenSession",
            fields=[
                (
                    "session_key",
                    models.CharField(max_length=40, primary_key=True, serialize=False, verbose_name="session key"),
                ),
                ("session_data", models.TextField(verbose_name="session data")),
                ("expire_date", models.DateTimeField(db_index=True, verbose_name="expire date")),
                ("name", models.UUIDField(db_index=True, editable=False)),
                ("by_pin", models.BooleanField(default=False)),
                ("last_used", models.DateTimeField()),
                (
                    "person",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="open_sessions",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={"verbose_name": "sign-in", "verbose_name_plural": "sign-ins", "abstract": False},
        ),
    ]
