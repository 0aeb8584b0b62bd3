"""The answers to a strobe session in whole sentences, and how long a sentence may be."""

import re

import pytest

from tests.timing.strobe.sentences import SENTENCES


@pytest.mark.parametrize(("verdict", "sentence"), [pytest.param(*row[1:], id=row[0]) for row in SENTENCES])
def test_a_strobe_session_is_answered_in_these_words(verdict, sentence):
    assert verdict().sentence == sentence


@pytest.mark.parametrize("sentence", [pytest.param(row[2], id=row[0]) for row in SENTENCES])
def test_no_sentence_needs_reading_twice(sentence):
    assert max(len(part.split()) for part in re.split(r"[.:] ", sentence)) <= 20, "words.md: 20 words at most"
