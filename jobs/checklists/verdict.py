"""What an entry says about its item, in words: pass, fail, not possible."""

import math
from dataclasses import dataclass

from jobs.checklists.models import ChecklistItem, Entry, ItemKind, Outcome


@dataclass(frozen=True, slots=True)
class Verdict:
    """A mark (one of the look's), its words, and whether a hold point with this entry holds."""

    mark: str
    words: str
    holds: bool


NOTHING_YET = Verdict("open", "to do", holds=False)


def judge(item: ChecklistItem, entry: Entry) -> Verdict:
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
        return judge_measure(item, entry.measure)
    if item.kind == ItemKind.CHOICE and item.good_choices:
        good = entry.choice in item.good_choices
        return Verdict("good", "pass", holds=True) if good else Verdict("stop", "fail", holds=False)
    return Verdict("good", "done", holds=True)


def judge_measure(item: ChecklistItem, figure: float | None) -> Verdict:
    if figure is None:
        return NOTHING_YET
    if item.low is not None and figure < item.low:
        return Verdict("stop", "fail, low", holds=False)
    if item.high is not None and figure > item.high:
        return Verdict("stop", "fail, high", holds=False)
    return Verdict("good", in_tolerance(item), holds=True)


def in_tolerance(item: ChecklistItem) -> str:
    return "recorded" if item.low is None and item.high is None else "pass"


def limits_in_words(item: ChecklistItem) -> str:
    """'1.35 to 1.65 ohm', '0.50 V or less', '1.0 mm or more', 'sound'; nothing where no limit is set."""
    if item.kind == ItemKind.CHOICE:
        return " or ".join(item.good_choices)
    if item.low is not None and item.high is not None:
        return f"{_figure(item, item.low)} to {_figure(item, item.high)} {item.unit}"
    if item.high is not None:
        return f"{_figure(item, item.high)} {item.unit} or less"
    if item.low is not None:
        return f"{_figure(item, item.low)} {item.unit} or more"
    return ""


def _figure(item: ChecklistItem, figure: float) -> str:
    return figure_text(figure, item.decimals)


def figure_text(figure: float, decimals: int) -> str:
    """`figure` with at least `decimals` decimals, and never fewer than were typed: 1.654 must not look like 1.65."""
    typed = f"{figure:.12g}"
    if not math.isfinite(figure) or "e" in typed:
        return typed
    places = len(typed.partition(".")[2])
    return f"{figure:.{max(places, decimals)}f}".replace("-", "−")


def value_text(item: ChecklistItem, entry: Entry) -> str:
    """What was entered, without its unit: the figure, the choice or the words; empty for a tick or a photograph."""
    if entry.measure is not None:
        return figure_text(entry.measure, item.decimals)
    return entry.choice or entry.text


def said(item: ChecklistItem, entry: Entry) -> str:
    """The entry in one breath, for the journal and the documents: '1.48 ohm, pass'."""
    value = value_text(item, entry)
    figure = f"{value} {item.unit}".strip() if entry.measure is not None else value
    verdict = judge(item, entry)
    limits = f" (limit: {limits_in_words(item)})" if verdict.mark == "stop" else ""
    parts = [part for part in (figure, verdict.words + limits) if part]
    return ", ".join(parts) + (f" ({entry.note})" if entry.note else "")
