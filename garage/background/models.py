"""Who works in the background, and when each was last heard of."""

from django.db import models
from django.db.models.functions import Now


class BackgroundWorker(models.Model):
    """One worker process. It says every few seconds that it lives; one that fell silent has lost what it was doing.

    The moments are the database's own: two machines need not agree about the time.
    """

    id = models.CharField(max_length=64, primary_key=True)
    machine = models.CharField(max_length=255)
    began_at = models.DateTimeField(db_default=Now())
    heard_at = models.DateTimeField(db_default=Now())
