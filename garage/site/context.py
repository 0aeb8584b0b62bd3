"""What every page shows besides its own matter: the rooms a person may enter, and where they are."""

from typing import TypedDict

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse


class Place(TypedDict):
    label: str
    url: str
    current: bool


# Pages that stand under a place without beginning with its address.
UNDER = {"Bills": ("pricelist:list", "stock:list"), "Week": ("rota:page",)}

# label, address, the permission without which the place is not shown
PLACES = [
    ("Today", "board:board", None),
    ("Week", "week:week", None),
    ("Cars", "vehicles:list", None),
    ("Customers", "customers:list", None),
    ("Units", "units:list", None),
    ("Learned", "learning:page", None),
    ("Bills", "billing:list", "garage.keep_costs"),
    ("Check-lists", "checklists:templates", "garage.edit_checklists"),
    ("Workshop", "people:workshop", "garage.manage_workshop"),
]


def navigation(request: HttpRequest) -> dict[str, list[Place] | bool]:
    """The rooms of whoever is signed in, and whether one of them is open: the pages of a job stand in none."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"navigation": []}
    here = request.path
    places: list[Place] = []
    for label, name, permission in PLACES:
        if permission is None or user.has_perm(permission):
            try:
                url = reverse(name)
            except NoReverseMatch:  # a room still being built
                continue
            current = here == url if url == "/" else here.startswith((url, *map(reverse, UNDER.get(label, ()))))
            places.append({"label": label, "url": url, "current": current})
    return {"navigation": places, "room_is_open": any(place["current"] for place in places)}
