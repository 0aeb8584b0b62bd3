"""A map as a line of text for a camera code: a person can key it in from there, and `map_from_text` reads it back.

The text keeps to the 45 signs of a QR code's alphanumeric mode (ISO/IEC 18004:2015, table 5), in which two signs take
11 bits. It ends with the CRC-32 of what stands before (ISO/IEC 13239's polynomial, as `zlib.crc32` reckons it), so that
a sign read wrong is told from another map.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap, RevLimitManner, Trigger
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

SIGNS: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

_TITLE: Final = "IGNITION MAP"
_EDITION: Final = "1"
_BETWEEN: Final = "/"
_SUM: Final = "SUM"
_CELLS: Final = "VACUUM CELLS DEG"

# How the choices of a map are written, and read again.
_MANNERS: Final = {"soft": "SOFT", "hard": "HARD"}
_TRIGGERS: Final = {
    "contact breaker": "CONTACT BREAKER",
    "hall": "HALL",
    "optical": "OPTICAL",
    "inductive": "INDUCTIVE",
}

# What a text may say of where the map belongs; nothing is reckoned from it.
LABELS: Final = ("CAR", "JOB", "VERSION", "UNIT", "DATE")

_FIGURES: Final = (
    "BASE DEG BTDC",
    "RPM",
    "ADVANCE DEG",
    "VACUUM START KPA",
    "VACUUM FULL KPA",
    "VACUUM FULL DEG",
    "VACUUM FROM RPM",
    "VACUUM RPM",
    "VACUUM KPA",
    _CELLS,
    "BOOST KPA",
    "BOOST DEG",
    "DWELL MS",
    "REV LIMIT RPM",
)
_WORDS: Final = ("REV LIMIT", "REPEATED SPARKS", "TRIGGER", *LABELS)
# The longest name first: 'REV LIMIT RPM' begins with 'REV LIMIT'.
_NAMES: Final = sorted((*_FIGURES, *_WORDS), key=len, reverse=True)


class MapTextError(TimingError):
    """A text that is no map: not one of ours, cut off, read wrong, or of a later edition. Says which."""


@dataclass(frozen=True, slots=True)
class ReadMap:
    """A map read from a text, and what the text says of where it belongs.

    Attributes
    ----------
    ignition_map : IgnitionMap
        The map, its figures as they were written.
    labels : mapping of str to str
        By the names of `LABELS`, as far as they are there.
    """

    ignition_map: IgnitionMap
    labels: Mapping[str, str]


def map_to_text(ignition_map: IgnitionMap, labels: Mapping[str, str] | None = None) -> str:
    """The text of a map, in the signs of `SIGNS` alone.

    Parameters
    ----------
    ignition_map : IgnitionMap
        What is written. Degrees of crank, rpm at the crank, kPa of manifold vacuum or boost, ms; rounded to a millionth
        as in its canonical form.
    labels : mapping of str to str, optional
        By the names of `LABELS`. Small letters become capitals, a sign that the code does not know becomes a full stop.

    Returns
    -------
    str
        Groups with an oblique between them, the last of which is the checksum.

    Raises
    ------
    MapTextError
        If a label has another name.
    """
    labels = labels or {}
    if unknown := sorted(set(labels) - set(LABELS)):
        raise MapTextError(f"a map's text has no label {', '.join(unknown)}")
    form = ignition_map.canonical()
    said: dict[str, str] = {name: _in_signs(labels[name]) for name in LABELS if labels.get(name, "").strip()}
    said |= {
        "BASE DEG BTDC": _written(form["base_deg"]),
        "RPM": _row(form["curve"]["rpm"]),
        "ADVANCE DEG": _row(form["curve"]["degrees"]),
    }
    said |= _vacuum_said(form["vacuum"])
    if form["boost"] is not None:
        said |= {"BOOST KPA": _row(form["boost"]["boost"]), "BOOST DEG": _row(form["boost"]["degrees"])}
    if form["dwell_ms"] is not None:
        said["DWELL MS"] = _written(form["dwell_ms"])
    if form["rev_limit_rpm"] is not None:
        said["REV LIMIT RPM"] = _written(form["rev_limit_rpm"])
    if form["rev_limit_manner"] is not None:
        said["REV LIMIT"] = _MANNERS[form["rev_limit_manner"]]
    said["REPEATED SPARKS"] = "ON" if form["repeated_sparks"] else "OFF"
    if form["trigger"] is not None:
        said["TRIGGER"] = _TRIGGERS[form["trigger"]]
    groups = [f"{_TITLE} {_EDITION}", *(f"{name} {value}" for name, value in said.items())]
    text = _BETWEEN.join(groups)
    return f"{text}{_BETWEEN}{_SUM} {_checksum(text)}"


def map_from_text(text: str) -> ReadMap:
    """The map that `map_to_text` wrote.

    Parameters
    ----------
    text : str
        As the camera read it or as it was typed: small letters, line ends and blanks too many do not matter.

    Returns
    -------
    ReadMap
        The map, with the labels of the text.

    Raises
    ------
    MapTextError
        If the text is no map's, is cut off, has a sign read wrong, or is of a later edition.
    TimingError
        If its figures are no map.
    """
    clean = " ".join(text.upper().split())
    head, between, end = clean.rpartition(f"{_BETWEEN}{_SUM} ")
    title, _, rest = (head or clean).partition(_BETWEEN)
    if not title.startswith(_TITLE):
        raise MapTextError("this is not the text of an ignition map")
    if not between:
        raise MapTextError("the text is cut off: its checksum is missing")
    if title != f"{_TITLE} {_EDITION}":
        edition = title.removeprefix(_TITLE).strip()
        raise MapTextError(f"the text is of edition {edition}; this program reads edition {_EDITION}")
    if end.strip() != _checksum(head):
        raise MapTextError("the text is not as it was written: its checksum does not agree. Read the code again")
    said = _groups(rest)
    return ReadMap(_map_of(said), {name: said[name] for name in LABELS if name in said})


def _map_of(said: Mapping[str, str]) -> IgnitionMap:
    has_boost = "BOOST KPA" in said
    manner, trigger = _choice(said, "REV LIMIT", _MANNERS), _choice(said, "TRIGGER", _TRIGGERS)
    return IgnitionMap(
        base_deg=_figure(said, "BASE DEG BTDC"),
        curve=AdvanceCurve(_figures(said, "RPM"), _figures(said, "ADVANCE DEG")),
        vacuum=_vacuum_of(said),
        boost=BoostRetard(_figures(said, "BOOST KPA"), _figures(said, "BOOST DEG")) if has_boost else None,
        dwell_ms=_figure(said, "DWELL MS") if "DWELL MS" in said else None,
        rev_limit_rpm=_figure(said, "REV LIMIT RPM") if "REV LIMIT RPM" in said else None,
        rev_limit_manner=cast("RevLimitManner | None", manner),
        repeated_sparks=_choice(said, "REPEATED SPARKS", {"on": "ON", "off": "OFF"}) == "on",
        trigger=cast("Trigger | None", trigger),
    )


def _vacuum_said(part: Mapping[str, Any] | None) -> dict[str, str]:
    if part is None:
        return {}
    if part["kind"] == "ramp":
        return {
            "VACUUM START KPA": _written(part["start"]),
            "VACUUM FULL KPA": _written(part["full"]),
            "VACUUM FULL DEG": _written(part["full_deg"]),
            "VACUUM FROM RPM": _written(part["from_rpm"]),
        }
    return {
        "VACUUM RPM": _row(part["rpm"]),
        "VACUUM KPA": _row(part["vacuum"]),
        _CELLS: _row([cell for row in part["degrees"] for cell in row]),
    }


def _vacuum_of(said: Mapping[str, str]) -> VacuumRamp | VacuumTable | None:
    if "VACUUM START KPA" in said:
        names = ("VACUUM START KPA", "VACUUM FULL KPA", "VACUUM FULL DEG", "VACUUM FROM RPM")
        return VacuumRamp(*(_figure(said, name) for name in names))
    if _CELLS not in said:
        return None
    rpm, kpa, cells = _figures(said, "VACUUM RPM"), _figures(said, "VACUUM KPA"), _figures(said, _CELLS)
    if len(cells) != len(rpm) * len(kpa):
        raise MapTextError(f"the vacuum part has {len(cells)} cells, not {len(kpa)} rows of {len(rpm)}")
    rows = [cells[first : first + len(rpm)] for first in range(0, len(cells), len(rpm))]
    return VacuumTable(rpm=rpm, vacuum=kpa, degrees=rows)


def _groups(text: str) -> dict[str, str]:
    """What the text says, by its names."""
    said: dict[str, str] = {}
    for group in text.split(_BETWEEN):
        name = next((name for name in _NAMES if group.startswith(f"{name} ")), None)
        if name is None:
            raise MapTextError(f"the text says {group[:40]!r}, which this program does not know")
        if name in said:
            raise MapTextError(f"the text says {name} twice")
        said[name] = group.removeprefix(name).strip()
    return said


def _figure(said: Mapping[str, str], name: str) -> float:
    found = _figures(said, name)
    if len(found) != 1:
        raise MapTextError(f"{name} is one figure, not {len(found)}")
    return found[0]


def _figures(said: Mapping[str, str], name: str) -> list[float]:
    if name not in said:
        raise MapTextError(f"the text does not say {name}")
    try:
        return [float(word) for word in said[name].split()]
    except ValueError:
        raise MapTextError(f"{name} is figures, not {said[name][:40]!r}") from None


def _choice(said: Mapping[str, str], name: str, written: Mapping[str, str]) -> str | None:
    if name not in said:
        return None
    meant = {word: choice for choice, word in written.items()}
    if said[name] not in meant:
        raise MapTextError(f"{name} is {' or '.join(meant)}, not {said[name][:40]!r}")
    return meant[said[name]]


def _row(values: Sequence[float]) -> str:
    return " ".join(map(_written, values))


def _written(value: float) -> str:
    """A figure of the canonical form, without an exponent and without noughts that say nothing."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _in_signs(label: str) -> str:
    """A label in the signs of the code; the oblique stands between groups and in no label."""
    signs = SIGNS.replace(_BETWEEN, "")
    return " ".join("".join(sign if sign in signs else "." for sign in label.upper()).split())


def _checksum(text: str) -> str:
    return f"{zlib.crc32(text.encode('ascii', 'replace')):08X}"
