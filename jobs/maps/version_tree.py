"""The family of a job's versions: which went on from which."""

from dataclasses import dataclass, field

from jobs.job.models import Job
from jobs.maps.models import MapVersion
from timing.comparison import compare
from timing.errors import TimingError

STATES = {
    "draft": ("open", "draft"),
    "released": ("good", "released"),
    "superseded": ("note", "superseded"),
    "discarded": ("abandoned", "discarded"),
}


@dataclass(slots=True)
class Branch:
    """A version with what is known of it, and the versions that went on from it."""

    version: MapVersion
    state: str
    in_car: bool
    is_sound: bool
    changed: str
    children: list["Branch"] = field(default_factory=list)

    @property
    def mark(self) -> str:
        return STATES[self.state][0]

    @property
    def label(self) -> str:
        return STATES[self.state][1]


def state_of(version: MapVersion, newest_released: int | None) -> str:
    """draft, set aside, released, or superseded by a later release of the same job."""
    if version.set_aside_at is not None:
        return "discarded"
    if version.released_at is None:
        return "draft"
    return "released" if version.number == newest_released else "superseded"


def family_of(job: Job, in_car: MapVersion | None) -> list[Branch]:
    """The versions without a parent, each with its descendants, in the order of their numbers."""
    versions = list(job.map_versions.with_people().order_by("number"))
    released = [version.number for version in versions if version.released_at is not None]
    newest = max(released, default=None)
    branches = {
        version.pk: Branch(
            version=version,
            state=state_of(version, newest),
            in_car=in_car is not None and in_car.pk == version.pk,
            is_sound=version.can_be_relied_on(),
            changed=_changed(version),
        )
        for version in versions
    }
    roots: list[Branch] = []
    for version in versions:
        parent = branches.get(version.parent_id or 0)
        (parent.children if parent else roots).append(branches[version.pk])
    return roots


def _changed(version: MapVersion) -> str:
    if version.parent is None:
        return ""
    try:
        return compare(version.parent.ignition_map(), version.ignition_map()).sentence
    except TimingError:
        return "cannot be compared"
