"""How far a stage of a job is: what each room answers when the card asks it."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class StageProgress:
    """The state of one stage.

    `missing` says in words what must still hold before the car may leave the stage; an empty list opens the gate.
    `done` of `total` are the steps inside the stage, for the short graduations of the scale. `next_label` is the one
    next action in words of the trade ('Read the strobe') and `next_url` the page where it is done; both are empty when
    nothing is left to do here but to go on.
    """

    missing: list[str] = field(default_factory=list)
    done: int = 0
    total: int = 0
    next_label: str = ""
    next_url: str = ""
