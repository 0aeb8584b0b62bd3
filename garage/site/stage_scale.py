"""The stages of a job as a graduated rule: where each line of it stands, and how far it is inked."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NotRequired, TypedDict

from django.template import TemplateSyntaxError


class Stage(TypedDict):
    """What the scale needs to know of a stage. `state` is done, current, ahead or skipped."""

    key: str
    label: str
    state: str
    url: NotRequired[str]
    steps_done: NotRequired[int]
    steps_total: NotRequired[int]


@dataclass(frozen=True, slots=True)
class Graduation:
    """One short line of the rule, at `x` of its stage's width; a fine one is left out where there is no room for it."""

    x: str
    end: str
    inked: bool
    is_fine: bool

    @property
    def styles(self) -> str:
        """The classes it wears besides that of every line."""
        return (" is-inked" if self.inked else "") + (" scale-fine" if self.is_fine else "")


@dataclass(frozen=True, slots=True)
class StageOnScale:
    label: str
    state: str
    url: str
    word: str
    count: str
    graduations: Sequence[Graduation]
    inked_to: str
    points_here: bool

    @property
    def is_begun(self) -> bool:
        return self.inked_to != NOTHING_DONE

    @property
    def starts_inked(self) -> bool:
        return self.is_begun or self.points_here


STAGE_WORDS = {"done": "done", "current": "now", "ahead": "ahead", "skipped": "overridden"}
# Where nobody has counted the steps, the rule is divided as a blank one is.
BLANK_GRADUATIONS = 4
# More graduations than this run into one another on a tablet; the count beside the name stays exact.
FINEST_GRADUATIONS = 24
MOST_ON_A_PHONE = 8


NOTHING_DONE = "0%"


def _percent(share: float) -> str:
    return f"{share * 100:.4g}%"


def _share_done(stage: Stage) -> float:
    if stage["state"] in ("done", "skipped"):
        return 1.0
    if stage["state"] == "ahead":
        return 0.0
    total = stage.get("steps_total") or 0
    return min(stage.get("steps_done", 0) / total, 1.0) if total else 0.0


def _graduations(stage: Stage, share: float) -> list[Graduation]:
    parts = min(stage.get("steps_total") or BLANK_GRADUATIONS, FINEST_GRADUATIONS)
    return [
        # Every fifth is a little longer, so that the eye can count.
        Graduation(
            _percent(n / parts),
            "62%" if n % 5 == 0 else "42%",
            inked=n / parts <= share,
            is_fine=bool(n % 5) and parts > MOST_ON_A_PHONE,
        )
        for n in range(1, parts)
    ]


def on_scale(stage: Stage) -> StageOnScale:
    if stage["state"] not in STAGE_WORDS:
        raise TemplateSyntaxError(f"a stage is {', '.join(STAGE_WORDS)}; {stage['label']} says {stage['state']!r}")
    share = _share_done(stage)
    total = stage.get("steps_total") or 0
    current = stage["state"] == "current"
    return StageOnScale(
        label=stage["label"],
        state=stage["state"],
        url=stage.get("url", ""),
        word=STAGE_WORDS[stage["state"]],
        count=f"{stage.get('steps_done', 0)} of {total}" if current and total else "",
        graduations=_graduations(stage, share),
        inked_to=_percent(share),
        points_here=current,
    )


def small_scale(stages: Sequence[Stage]) -> dict[str, object]:
    """What `_scale_small.html` shows: the same rule in one line, with its meaning in words."""
    count = len(stages) or 1
    reached = 0.0
    current = next((stage for stage in stages if stage["state"] == "current"), None)
    for place_on_rule, stage in enumerate(stages):
        if stage["state"] != "ahead":
            reached = (place_on_rule + _share_done(stage)) / count
    words = "all stages done" if stages and current is None and reached == 1 else ""
    if current:
        total = current.get("steps_total") or 0
        words = current["label"] + (f", {current.get('steps_done', 0)} of {total}" if total else "")
    return {
        "long": [_percent(n / count) for n in range(count + 1)],
        "short": [_percent((n + quarter) / count) for n in range(count) for quarter in (0.25, 0.5, 0.75)],
        "reached": _percent(reached),
        "is_begun": reached > 0,
        "points": current is not None,
        "words": words,
    }
