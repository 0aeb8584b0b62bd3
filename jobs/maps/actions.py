"""What may be done to the maps of a job: each action one transaction and one line of the journal."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Max

from garage.quantities.words import pressure
from garage.record import trail
from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import StaleEditError, save_if_unchanged
from garage.units.models import FittedUnit, UnitTypeRevision
from jobs.job import journal
from jobs.job.models import Job
from jobs.maps.content_hash import NEWEST_FORM, content_hash_of
from jobs.maps.findings import stops_of
from jobs.maps.models import SETTINGS, CurvePattern, MapVersion, ReadBack
from jobs.maps.stored_map import from_columns, to_columns, to_json
from jobs.maps.unit_fit import fit_to_unit, lines_of
from timing.comparison import compare
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.unit import read_back


class MapRefusedError(RuleRefusedError):
    """Something the rules about maps forbid."""


@transaction.atomic
def start_version(
    *,
    job: Job,
    parent: MapVersion | None,
    reason: str,
    actor: Actor,
    curve: AdvanceCurve | None = None,
    start: IgnitionMap | None = None,
    origin: str = "",
    unit_revision: UnitTypeRevision | None = None,
    copied_from: MapVersion | None = None,
    pattern: CurvePattern | None = None,
    entered_in: Mapping[str, str] | None = None,
    idempotency_key: uuid.UUID | None = None,
) -> MapVersion:
    """A new draft, with its number, where it comes from and why.

    Parameters
    ----------
    parent
        The version of this job it goes on from, None for a first thought.
    curve
        A speed curve to take instead of the parent's.
    start
        The map to start from; needed where there is no parent.
    origin
        Where the figures come from, in words; with a parent it may be left out.
    unit_revision
        The unit type it is for: by default the parent's, else that of the unit fitted in the car.
    entered_in
        The units vacuum and boost are shown in, as the columns `vacuum_unit` and `boost_unit`.
    idempotency_key
        The id of the form; the same id gives the version it made the first time.

    Raises
    ------
    SentBeforeError
        If the id made a version from something else, or for another reason.
    """
    # Numbers are given out one at a time, and of one form sent twice at once the second waits here.
    Job.objects.select_for_update().get(pk=job.pk)
    if idempotency_key is not None:
        made = MapVersion.objects.filter(idempotency_key=idempotency_key).first()
        if made is not None:
            refuse_unless_same(
                made,
                {"job": job, "parent": parent, "reason": reason}
                | ({"origin": origin} if origin else {})
                | ({"unit_revision": unit_revision} if unit_revision else {}),
            )
            return made
    _refuse_as_a_start(job, parent, copied_from)
    if parent is None and start is None:
        raise MapRefusedError("Choose a curve to start from.")
    revision = unit_revision or (parent.unit_revision if parent else job.unit.revision if job.unit else None)
    if revision is None:
        raise MapRefusedError("Choose the unit first.")
    highest = job.map_versions.aggregate(last=Max("number"))["last"] or 0
    version = MapVersion.objects.create(
        job=job,
        number=highest + 1,
        parent=parent,
        origin=origin or f"version {parent.number}" if parent else origin,
        reason=reason,
        unit_revision=revision,
        copied_from=copied_from,
        pattern=pattern,
        author=actor.person,
        made_at=actor.at,
        idempotency_key=idempotency_key or uuid.uuid4(),
        **{**_settings_at_first(parent, start, curve), **(entered_in or {})},
    )
    changed = compare(parent.ignition_map(), version.ignition_map()).sentence if parent else ""
    journal.write(
        job,
        Event.MAP_STARTED,
        f"Version {version.number} started from {version.origin}: {reason}",
        actor=actor,
        number=version.number,
        origin=version.origin,
        parent=parent.number if parent else None,
        reason=reason,
        changed=changed,
        revision=str(revision),
    )
    return version


def _refuse_as_a_start(job: Job, parent: MapVersion | None, copied_from: MapVersion | None) -> None:
    if parent is not None and parent.job_id != job.pk:
        raise MapRefusedError(f"Version {parent.number} belongs to another job. Start from it as another car.")
    for taken_from in (parent, copied_from):
        if taken_from is not None and not taken_from.can_be_relied_on():
            raise MapRefusedError(taken_from.damage + " Start from another version.")


def _settings_at_first(
    parent: MapVersion | None, start: IgnitionMap | None, curve: AdvanceCurve | None
) -> dict[str, Any]:
    """The columns of the parent, over them those of `start`, and over both the curve."""
    settings = {name: getattr(parent, name) for name in SETTINGS} if parent else {}
    if start is not None:
        settings |= to_columns(start)
    if curve is not None:
        settings["curve"] = [list(node) for node in zip(curve.rpm, curve.degrees, strict=True)]
    return settings


@transaction.atomic
def change_draft(*, draft: MapVersion, row_version: int, settings: dict[str, Any], actor: Actor) -> None:
    """Save `settings` as the draft's figures, unless somebody saved in between.

    Raises
    ------
    StaleEditError
        If the draft is no longer at `row_version`.
    MapRefusedError
        If it is no draft any more.
    """
    before = MapVersion.objects.get(pk=draft.pk)
    _refuse_unless_draft(before)
    if before.row_version == row_version and _same_settings(before, settings):
        draft.refresh_from_db()
        return
    pressures = _spoken_in(settings.get("vacuum_unit", before.vacuum_unit))
    sentence = compare(before.ignition_map(), from_columns(settings), pressures).sentence
    save_if_unchanged(
        draft, row_version=row_version, values={**settings, "changed_by": actor.person, "changed_at": actor.at}
    )
    journal.write(
        draft.job,
        Event.MAP_CHANGED,
        f"Draft {draft.number} changed: {sentence}",
        actor=actor,
        number=draft.number,
        before=to_json(before.ignition_map()),
        after=to_json(draft.ignition_map()),
    )


@transaction.atomic
def release(*, draft: MapVersion, row_version: int, actor: Actor, over: str = "") -> None:
    """Release `draft`: from now on it can be keyed in, and never changes.

    `over` is why it is released although a finding says stop: only a person who may pass gates can say that.

    Raises
    ------
    MapRefusedError
        If the unit cannot hold it, or a finding says stop and nobody entitled says why to go on.
    StaleEditError
        If it was changed or released since it was looked at.
    """
    _refuse_unless_draft(draft)
    unit_fit = fit_to_unit(draft.ignition_map(), draft.unit_revision.holds())
    if unit_fit.fitted is None:
        raise MapRefusedError(*(f"The unit cannot hold this map: {problem}." for problem in unit_fit.problems))
    if unit_fit.open_entries:
        raise MapRefusedError(*(f"{entry[0].upper()}{entry[1:]}." for entry in unit_fit.open_entries))
    stops = stops_of(draft, unit_fit)
    if stops and not (over and actor.person.has_perm("garage.pass_gates")):
        raise MapRefusedError("A finding says stop. The owner can override, with a reason.")
    target, delivered = draft.ignition_map(), unit_fit.fitted.map
    content_hash = content_hash_of(target=target, delivered=delivered, revision=draft.unit_revision)
    won = (
        MapVersion.objects.drafts()
        .filter(pk=draft.pk, row_version=row_version)
        .update(
            released_at=actor.at,
            released_by=actor.person,
            delivered=to_json(delivered),
            content_hash=content_hash,
            content_hash_form=NEWEST_FORM,
            row_version=row_version + 1,
        )
    )
    draft.refresh_from_db()
    if not won:
        raise StaleEditError(draft)
    journal.write(
        draft.job,
        Event.MAP_RELEASED,
        f"Version {draft.number} released" + (f", overriding a stop finding: {over}" if stops else ""),
        actor=actor,
        number=draft.number,
        target=to_json(target),
        delivered=to_json(delivered),
        content_hash=content_hash,
        worst_error=round(unit_fit.fitted.worst_error, 3),
        stops=list(stops),
        over=over,
    )


@transaction.atomic
def set_aside(*, draft: MapVersion, row_version: int, reason: str, actor: Actor) -> None:
    """Nobody will go on with `draft`. It keeps its number and its figures."""
    _refuse_unless_draft(draft)
    save_if_unchanged(draft, row_version=row_version, values={"set_aside_at": actor.at})
    journal.write(
        draft.job,
        Event.MAP_SET_ASIDE,
        f"Draft {draft.number} discarded: {reason}",
        actor=actor,
        number=draft.number,
        reason=reason,
    )


@transaction.atomic
def record_read_back(
    *,
    fact_id: uuid.UUID,
    version: MapVersion,
    unit: FittedUnit,
    shown: Mapping[int, str],
    power_cycled: bool,
    actor: Actor,
) -> ReadBack:
    """What `unit` showed, line by line, held against `version`; clean only if all of it agrees after a switch-off.

    Raises
    ------
    MapRefusedError
        If nothing can be proven against the version, or it was made for another unit type.
    SentBeforeError
        If this page was sent before with other figures.
    """
    read: dict[str, Any] = {
        "map_version": version,
        "unit": unit,
        "shown": {str(position): text for position, text in shown.items()},
        "power_cycled": power_cycled,
    }
    made = ReadBack.objects.filter(pk=fact_id).first()
    if made is not None:
        refuse_unless_same(made, read)
        return made
    if version.released_at is None:
        raise MapRefusedError("Only a released version can be read back.")
    if not version.is_sound():
        raise MapRefusedError(version.damage + " Nothing can be proven against it.")
    if unit.revision_id != version.unit_revision_id:
        raise MapRefusedError(
            f"Version {version.number} was made for {version.unit_revision}, not for {unit.revision}."
        )
    result = read_back(lines_of(version), shown)
    mismatches = [mismatch.sentence for mismatch in result.mismatches]
    mismatches += [f"{words}: not read" for words in result.missing]
    clean = not mismatches and power_cycled
    fact, is_new = append(ReadBack, id=fact_id, actor=actor, mismatches=mismatches, clean=clean, **read)
    if not is_new:  # the same form, sent twice at once: the other one won
        return fact
    journal.write(
        version.job,
        Event.MAP_READ_BACK,
        _read_back_sentence(version, unit, mismatches, power_cycled),
        actor=actor,
        number=version.number,
        serial_number=unit.serial_number,
        clean=clean,
        power_cycled=power_cycled,
        mismatches=mismatches,
    )
    return fact


@transaction.atomic
def keep_pattern(
    *, version: MapVersion, name: str, suits: str, idempotency_key: uuid.UUID, actor: Actor
) -> CurvePattern:
    """Save a released version's map as a template curve of the workshop."""
    MapVersion.objects.select_for_update(of=("self",)).get(pk=version.pk)  # sent twice at once, the second waits here
    made = CurvePattern.objects.filter(idempotency_key=idempotency_key).first()
    if made is not None:
        refuse_unless_same(made, {"kept_from": version, "name": name, "suits": suits})
        return made
    if version.released_at is None:
        raise MapRefusedError("Only a released version can be a template curve.")
    if not version.is_sound():
        raise MapRefusedError(version.damage + " It cannot be a template curve.")
    pattern = CurvePattern.objects.create(
        name=name,
        suits=suits,
        form=to_json(version.ignition_map()),
        kept_from=version,
        made_at=actor.at,
        made_by=actor.person,
        idempotency_key=idempotency_key,
    )
    journal.write(
        version.job,
        Event.CURVE_KEPT,
        f"Version {version.number} saved as template curve '{name}'",
        actor=actor,
        number=version.number,
        name=name,
    )
    return pattern


