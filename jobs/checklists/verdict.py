"""What an entry says about its item, in words: pass, fail, not possible."""

from dataclasses import dataclass

from jobs.checklists.answered import Answered
from jobs.checklists.measuring import corrected_of, detail_text, limits_text, unit_text, value_text
from jobs.checklists.models import ChecklistItem, ItemKind, Outcome


@dataclass(frozen=True, slots=True)
class Verdict:
    """A mark (one of the look's), its words, and whether a hold point with this entry holds."""

    mark: str
    words: str
    holds: bool


NOTHING_YET = Verdict("open", "to do", holds=False)


def judge(item: ChecklistItem, entry: Answered) -> Verdict:
    """The verdict on `entry` by the limits of `item`."""
    match entry.outcome:
        case Outcome.NOT_POSSIBLE:
            return Verdict("caution", "not possible", holds=False)
        case Outcome.LET_PASS:
            return Verdict("caution", "overridden", holds=True)
        case Outcome.NOTED:
            return Verdict("open", "noted", holds=False)
        case Outcome.WITHDRAWN:
            return Verdict("open", "undone", holds=False)
    if item.kind == ItemKind.MEASURE:
        return judge_figure(item, corrected_of(item, entry))
    if item.kind == ItemKind.CHOICE and item.good_choices:
        good = entry.choice in item.good_choices
        return Verdict("good", "pass", holds=True) if good else Verdict("stop", "fail", holds=False)
    return Verdict("good", "done", holds=True)


def judge_figure(item: ChecklistItem, figure: float | None) -> Verdict:
    """The verdict on a corrected figure in the canonical unit."""
    if figure is None:
        return NOTHING_YET
    if item.low is not None and figure < item.low:
        return Verdict("stop", "fail, low", holds=False)
    if item.high is not None and figure > item.high:
        return Verdict("stop", "fail, high", holds=False)
    if item.note_above is not None and figure > item.note_above:
        return Verdict("note", item.note_text, holds=True)
    return Verdict("good", in_tolerance(item), holds=True)


def in_tolerance(item: ChecklistItem) -> str:
    return "recorded" if item.low is None and item.high is None else "pass"


def limits_in_words(item: ChecklistItem, unit: str = "", altitude_m: float | None = None) -> str:
    """'1.35 to 1.65 ohm', '0.50 V or less', 'sound'; nothing where no limit is set. See `measuring.limits_text`."""
    return " or ".join(item.good_choices) if item.kind == ItemKind.CHOICE else limits_text(item, unit, altitude_m)


def limits_of(item: ChecklistItem, entry: Answered) -> str:
    """The limits that `entry` was judged by, in its own unit."""
    return limits_in_words(item, entry.unit, entry.altitude_m)


def said(item: ChecklistItem, entry: Answered) -> str:
    """The entry in one breath, for the journal and the documents: '1.48 ohm, pass'."""
    value = value_text(item, entry)
    read = f"{value} {unit_text(item, entry)}".strip() if entry.measure is not None else value
    detail = detail_text(item, entry)
    figure = f"{read} ({detail})" if detail else read
    verdict = judge(item, entry)
    limits = f" (limit: {limits_of(item, entry)})" if verdict.mark == "stop" else ""
    parts = [part for part in (figure, verdict.words + limits) if part]
    return ", ".join(parts) + (f" ({entry.note})" if entry.note else "")
