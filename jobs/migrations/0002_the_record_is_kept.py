"""Facts are appended, never overwritten; what is released, published or issued never changes."""

from django.db import migrations

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [("jobs", "0001_the_work_on_one_car")]
    operations = [
        KeepForEver("jobs_journalline"),
        KeepForEver("jobs_gatecrossing"),
        KeepForEver("jobs_sweepreading"),
        KeepForEver("jobs_compressionreading"),
        KeepForEver("jobs_markcheck"),
        KeepForEver("jobs_inspectionverdict"),
        KeepForEver("jobs_entry"),
        KeepForEver("jobs_confirmation"),
        KeepForEver("jobs_photograph"),
        KeepForEver("jobs_strobesitting"),
        KeepForEver("jobs_strobereading"),
        KeepForEver("jobs_clampcheck"),
        KeepForEver("jobs_readback"),
        KeepForEver("jobs_roadrun", when="OLD.ended_at IS NOT NULL"),
        KeepForEver("jobs_roadnote"),
        KeepForEver("jobs_signoff"),
        KeepForEver("jobs_costline"),
        KeepForEver("jobs_issueddocument"),
        KeepForEver("jobs_mapversion", when="OLD.released_at IS NOT NULL"),
        KeepForEver("jobs_templaterevision", when="OLD.published_at IS NOT NULL"),
        KeepForEver(
            "jobs_checklistitem",
            when="EXISTS (SELECT 1 FROM jobs_templaterevision r "
            "WHERE r.id = OLD.revision_id AND r.published_at IS NOT NULL)",
        ),
    ]
