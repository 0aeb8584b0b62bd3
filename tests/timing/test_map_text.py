"""A map as the text of a camera code: what is written is read back, and nothing else is taken for a map."""

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.any_map import maps
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.map_text import LABELS, MapTextError, _checksum, map_from_text, map_to_text
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# ISO/IEC 18004, the signs of the alphanumeric mode; from memory, held to segno's own table below.
ALPHANUMERIC = set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
RAMP = IgnitionMap(
    8, AdvanceCurve([600, 1200, 2800], [0, 6.5, 22]), VacuumRamp(13.5, 40.6, 12, 900), dwell_ms=3.2, rev_limit_rpm=6000,
    rev_limit_manner="hard", trigger="contact breaker",
)  # fmt: skip
LABELS_OF_A_CAR = {"CAR": "QZ 88 G", "JOB": "26-0007", "VERSION": "3", "UNIT": "Tern 8"}
WRITTEN = (
    "IGNITION MAP 1/CAR QZ 88 G/JOB 26-0007/VERSION 3/UNIT TERN 8/BASE DEG BTDC 8/RPM 600 1200 2800/"
    "ADVANCE DEG 0 6.5 22/VACUUM START KPA 13.5/VACUUM FULL KPA 40.6/VACUUM FULL DEG 12/VACUUM FROM RPM 900/"
    "DWELL MS 3.2/REV LIMIT RPM 6000/REV LIMIT HARD/REPEATED SPARKS OFF/TRIGGER CONTACT BREAKER/SUM "
)


def test_the_text_says_the_map_in_words_that_can_be_keyed_in_without_any_program():
    assert map_to_text(RAMP, LABELS_OF_A_CAR).startswith(WRITTEN)


def test_the_check_sum_is_the_crc_32_of_every_archive():
    """The check value of CRC-32 for '123456789', as the catalogues of such sums give it; from memory."""
    assert _checksum("123456789") == "CBF43926"


@given(ignition_map=maps(), labels=st.dictionaries(st.sampled_from(LABELS), st.text(max_size=30)))
def test_what_is_written_is_read_back_with_the_same_identity_and_in_signs_of_the_code(ignition_map, labels):
    text = map_to_text(ignition_map, labels)
    assert set(text) <= ALPHANUMERIC
    assert segno.make(text, micro=False).mode == "alphanumeric"
    assert map_from_text(text).ignition_map.content_hash() == ignition_map.content_hash()


def test_the_labels_are_read_back_and_a_foreign_sign_is_a_full_stop():
    text = map_to_text(RAMP, {"CAR": "äb/12", "UNIT": " Tern  8 "})
    assert map_from_text(text).labels == {"CAR": ".B.12", "UNIT": "TERN 8"}


def test_a_text_typed_in_small_letters_over_several_lines_is_the_same_map():
    text = map_to_text(RAMP, LABELS_OF_A_CAR)
    typed = text.lower().replace(" kpa", "\n kpa")
    assert map_from_text(f"  {typed}\n").ignition_map == RAMP


def test_any_one_sign_read_wrong_is_noticed():
    text = map_to_text(RAMP, LABELS_OF_A_CAR)
    for place, sign in enumerate(text):
        wrong = text[:place] + ("7" if sign != "7" else "1") + text[place + 1 :]
        with pytest.raises(MapTextError):
            map_from_text(wrong)


def test_a_text_cut_off_anywhere_is_refused():
    text = map_to_text(RAMP)
    for end in range(len(text)):
        with pytest.raises(MapTextError):
            map_from_text(text[:end])


def summed(text):
    return f"{text}/SUM {_checksum(text)}"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("https://workshop.example/papers/1", "not the text of an ignition map"),
        (summed("IGNITION MAP 2/BASE DEG BTDC 8"), "edition 2; this program reads edition 1"),
        (summed("IGNITION MAP 1/BASE DEG BTDC 8"), "does not say RPM"),
        (summed("IGNITION MAP 1/BASE DEG BTDC 8 9/RPM 600 900/ADVANCE DEG 0 1"), "one figure, not 2"),
        (summed("IGNITION MAP 1/BASE DEG BTDC EIGHT/RPM 600 900/ADVANCE DEG 0 1"), "figures, not 'EIGHT'"),
        (summed("IGNITION MAP 1/TUNE 8"), "'TUNE 8', which this program does not know"),
        (summed("IGNITION MAP 1/BASE DEG BTDC 8/BASE DEG BTDC 9"), "BASE DEG BTDC twice"),
        (
            summed("IGNITION MAP 1/BASE DEG BTDC 8/RPM 600 900/ADVANCE DEG 0 1/REV LIMIT FIRM"),
            "SOFT or HARD, not 'FIRM'",
        ),
        (
            summed(
                "IGNITION MAP 1/BASE DEG BTDC 8/RPM 600 900/ADVANCE DEG 0 1/VACUUM RPM 0 900/VACUUM KPA 0 40/"
                "VACUUM CELLS DEG 0 1 2"
            ),
            "3 cells, not 2 rows of 2",
        ),
    ],
)
def test_what_is_no_map_is_refused_with_what_is_wrong(text, said):
    with pytest.raises(MapTextError, match=said):
        map_from_text(text)


@pytest.mark.parametrize("figure", ["NAN", "INF", "1E9", "-300"])
def test_a_figure_that_cannot_be_is_refused_by_the_map_itself(figure):
    with pytest.raises(TimingError):
        map_from_text(summed(f"IGNITION MAP 1/BASE DEG BTDC {figure}/RPM 600 900/ADVANCE DEG 0 1"))


def test_a_label_of_another_name_is_refused():
    with pytest.raises(MapTextError, match="COLOUR"):
        map_to_text(RAMP, {"COLOUR": "green"})


def test_a_map_of_sixteen_points_with_eighty_cells_fits_a_code_whose_squares_a_phone_can_tell_apart():
    """With a fifth of it unreadable, 34 mm wide with its edge: squares of at least a third of a millimetre.

    Common practice, no source: a phone reads squares of a third of a millimetre from a hand's breadth.
    """
    table = VacuumTable(
        rpm=[500 * n for n in range(1, 11)], vacuum=[10 * n for n in range(8)],
        degrees=[[round(0.5 * (row + column), 1) for column in range(10)] for row in range(8)],
    )  # fmt: skip
    curve = AdvanceCurve([450 + 350 * n for n in range(16)], [round(1.6 * n, 1) for n in range(16)])
    fullest = IgnitionMap(
        8.5, curve, table, BoostRetard([0, 50, 100], [0, 3, 6]), dwell_ms=3.25, rev_limit_rpm=6500,
        rev_limit_manner="hard", repeated_sparks=True, trigger="contact breaker",
    )  # fmt: skip
    code = segno.make(map_to_text(fullest, LABELS_OF_A_CAR), error="m", boost_error=False, micro=False)
    assert 34 / code.symbol_size(border=4)[0] > 0.33
