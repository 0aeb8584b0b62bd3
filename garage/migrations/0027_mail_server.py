"""The server through which the workshop's mail goes out."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0026_quotes_and_stock"),
    ]

    operations = [
        migrations.CreateModel(
            name="MailSettings",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("in_use", models.BooleanField(default=False, verbose_name="send mail through this server")),
                ("server", models.CharField(blank=True, max_length=253, verbose_name="server")),
                ("port", models.PositiveIntegerField(default=587, verbose_name="port")),
                (
                    "security",
                    models.CharField(
                        choices=[
                            ("starttls", "STARTTLS (usual with port 587)"),
                            ("tls", "TLS (usual with port 465)"),
                            ("none", "none (only for a server in this network)"),
                        ],
                        default="starttls",
                        max_length=8,
                        verbose_name="TLS",
                    ),
                ),
                ("user_name", models.CharField(blank=True, max_length=254, verbose_name="user name")),
                ("sealed_password", models.TextField(blank=True, editable=False)),
                ("sender_address", models.EmailField(blank=True, max_length=254, verbose_name="sender's address")),
                ("sender_name", models.CharField(blank=True, max_length=80, verbose_name="sender's name")),
                ("row_version", models.PositiveIntegerField(default=1, editable=False)),
                ("only", models.PositiveSmallIntegerField(default=1, editable=False, unique=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("only", 1)), name="one_mail_server"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("in_use", False),
                            models.Q(
                                models.Q(("server", ""), _negated=True), models.Q(("sender_address", ""), _negated=True)
                            ),
                            _connector="OR",
                        ),
                        name="mail_in_use_knows_its_way",
                    ),
                ],
            },
        ),
    ]
