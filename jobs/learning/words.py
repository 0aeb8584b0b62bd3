"""How sure so many cars can be, in words."""

from timing.spread import FEWEST, Share


def share_said(share: Share | None) -> str:
    """'3 of 40: 8 %, likely 3 to 20 %'; below three cars the count alone, for a share of two is none."""
    if share is None:
        return ""
    counted = f"{share.count} of {share.of}"
    if not share.says_something:
        return counted
    return f"{counted}: {share.count / share.of:.0%}, likely {100 * share.low:.0f} to {share.high:.0%}".replace(
        "%", " %"
    )


def how_sure(count: int) -> str:
    """What may be read out of so many cars."""
    if count < FEWEST:
        return f"Only {count} car{'' if count == 1 else 's'}. Nothing is summed up below three."
    if count < FEWEST_TO_TELL:
        return f"{count} cars: this is how they differ. Too few to speak for others."
    return ""


# From five figures on down not even their ends hold the median of all such cars in 95 of 100 samples.
FEWEST_TO_TELL = 6
