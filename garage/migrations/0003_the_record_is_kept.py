"""Revisions of unit types never change."""

from django.db import migrations

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [("garage", "0002_the_roles")]
    operations = [KeepForEver("garage_unittyperevision")]
