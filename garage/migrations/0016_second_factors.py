import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def of(name, field=models.ForeignKey):
    return field(on_delete=django.db.models.deletion.CASCADE, related_name=name, to=settings.AUTH_USER_MODEL)


def key():
    return models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")


class Migration(migrations.Migration):
    dependencies = [("garage", "0015_who_is_signed_in")]

    operations = [
        migrations.AddField(
            model_name="workshop",
            name="second_factor_for",
            field=models.CharField(
                choices=[("nobody", "Nobody"), ("owners", "Owners"), ("everybody", "Everybody")],
                default="nobody",
                max_length=12,
                verbose_name="second factor required for",
            ),
        ),
        migrations.CreateModel(
            name="TimeCode",
            fields=[
                ("id", key()),
                ("sealed_secret", models.TextField()),
                ("proven_at", models.DateTimeField()),
                ("last_step", models.BigIntegerField(default=0)),
                ("person", of("time_code", models.OneToOneField)),
            ],
        ),
        migrations.CreateModel(
            name="Passkey",
            fields=[
                ("id", key()),
                ("name", models.CharField(max_length=60)),
                ("host", models.CharField(max_length=253)),
                ("credential_id", models.CharField(max_length=1400, unique=True)),
                ("public_key", models.TextField()),
                ("sign_count", models.BigIntegerField(default=0)),
                ("made_at", models.DateTimeField()),
                ("last_used_at", models.DateTimeField(null=True)),
                ("person", of("passkeys")),
            ],
            options={"ordering": ["made_at"]},
        ),
        migrations.CreateModel(
            name="RecoveryCode",
            fields=[
                ("id", key()),
                ("mark", models.CharField(max_length=1)),
                ("hashed", models.CharField(max_length=128)),
                ("used_at", models.DateTimeField(null=True)),
                ("person", of("recovery_codes")),
            ],
        ),
    ]
