"""What a person proves themselves with besides the password. The person is named by Django's lazy reference."""

from django.conf import settings
from django.db import models


class TimeCode(models.Model):
    """A secret that an app on the person's phone shares, in force once a code has proven it."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="time_code")
    sealed_secret = models.TextField()  # see garage/second_factor/sealing.py
    proven_at = models.DateTimeField()
    last_step = models.BigIntegerField(default=0)  # the code of this step was the last that was taken


class Passkey(models.Model):
    """The public half of a key that lies in a device of the person's."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="passkeys")
    name = models.CharField(max_length=60)
    # WebAuthn binds a key to the name under which the site was opened; under another it does not answer
    host = models.CharField(max_length=253)
    credential_id = models.CharField(max_length=1400, unique=True)  # base64url, at most 1023 bytes by the standard
    public_key = models.TextField()
    sign_count = models.BigIntegerField(default=0)
    made_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["made_at"]

    def __str__(self) -> str:
        return self.name


class RecoveryCode(models.Model):
    """One of the ten that stand in for a lost phone, each once. Kept hashed."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="recovery_codes")
    mark = models.CharField(max_length=1)  # its first letter, by which it is found: one slow hash a try, not ten
    hashed = models.CharField(max_length=128)
    used_at = models.DateTimeField(null=True)
