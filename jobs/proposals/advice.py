"""What other symptoms speak for, in words: no figure follows from them. Common practice, no source."""

from collections.abc import Iterable
from dataclasses import dataclass

from jobs.roadtest.models import NoteKind, RoadNote

ADVICE = {
    NoteKind.FLAT_SPOT: "More often mixture than spark: accelerator pump, float level and air leaks first. "
    "Less advance seldom cures it.",
    NoteKind.SURGE: "More often a lean mixture than the spark. Check for air leaks and fuel supply before the map.",
    NoteKind.HUNTING: "Check for air leaks at the manifold, and whether vacuum advance comes and goes at idle.",
    NoteKind.RUN_ON: "Heat and idle speed, not the spark: the ignition is off. Check idle speed, mixture and plugs.",
    NoteKind.HOT_START: "Fuel boiling and a tired battery come before the spark. "
    "Then check cranking voltage and cranking advance.",
    NoteKind.KICK_BACK: "Stop cranking. A kick can break starter, ring gear or a wrist. "
    "Check base timing and cranking advance with the fuel off.",
    NoteKind.IDLE: "Check mixture, air leaks and plugs first. Then look at advance between idle and 1000 rpm.",
}


@dataclass(frozen=True, slots=True)
class Advice:
    """One symptom that was noted, and what is looked at first."""

    symptom: str
    text: str
    is_danger: bool
    notes: list[RoadNote]


def advice_for(notes: Iterable[RoadNote]) -> list[Advice]:
    """What to look at for the symptoms among `notes`, what can hurt somebody first."""
    by_kind: dict[NoteKind, list[RoadNote]] = {}
    for note in notes:
        if note.kind in ADVICE:
            by_kind.setdefault(NoteKind(note.kind), []).append(note)
    order = sorted(by_kind, key=lambda kind: (kind is not NoteKind.KICK_BACK, list(ADVICE).index(kind)))
    return [Advice(kind.label, ADVICE[kind], kind is NoteKind.KICK_BACK, by_kind[kind]) for kind in order]
