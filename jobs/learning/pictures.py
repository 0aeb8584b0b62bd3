"""The pictures of the learned page, each for a desk and for a phone."""

from collections.abc import Callable, Sequence
from functools import partial

from jobs.bench.pictures import Drawn, drawn
from jobs.learning.hours import Hours
from jobs.learning.maps_that_stayed import CRUISE_RPM, StayedMaps
from jobs.learning.returns import Returns
from jobs.learning.road_changes import WIDE_OPEN, RoadChanges
from jobs.learning.starts import Starts
from jobs.learning.unit_failures import UnitFailures
from timing.charts import Row, rows_chart, speed_chart, vacuum_chart
from timing.spread import AdvanceBand, Share, Spread, share_of
from timing.units import convert

Pictures = dict[str, Drawn]


def map_pictures(maps: StayedMaps, *, pressure_unit: str) -> Pictures:
    """Wide open, with vacuum, and what vacuum adds; none below three cars."""
    name = f"{maps.count} cars"
    if not maps.open.rows():
        return {}
    over_vacuum = [
        (float(convert(kpa, "kPa", pressure_unit)), low, middle, high)
        for kpa, low, middle, high in maps.over_vacuum.rows()
    ]
    return {
        "open": _speed("open", "Total advance, wide open", maps.open, name),
        "with_vacuum": _speed("with-vacuum", "Total advance with vacuum", maps.with_vacuum, name),
        "over_vacuum": drawn(
            "over-vacuum",
            partial(
                vacuum_chart,
                title=f"What vacuum adds at {CRUISE_RPM:.0f} rpm",
                cars=over_vacuum,
                cars_name=name,
                pressure_unit=pressure_unit,
            ),
        ),
    }


def _speed(uid: str, title: str, band: AdvanceBand, name: str) -> Drawn:
    picture = partial(speed_chart, title=title, cars=band.rows(), cars_name=name, degrees_name="degrees BTDC")
    return drawn(uid, picture)


def change_picture(changes: RoadChanges) -> Drawn | None:
    """In how many of the changed cars advance was taken away at each speed, wide open."""
    rows = [
        _share_row(f"{row.rpm:.0f} rpm: less in {row.less.count} of {row.change.of}", row.less.count, row.change.of)
        for row in changes.changes
        if row.where == WIDE_OPEN and row.change.less
    ]
    return _shares("changes", "Less advance after road tests, wide open", "by speed", rows)


def start_picture(found: Starts) -> Drawn | None:
    rows = [_spread_row(row.label, row.spread, row.behind.count, "car") for row in found.rows]
    return _spreads("starts", "Versions until the car went home", "versions", "by start", rows)


def hours_picture(found: Hours) -> Drawn | None:
    rows = [_spread_row(row.label, row.spread, row.behind.count, "job") for row in found.rows]
    return _spreads("hours", "Hours by stage", "hours", "by stage", rows)


def return_picture(found: Returns) -> Drawn | None:
    if found.share is None:
        return None
    rows = [_share_row(f"With a fault: {found.share.count} of {found.share.of}", found.share.count, found.share.of)]
    return _shares("returns", "Back within a year with a fault", "of the cars a year out", rows)


def unit_picture(found: UnitFailures) -> Drawn | None:
    rows = [
        _share_row(f"{row.label}: {row.replaced.count} of {row.units.count}", row.replaced.count, row.units.count)
        for row in found.rows
    ]
    return _shares("units", "Units replaced", "by type and firmware", rows)


def _share_row(label: str, count: int, of: int) -> Row:
    share: Share | None = share_of(count, of)
    if share is None or not share.says_something:
        return Row(label)
    return Row(label, 100 * count / of, 100 * share.low, 100 * share.high)


def _spread_row(label: str, spread: Spread | None, count: int, what: str) -> Row:
    named = f"{label}: {count} {what}{'' if count == 1 else 's'}"
    if spread is None:
        return Row(named)
    return Row(named, spread.median, spread.lowest, spread.highest, (spread.quarter, spread.three_quarters))


def _spreads(uid: str, title: str, axis_name: str, group_name: str, rows: Sequence[Row]) -> Drawn | None:
    return _if_any(
        rows, lambda: drawn(uid, partial(rows_chart, rows, axis_name=axis_name, group_name=group_name, title=title))
    )


def _shares(uid: str, title: str, group_name: str, rows: Sequence[Row]) -> Drawn | None:
    picture = partial(
        rows_chart,
        rows,
        axis_name="share of the cars",
        group_name=group_name,
        title=title,
        suffix=" %",
        limits=(0.0, 100.0),
        reach_name="likely share",
        middle_name="share so far",
    )
    return _if_any(rows, lambda: drawn(uid, picture))


def _if_any(rows: Sequence[Row], draw: Callable[[], Drawn]) -> Drawn | None:
    """No picture where not one row says anything: the table does."""
    return draw() if any(row.middle is not None for row in rows) else None
