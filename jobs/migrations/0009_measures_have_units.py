"""A measure of a sheet is a canonical figure and the unit it was read in; an item says what it measures.

Nothing is reckoned anew. The items of the lists there are have no quantity and no correction: their unit goes on being
the unit of their limits and of what is entered by them, and a figure that was asked for 'corrected to sea level' or 'to
20 °C' stays one. Their entries are told the unit of their item.
"""

from django.db import migrations, models

from garage.record.triggers import KeepForEver, LetChange

OF_A_PUBLISHED_LIST = (
    "EXISTS (SELECT 1 FROM jobs_templaterevision r WHERE r.id = OLD.revision_id AND r.published_at IS NOT NULL)"
)


def unit_of_the_item(apps, schema_editor):
    item = apps.get_model("jobs", "ChecklistItem").objects.filter(pk=models.OuterRef("item_id"))
    entries = apps.get_model("jobs", "Entry").objects.exclude(measure=None)
    entries.update(unit=models.Subquery(item.values("unit")[:1]))


class Migration(migrations.Migration):
    dependencies = [("jobs", "0008_limits_are_kept")]
    operations = [
        LetChange("jobs_checklistitem", when=OF_A_PUBLISHED_LIST),
        LetChange("jobs_entry"),
        migrations.AddField(
            "checklistitem",
            "quantity",
            models.CharField(
                blank=True,
                choices=[
                    ("", "figures in the one unit"),
                    ("vacuum", "vacuum: kPa, inHg, mmHg, mbar"),
                    ("pressure", "pressure: kPa, bar, psi"),
                ],
                default="",
                max_length=12,
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "checklistitem",
            "correction",
            models.CharField(
                blank=True,
                choices=[
                    ("", "none: as it is read"),
                    ("sea level", "to sea level, by the workshop's altitude"),
                    ("20 °C", "to 20 °C as copper, by the temperature read beside it"),
                    ("per metre", "per metre, by the length read beside it"),
                ],
                default="",
                max_length=12,
            ),
        ),
        migrations.AddField(
            "entry", "unit", models.CharField(blank=True, default="", max_length=16), preserve_default=False
        ),
        migrations.AddField("entry", "beside", models.FloatField(blank=True, null=True)),
        migrations.AddField("entry", "altitude_m", models.FloatField(blank=True, null=True)),
        migrations.RunPython(unit_of_the_item, migrations.RunPython.noop),
        KeepForEver("jobs_checklistitem", when=OF_A_PUBLISHED_LIST),
        KeepForEver("jobs_entry"),
    ]
