"""The three roles as Django groups, with the permissions they carry."""

from django.db import migrations


def make_roles(apps, schema_editor):
    from garage.people.roles import PERMISSIONS_OF

    Group = apps.get_model("auth", "Group")
    Permission = apps.get_model("auth", "Permission")
    ContentType = apps.get_model("contenttypes", "ContentType")
    staff_type, _ = ContentType.objects.get_or_create(app_label="garage", model="staff")
    # Django makes permissions only after all migrations; the groups need them now.
    names = dict(apps.get_model("garage", "Staff")._meta.permissions)
    for role, codenames in PERMISSIONS_OF.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set(
            Permission.objects.get_or_create(
                content_type=staff_type, codename=codename, defaults={"name": names.get(codename, codename)}
            )[0]
            for codename in codenames
        )


def drop_roles(apps, schema_editor):
    from garage.people.roles import PERMISSIONS_OF

    apps.get_model("auth", "Group").objects.filter(name__in=list(PERMISSIONS_OF)).delete()


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0001_the_workshop"),
        ("auth", "0012_alter_user_first_name_max_length"),
        ("contenttypes", "0002_remove_content_type_name"),
    ]
    operations = [migrations.RunPython(make_roles, drop_roles)]
