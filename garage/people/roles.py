"""Which role may do what. The groups themselves are made by a migration from this table."""

from django.apps.registry import Apps

from garage.people.models import Role

PERMISSIONS_OF: dict[str, list[str]] = {
    Role.OWNER: [
        "manage_workshop",
        "edit_checklists",
        "edit_unit_types",
        "book_jobs",
        "import_lists",
        "keep_costs",
        "record_readings",
        "pass_gates",
    ],
    Role.MECHANIC: ["book_jobs", "record_readings"],
    # books and bills, touches no reading
    Role.FRONT_DESK: ["book_jobs", "import_lists", "keep_costs"],
}


def make_roles(apps: Apps) -> None:
    """Make the groups and give them their permissions; those that are there are put right."""
    groups, permissions = apps.get_model("auth", "Group").objects, apps.get_model("auth", "Permission").objects
    staff_type, _ = apps.get_model("contenttypes", "ContentType").objects.get_or_create(
        app_label="garage", model="staff"
    )
    # Django makes permissions only after all migrations; the groups need them now.
    names = dict(apps.get_model("garage", "Staff")._meta.permissions)
    for role, codenames in PERMISSIONS_OF.items():
        group, _ = groups.get_or_create(name=role)
        group.permissions.set(
            permissions.get_or_create(content_type=staff_type, codename=codename, defaults={"name": names[codename]})[0]
            for codename in codenames
            if codename in names  # the first migration knows none that came later
        )
