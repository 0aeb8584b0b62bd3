"""What a browser's device is called, in words a person knows it by."""

from django.http import HttpRequest

# What a browser says of its device, the first that fits: the mark, the kind, the system.
KINDS = [("iPad", "Tablet"), ("Tablet", "Tablet"), ("Mobile", "Phone"), ("Android", "Tablet")]
SYSTEMS = [
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("CrOS", "Chrome OS"),
    ("Linux", "Linux"),
]


def first_name_of(request: HttpRequest) -> str:
    """Under which name a device enters the record."""
    kind = _first(KINDS, request.headers.get("User-Agent", "")) or "Desk"
    return f"{kind} {str(request.device_id)[:4]}"  # type: ignore[attr-defined]


def words_for(request: HttpRequest) -> str:
    """The same, and which system it runs: how one's own devices are told apart."""
    system = _first(SYSTEMS, request.headers.get("User-Agent", ""))
    name = first_name_of(request)
    return f"{name}, {system}" if system else name


def _first(table: list[tuple[str, str]], agent: str) -> str:
    return next((word for mark, word in table if mark in agent), "")
