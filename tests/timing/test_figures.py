"""Results made of arrays: equal when their figures are, usable as keys, and never written into."""

from dataclasses import dataclass

import numpy as np
import pytest

from timing.figures import Figures


@dataclass(frozen=True, slots=True, eq=False)
class Table(Figures):
    figures: object
    name: str = "a"


@dataclass(frozen=True, slots=True, eq=False)
class OtherTable(Figures):
    figures: object
    name: str = "a"


def table(*figures, **more):
    return Table(np.array(figures), **more)


def test_equal_figures_make_equal_results():
    assert table(1.0, 2.0) == table(1.0, 2.0)
    assert hash(table(1.0, 2.0)) == hash(table(1.0, 2.0))
    assert {table(1.0): "kept"}[table(1.0)] == "kept"


@pytest.mark.parametrize("other", [table(1.0, 3.0), table(1.0), table(1.0, 2.0, name="b"), Table(1.0), Table(None)])
def test_anything_else_is_another_result(other):
    assert table(1.0, 2.0) != other


def test_figures_too_small_to_be_told_beside_1_are_told_apart():
    assert table(1e-20) != table(2e-20)


def test_the_same_figures_in_another_shape_are_another_result():
    assert Table(np.array([[1.0, 2.0]])) != table(1.0, 2.0)
    assert Table(np.ma.MaskedArray([[1.0, 2.0]])) != Table(np.ma.MaskedArray([1.0, 2.0]))


def test_a_result_of_another_kind_is_never_equal():
    assert table(1.0) != OtherTable(np.array([1.0]))
    assert table(1.0) != "table"


def test_minus_nought_is_nought():
    assert table(-0.0) == table(0.0)
    assert hash(table(-0.0)) == hash(table(0.0))


def test_results_of_different_kinds_rarely_share_a_place_among_keys():
    assert hash(table(1.0)) != hash(OtherTable(np.array([1.0])))
    assert hash(table(1.0)) != hash(table(2.0))


def test_what_is_masked_differs_from_what_is_not_and_its_figure_does_not_matter():
    masked = Table(np.ma.MaskedArray([1.0, 2.0], mask=[False, True]))
    assert masked == Table(np.ma.MaskedArray([1.0, 9.0], mask=[False, True]))
    assert masked != Table(np.ma.MaskedArray([1.0, 2.0], mask=[False, False]))
    assert masked != Table(np.ma.MaskedArray([1.0, 0.0], mask=[False, False]))


def test_arrays_cannot_be_written_into():
    with pytest.raises(ValueError, match=r"^assignment destination is read-only"):
        table(1.0).figures[0] = 2.0
