"""What comes out of a spreadsheet, understood or refused as a whole."""

import pytest

from jobs.maps.paste import PasteError, pasted


@pytest.mark.parametrize(
    "text",
    [
        "500\t0\n1000\t2,5\n",
        "500;0\n1000;2,5",
        "500 0\r\n1000 2.5\r\n",
        "rpm\tdegrees\n500\t0\n1000\t2.5",
        "500\t0\t\n1000\t2.5\t\n",
    ],
)
def test_two_columns_are_understood_however_a_spreadsheet_parts_them(text):
    assert pasted(text, [1, 2]) == [[500, 0], [1000, 2.5]]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("500\t0\n1000\tabout 2", "Row 2: ‘about 2’ is not a figure."),
        ("rpm\tdeg\n500\t0\n1000\tabout 2", "Row 3: ‘about 2’ is not a figure."),
        ("500\t0\n1000", "Row 2 has 1 cell where the others have 2."),
        ("1\t2\t3", "Row 1 has 3 cells; this table takes 1 or 2."),
        ("1,000\t4", "Row 1: ‘1,000’ could mean 1000 or 1.000."),
        ("  \n", "Nothing to paste."),
        ("rpm\tdegrees", "Only a heading was pasted."),
    ],
)
def test_what_is_not_understood_is_refused_with_its_row(text, problem):
    with pytest.raises(PasteError) as refusal:
        pasted(text, [1, 2])
    assert str(refusal.value) == problem
