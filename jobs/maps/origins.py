"""Where the first version of a map came from, as its origin begins for ever, and which sort of start that is."""

from jobs.maps.models import MapVersion

# Kept with every version. A better word is a new label on the screen, never another beginning.
BLANK = "a blank curve"
BAND = "the middle of the factory band"
AS_FOUND = "the advance as found"
LIKE_CARS = "the median"
SHEET = "a sheet"
TYPED = "a typed curve"

_LABELS = {
    BLANK: "Blank",
    BAND: "Factory band",
    AS_FOUND: "Advance as found",
    LIKE_CARS: "Median of like cars",
    SHEET: "A sheet",
    TYPED: "Typed curve",
}


def kind_of_start(version: MapVersion, *, of_this_car: bool = False) -> str:
    """The sort of start of a job's first version, for a list; empty where it was not a start.

    What an earlier job left in the same car is none (`of_this_car`): nobody began there.
    """
    if of_this_car:
        return ""
    if version.pattern is not None:
        return f"Template curve ‘{version.pattern.name}’"
    if version.copied_from_id is not None:
        return "Another car"
    return next((label for words, label in _LABELS.items() if version.origin.startswith(words)), "Other")
