from django.db import migrations, models


class Migration(migrations.Migration):
    """Empty for everybody who is there: their passwords stay good."""

    dependencies = [("garage", "0012_how_far_above_the_red_line")]

    operations = [
        migrations.AddField(
            model_name="staff",
            name="first_password_until",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
    ]
