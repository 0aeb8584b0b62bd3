"""Line drawings for items of the lists that come along. A picture of the workshop's own goes before them."""

from dataclasses import dataclass

from django.templatetags.static import static
from django.urls import reverse

from jobs.checklists.models import ChecklistItem


@dataclass(frozen=True, slots=True)
class ItemPicture:
    """Where the picture of an item is, and what it shows in words."""

    url: str
    words: str


ROTOR = (
    "rotor-at-both-ends",
    "Rotor tip and cap terminal from above. At the highest advance the tip is before its terminal, at the lowest past "
    "it. At both ends tip and terminal must still face each other.",
)
TIP_AT_EDGE = (
    "tip-at-edge",
    "Distributor from above, the rotor turned by hand until a lamp across the contacts goes out. One mark on the rim "
    "of the body stands at the rotor tip, one at the terminal of cylinder 1. Measure the arc between them in mm.",
)
LOST = (
    "voltage-lost",
    "One meter from the battery’s live post to the unit’s feed shows what the feed loses. One from the block to the "
    "unit’s earth shows what the earth loses. Both are read while current flows.",
)
STOP = (
    "piston-stop",
    "A pulley with two marks where the piston touches the stop, turned one way and the other. True top dead centre "
    "lies half way between them on the rim.",
)
DRAWING_OF = {
    "tip-at-edge": TIP_AT_EDGE,
    "rotor-overlap-highest": ROTOR,
    "rotor-overlap-lowest": ROTOR,
    "rotor-of-a-twin": ROTOR,
    "feed-drop": LOST,
    "earth-drop": LOST,
    "mark-proven": STOP,
}


def drawing(name_and_words: tuple[str, str]) -> ItemPicture:
    """One of the drawings, for any page that speaks of what it shows."""
    name, words = name_and_words
    return ItemPicture(static(f"img/drawings/{name}.svg"), words)


def picture_of(item: ChecklistItem) -> ItemPicture | None:
    if item.picture:
        return ItemPicture(reverse("checklists:item-picture", args=[item.pk]), f"Picture for: {item.text}")
    if item.key in DRAWING_OF:
        return drawing(DRAWING_OF[item.key])
    return None
