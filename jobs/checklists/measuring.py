"""What a figure on a sheet means: its unit, what is read beside it, what it comes to when corrected, its limits.

The rule on the tablet (static/js/fitting/measure.js) is the same, held together by one table of cases
(tests/checklists/measure_cases.json).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from garage.people.models import Staff
from garage.quantities.measure import QUANTITIES, VACUUM, Measure, Quantity
from garage.quantities.words import exactly, figure_text, plain
from jobs.checklists.answered import Answered
from jobs.checklists.models import ChecklistItem, Correction
from timing.copper import COLDEST_C, COPPER_PER_DEGREE, HOTTEST_C, resistance_at_20
from timing.units import vacuum_lost


@dataclass(frozen=True, slots=True)
class Beside:
    """The second figure of a measure of two: how it is called, and how it stands before its unit in a sentence."""

    label: str
    unit: str
    low: float
    high: float
    join: str


# A lead shorter or longer than this is none of an ignition: common practice, no source.
BESIDE = {
    Correction.COPPER: Beside("Temperature", "°C", COLDEST_C, HOTTEST_C, "at"),
    Correction.PER_METRE: Beside("Length", "m", 0.05, 5.0, "over"),
    # in the unit of its item
    Correction.FROM_IDLE: Beside("The same at idle", "", 0.0, 10_000.0, "from"),
}
CORRECTED_TO = {
    Correction.SEA_LEVEL: "at sea level",
    Correction.COPPER: "at 20 °C",
    Correction.PER_METRE: "per metre",
    Correction.FROM_IDLE: "from idle",
}


def quantity_of(item: ChecklistItem) -> Quantity:
    """What the item measures; without a quantity of its own, figures in its one unit."""
    return QUANTITIES.get(item.quantity) or Quantity.plain(item.unit)


def units_of(item: ChecklistItem) -> tuple[str, ...]:
    """The units to choose from, first the one the list is written in."""
    units = quantity_of(item).units
    return (item.unit, *(unit for unit in units if unit != item.unit)) if item.unit else units


def unit_for(item: ChecklistItem, person: Staff) -> str:
    """The unit that the item is asked in first: the person's own where they have one."""
    return person.vacuum_unit if quantity_of(item) == VACUUM else units_of(item)[0]


def decimals_in(item: ChecklistItem, unit: str) -> int:
    """The decimals of the item's list, or as fine ones in another unit."""
    return quantity_of(item).decimals_in(unit, item.decimals, of=item.unit)


def beside_of(item: ChecklistItem) -> Beside | None:
    beside = BESIDE.get(Correction(item.correction))
    return replace(beside, unit=item.unit) if beside and not beside.unit else beside


def measure_of(item: ChecklistItem, entry: Answered) -> Measure | None:
    """What was read; None where the entry has no figure."""
    return None if entry.measure is None else Measure(entry.measure, entry.unit or item.unit, quantity_of(item))


def figure_of(item: ChecklistItem, entry: Answered) -> float | None:
    """The figure as it was read, digit by digit: sent once more in its unit it gives the same canonical figure."""
    read = measure_of(item, entry)
    return None if read is None else float(exactly(read.figure))


def raised_by(item: ChecklistItem, altitude_m: float | None) -> float:
    """What a gauge shows less at a height than at sea level, in the item's canonical unit; 0 where it does not matter.

    US Standard Atmosphere 1976; an approximation, as `timing.units.vacuum_lost` says.
    """
    if item.correction != Correction.SEA_LEVEL or not altitude_m:
        return 0.0
    return float(vacuum_lost(altitude_m))


def per_degree_of(item: ChecklistItem) -> float:
    """By how much the reading grows per °C from 20 °C on; 0 where temperature does not matter."""
    return COPPER_PER_DEGREE if item.correction == Correction.COPPER else 0.0