@transaction.atomic
def retire_pattern(*, pattern: CurvePattern, retired: bool, actor: Actor) -> None:
    """Offer a template curve no more, or again. What was begun from it keeps its origin."""
    if CurvePattern.objects.filter(pk=pattern.pk).exclude(retired=retired).update(retired=retired):
        sentence = f"Template curve ‘{pattern.name}’ {'withdrawn' if retired else 'offered again'}"
        trail.write(Event.CURVE_RETIRED, pattern, sentence, actor=actor)


def _refuse_unless_draft(version: MapVersion) -> None:
    if version.released_at is not None:
        raise MapRefusedError(
            f"Version {version.number} is released. Released versions do not change: start a new version."
        )
    if version.set_aside_at is not None:
        raise MapRefusedError(f"Version {version.number} is discarded. Start a new version.")


def _same_settings(version: MapVersion, settings: dict[str, Any]) -> bool:
    return all(getattr(version, name) == settings.get(name, getattr(version, name)) for name in SETTINGS)


def _spoken_in(unit: str) -> Any:
    return lambda kpa: pressure(kpa, unit)


def _read_back_sentence(version: MapVersion, unit: FittedUnit, mismatches: list[str], power_cycled: bool) -> str:
    if mismatches:
        return f"Read back of version {version.number} in {unit} not clean: {'; '.join(mismatches)}"
    if not power_cycled:
        return (
            f"Read back of version {version.number} in {unit} agrees, but the ignition was not switched off and on: "
            "nothing is proven"
        )
    return f"Read back of version {version.number} in {unit} clean after switching off and on: it is in the car"
