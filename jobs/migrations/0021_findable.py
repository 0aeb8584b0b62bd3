from django.db import migrations

from garage.finding.kept import KeepFindable


class Migration(migrations.Migration):
    """One box finds what is said of a job. What it costs is in no index: not everybody may see that."""

    dependencies = [("garage", "0021_findable"), ("jobs", "0020_lists_in_order")]

    operations = [
        KeepFindable(
            "jobs_job", room="jobs", kind="job", words=["wanted", "complaint", "state_reason"], numbers=["code"]
        ),
        KeepFindable("jobs_entry", room="notes", kind="entry", words=["text", "note"]),
        KeepFindable("jobs_confirmation", room="notes", kind="confirmation", words=["text"]),
        KeepFindable(
            "jobs_inspectionverdict", room="notes", kind="inspectionverdict", words=["remarks", "customer_told"]
        ),
        KeepFindable("jobs_mapversion", room="notes", kind="mapversion", words=["reason"]),
        KeepFindable("jobs_roadrun", room="notes", kind="roadrun", words=["route", "summary"]),
        KeepFindable("jobs_roadnote", room="notes", kind="roadnote", words=["words"]),
        KeepFindable("jobs_signoff", room="notes", kind="signoff", words=["remarks"]),
    ]
