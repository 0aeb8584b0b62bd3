"""What brings the rotor into line: where the trigger sits, what of the distributor can be moved, and its rim."""

from django.db import migrations, models

import garage.quantities.limits


class Migration(migrations.Migration):
    dependencies = [("garage", "0008_capsule_units_are_kept")]
    operations = [
        migrations.AddField(
            "distributor", "has_rotor",
            models.BooleanField(blank=True, null=True, verbose_name="rotor and cap fitted"),
        ),
        migrations.AddField(
            "distributor", "cap_posts",
            models.PositiveSmallIntegerField(
                blank=True, null=True, validators=[garage.quantities.limits.Between(2, 24)], verbose_name="cap posts"
            ),
        ),
        migrations.AddField(
            "distributor", "trigger_place",
            models.CharField(
                blank=True,
                choices=[("distributor", "in the distributor"), ("crank or camshaft", "on the crank or camshaft")],
                default="",
                max_length=20,
                verbose_name="place of the trigger",
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "distributor", "plate_moves",
            models.BooleanField(blank=True, null=True, verbose_name="plate or pick-up can be moved"),
        ),
        migrations.AddField(
            "distributor", "rim_diameter_mm",
            models.FloatField(
                blank=True,
                null=True,
                validators=[garage.quantities.limits.Between(20, 200, "mm")],
                verbose_name="diameter of the body's rim",
            ),
        ),
    ]  # fmt: skip
