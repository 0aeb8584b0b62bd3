"""Which role may do what. The groups themselves are made by a migration from this table."""

from garage.people.models import Role

PERMISSIONS_OF: dict[str, list[str]] = {
    Role.OWNER: [
        "manage_workshop",
        "edit_checklists",
        "edit_unit_types",
        "book_jobs",
        "keep_costs",
        "record_readings",
        "pass_gates",
    ],
    Role.MECHANIC: ["book_jobs", "record_readings"],
    # books and bills, touches no reading
    Role.FRONT_DESK: ["book_jobs", "keep_costs"],
}
