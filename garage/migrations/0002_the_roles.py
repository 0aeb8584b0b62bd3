"""The three roles as Django groups, with the permissions they carry."""

from django.db import migrations

from garage.people import roles


def make_roles(apps, schema_editor):
    roles.make_roles(apps)


def drop_roles(apps, schema_editor):
    apps.get_model("auth", "Group").objects.filter(name__in=list(roles.PERMISSIONS_OF)).delete()


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0001_the_workshop"),
        ("auth", "0012_alter_user_first_name_max_length"),
        ("contenttypes", "0002_remove_content_type_name"),
    ]
    operations = [migrations.RunPython(make_roles, drop_roles)]
