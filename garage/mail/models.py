"""The server through which the workshop's mail goes out, as the owner set it up."""

from django.db import models
from django.db.models import Q


class Security(models.TextChoices):
    """How the way to the server is kept from being read."""

    STARTTLS = "starttls", "STARTTLS (usual with port 587)"
    TLS = "tls", "TLS (usual with port 465)"
    NONE = "none", "none (only for a server in this network)"


class MailSettings(models.Model):
    """Server, sender and password: one row, and none before the owner saves them for the first time."""

    in_use = models.BooleanField("send mail through this server", default=False)
    server = models.CharField("server", max_length=253, blank=True)
    port = models.PositiveIntegerField("port", default=587)
    security = models.CharField("TLS", max_length=8, choices=Security, default=Security.STARTTLS)
    user_name = models.CharField("user name", max_length=254, blank=True)
    sealed_password = models.TextField(blank=True, editable=False)  # `garage/mail/password.py` opens it
    sender_address = models.EmailField("sender's address", blank=True)
    sender_name = models.CharField("sender's name", max_length=80, blank=True)
    row_version = models.PositiveIntegerField(default=1, editable=False)
    # One row and no more: the only value the constraint allows, made unique.
    only = models.PositiveSmallIntegerField(default=1, unique=True, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(only=1), name="one_mail_server"),
            models.CheckConstraint(
                condition=Q(in_use=False) | ~Q(server="") & ~Q(sender_address=""), name="mail_in_use_knows_its_way"
            ),
        ]

    def __str__(self) -> str:
        return "mail server"
