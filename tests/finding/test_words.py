"""Folding, spelling and marking, held to definitions that stand outside the project."""

import itertools
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.finding.words import Asked, fold, is_one_letter_off, one_letter_off, pieces_of, spelled_otherwise

LETTERS = st.text(alphabet="abc", min_size=1, max_size=7)


def distance(one, other):
    """Optimal string alignment distance: Damerau's four errors, by Wagner and Fischer's recurrence (from memory)."""
    rows = [[0] * (len(other) + 1) for _ in range(len(one) + 1)]
    for i, j in itertools.product(range(len(one) + 1), range(len(other) + 1)):
        if not i or not j:
            rows[i][j] = i + j
            continue
        steps = [rows[i - 1][j] + 1, rows[i][j - 1] + 1, rows[i - 1][j - 1] + (one[i - 1] != other[j - 1])]
        if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
            steps.append(rows[i - 2][j - 2] + 1)
        rows[i][j] = min(steps)
    return rows[-1][-1]


@given(LETTERS, LETTERS)
def test_one_letter_off_is_a_distance_of_one(one, other):
    assert is_one_letter_off(one, other) == (distance(one, other) == 1)


@given(st.text(alphabet="abcde", min_size=4, max_size=9), st.data())
def test_the_index_is_asked_for_every_word_that_is_one_letter_off(word, data):
    """Words of four letters and more: what the four errors make of them is among what is asked for."""
    place = data.draw(st.integers(1, len(word) - 1))
    letter = data.draw(st.sampled_from("abcdex"))
    wrong = data.draw(
        st.sampled_from(
            [
                word[:place] + letter + word[place + 1 :],
                word[:place] + letter + word[place:],
                word[:place] + word[place + 1 :],
                letter + word,
                word[1:],
                word[: place - 1] + word[place : place + 1] + word[place - 1 : place] + word[place + 1 :],
            ]
        )
    )
    if wrong == word or len(wrong) < 4:
        return
    text = fold(f"then {word} again")
    assert any(all(phrase in text for phrase in way) for way in one_letter_off(wrong))
    assert word in spelled_otherwise(wrong, text)


@given(st.text(max_size=40))
def test_folding_twice_changes_nothing(text):
    assert fold(fold(text)) == fold(text)


@given(st.text(max_size=40))
def test_a_text_folds_as_its_composed_and_its_taken_apart_form_do(text):
    """Unicode, annex 15: canonically equivalent texts are one text."""
    assert fold(unicodedata.normalize("NFC", text)) == fold(unicodedata.normalize("NFD", text))


@given(st.text(alphabet="abÄ é-1 2\n", max_size=30), st.lists(st.text(alphabet="abe12", min_size=1, max_size=4)))
def test_marking_loses_no_letter(text, words):
    assert "".join(piece for piece, _ in pieces_of(text, tuple(words))) == text


@pytest.mark.parametrize(
    ("text", "words", "marked"),
    [
        ("Signe Öhlmann", ("ohl",), ["Öhl"]),
        ("HLD 150 C", ("hld150c",), ["HLD 150 C"]),
        ("HLD 150 C", ("hld", "c"), ["HLD", "C"]),
        ("Cold start, cold", ("cold",), ["Cold", "cold"]),
        ("no. F-4410", ("f4410",), ["F-4410"]),
        ("nothing of it", ("xyz",), []),
        ("ab abc", ("abc", "bc"), ["abc"]),
        ("read \u22120.2 deg", ("0", "2"), ["0", "2"]),
    ],
)
def test_what_was_asked_for_is_marked_as_it_is_written(text, words, marked):
    assert [piece for piece, is_found in pieces_of(text, words) if is_found] == marked


def test_a_question_has_few_words_and_each_once():
    assert Asked.of("a b a c d e f g h").words == ("a", "b", "c", "d", "e", "f")