def corrected(item: ChecklistItem, value: float, beside: float | None, altitude_m: float | None) -> float:
    """What the canonical `value` comes to, and what the limits are held against.

    Raises
    ------
    TimingError
        If a resistance or its temperature cannot be.
    """
    match item.correction:
        case Correction.COPPER if beside is not None:
            return float(resistance_at_20(value, beside))
        case Correction.PER_METRE if beside:
            return value / beside
        case Correction.FROM_IDLE if beside is not None:
            return value - beside
    return value + raised_by(item, altitude_m)


def corrected_of(item: ChecklistItem, entry: Answered) -> float | None:
    return None if entry.measure is None else corrected(item, entry.measure, entry.beside, entry.altitude_m)


@dataclass(frozen=True, slots=True)
class Reading:
    """A figure of a sheet for the other rooms: as it was read, and what it comes to."""

    measure: Measure
    correction: Correction
    corrected: float  # in the canonical unit; the same as the measure where nothing is corrected
    beside: float | None = None
    altitude_m: float | None = None


def reading_of(item: ChecklistItem, entry: Answered) -> Reading | None:
    measure = measure_of(item, entry)
    if measure is None:
        return None
    comes_to = corrected(item, measure.value, entry.beside, entry.altitude_m)
    return Reading(measure, Correction(item.correction), comes_to, entry.beside, entry.altitude_m)


def value_text(item: ChecklistItem, entry: Answered) -> str:
    """What was entered, without its unit: the figure, the choice or the words; empty for a tick or a photograph."""
    read = measure_of(item, entry)
    if read is None:
        return entry.choice or entry.text
    return figure_text(float(exactly(read.figure)), decimals_in(item, read.unit))


def unit_text(item: ChecklistItem, entry: Answered | None) -> str:
    """The unit a figure was read in; where there is none yet, the one the list is written in."""
    return item.unit if entry is None or entry.measure is None else entry.unit or item.unit


def detail_text(item: ChecklistItem, entry: Answered) -> str:
    """What was read beside a figure, and what it comes to: 'at 80 °C: 1.50 ohm at 20 °C'; nothing where as read."""
    read, beside = measure_of(item, entry), beside_of(item)
    if read is None or entry.measure is None:
        return ""
    raised = raised_by(item, entry.altitude_m)
    if (beside is None or entry.beside is None) and not raised:
        return ""
    value = read.quantity.in_unit(corrected(item, entry.measure, entry.beside, entry.altitude_m), read.unit)
    places = decimals_in(item, read.unit)
    text = f"{plain(value, places)} {read.unit} {CORRECTED_TO[Correction(item.correction)]}"
    if beside is None or entry.beside is None:
        return text
    return f"{beside.join} {figure_text(entry.beside, 0)} {beside.unit}: {text}"


def limits_text(item: ChecklistItem, unit: str = "", altitude_m: float | None = None) -> str:
    """'50 to 70 kPa', '0.50 V or less', '1.0 mm or more', in `unit`; nothing where no limit is set.

    Those of a corrected figure say of what: at 20 °C, at sea level, or what the gauge may show at `altitude_m`.
    """
    quantity, unit = quantity_of(item), unit or item.unit
    suffix = CORRECTED_TO.get(Correction(item.correction), "")
    raised = raised_by(item, altitude_m)
    places = decimals_in(item, unit)
    if item.correction == Correction.SEA_LEVEL and altitude_m is not None:
        suffix = f"at {plain(altitude_m)} m" if raised else ""
    as_written = unit == item.unit and not raised

    def said(limit: float | None, rounded: Callable[[float, str, int], str]) -> str:
        if limit is None:
            return ""
        if as_written:
            return figure_text(float(exactly(quantity.in_unit(limit, unit))), places)
        # At a height no limit is a round figure: one digit more than the list has.
        return rounded(limit - raised, unit, places + (1 if raised and unit == item.unit else 0))

    low, high = said(item.low, quantity.lowest_text), said(item.high, quantity.highest_text)
    if low and high:
        limits = f"{low} to {high} {unit}"
    elif high:
        limits = f"{high} {unit} or less"
    elif low:
        limits = f"{low} {unit} or more"
    else:
        return ""
    return f"{limits} {suffix}".strip()
