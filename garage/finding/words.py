"""What is asked for and what is found, made alike: without accents, capitals and separators."""

import itertools
import unicodedata
from dataclasses import dataclass

from timing.minus import MINUS

# What stands between words and inside numbers. The database writes these, and no others, as spaces.
SEPARATORS = " -./,;:()[]'\"+*#_&!?=\\\n\r\t–—‘’“”„·×|<>"
MOST_WORDS = 6
SHORTEST_INSIDE = 3  # of a word, letters that are looked for anywhere in another: the index knows runs of three
SHORTEST_SPELLED = 4  # of a shorter word, one letter wrong is another word

# The minus that people read stands in the index as it was written: a figure is asked for with and without it there.
MOST_FIGURES = 3  # of a question: each doubles the ways in which it is asked

_SPACED = str.maketrans(dict.fromkeys(SEPARATORS + MINUS, " "))

# Phrases that must all stand in a text. A space at an end of a phrase is the end of a word.
Phrases = tuple[str, ...]


def fold(text: str) -> str:
    """`text` with a space around every word, in small letters, without accents and separators."""
    if text.isascii():  # most of it, and nothing in it has an accent
        return f" {' '.join(text.lower().translate(_SPACED).split())} "
    plain = "".join(letter for letter in unicodedata.normalize("NFD", text) if not unicodedata.combining(letter))
    return f" {' '.join(plain.lower().translate(_SPACED).split())} "


@dataclass(frozen=True, slots=True)
class Asked:
    """The words that somebody typed, folded."""

    words: tuple[str, ...]

    @classmethod
    def of(cls, text: str) -> "Asked":
        return cls(tuple(dict.fromkeys(fold(text).split()))[:MOST_WORDS])

    @property
    def as_number(self) -> str:
        """The whole of it as one number without separators; nothing where it is too short for one."""
        together = "".join(self.words)
        return together if len(self.words) > 1 and len(together) >= SHORTEST_INSIDE else ""

    def with_word(self, word: str, instead: str) -> "Asked":
        return Asked(tuple(instead if known == word else known for known in self.words))

    def tiers(self) -> list[list[Phrases]]:
        """Ways to hold what was asked, the best first: as whole words, as beginnings of words, anywhere."""
        signed = [word for word in self.words if word.isdigit()][:MOST_FIGURES]
        return [
            [
                *itertools.product(*(_either(tier(word)) if word in signed else [tier(word)] for word in self.words)),
                *([(tier(self.as_number),)] if self.as_number else []),
            ]
            for tier in (whole, beginning, anywhere)
        ]


def whole(word: str) -> str:
    return f" {word} "


def beginning(word: str) -> str:
    """A word that begins so. A letter alone is a word of its own, for too many begin with it."""
    return f" {word}" if len(word) > 1 else whole(word)


def anywhere(word: str) -> str:
    """Letters within a word. Of two, the beginning of one."""
    return word if len(word) >= SHORTEST_INSIDE else beginning(word)


def ways_anywhere(word: str) -> list[Phrases]:
    """The ways in which the index holds `word` anywhere."""
    looked = anywhere(word)
    return [(phrase,) for phrase in (_either(looked) if word.isdigit() else [looked])]


def _either(phrase: str) -> list[str]:
    """The phrase of a figure, and the same behind a minus where it begins a word."""
    return [phrase, MINUS + phrase[1:]] if phrase.startswith(" ") else [phrase]


def holds(folded: str, word: str) -> bool:
    """Whether a folded text holds `word` as the index would find it."""
    return anywhere(word) in folded


def one_letter_off(word: str) -> list[Phrases]:
    """What a text holds where `word` stands in it with one letter wrong, missing, too many, or two changed about.

    A letter that is wrong leaves what stands before and after it whole. Of that, as few runs of letters as cover it
    are asked for, and none that the index does not know: each costs a walk through all rows that have it.
    `spelled_otherwise` says which of the texts found hold such a word.
    """
    ways: dict[Phrases, None] = {}
    for place in range(len(word)):
        ways[(*_covering(f" {word[:place]}"), *_covering(f"{word[place + 1 :]} "))] = None
        if place + 1 < len(word):
            ways[_covering(whole(word[:place] + word[place + 1] + word[place] + word[place + 2 :]))] = None
    return [tuple(dict.fromkeys(way)) for way in ways if way]


def _covering(piece: str) -> Phrases:
    """Runs of three letters that cover `piece` between them; none where it is shorter."""
    last = len(piece) - SHORTEST_INSIDE
    starts = [*range(0, last, SHORTEST_INSIDE), last] if last >= 0 else []
    return tuple(piece[start : start + SHORTEST_INSIDE] for start in starts)


def is_one_letter_off(one: str, other: str) -> bool:
    """Whether a letter wrong, missing or too many, or two changed about, makes `other` of `one`."""
    if one == other or abs(len(one) - len(other)) > 1:
        return False
    same = next((place for place, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), None)
    if same is None:
        return True
    rest, wanted = one[same:], other[same:]
    return (
        rest[1:] == wanted[1:]
        or rest[1:] == wanted
        or rest == wanted[1:]
        or (rest[:2] == wanted[1::-1] and rest[2:] == wanted[2:])
    )


def spelled_otherwise(word: str, folded: str) -> list[str]:
    """The words of a folded text that are `word` with one letter off."""
    return [found for found in folded.split() if is_one_letter_off(word, found)]


def pieces_of(text: str, words: tuple[str, ...]) -> list[tuple[str, bool]]:
    """`text` in pieces, each with whether it is one of the `words` that were asked for: to be marked."""
    places = _places(text, words)
    pieces: list[tuple[str, bool]] = []
    end = 0
    for start, stop in places:
        if start > end:
            pieces.append((text[end:start], False))
        pieces.append((text[start:stop], True))
        end = stop
    if end < len(text):
        pieces.append((text[end:], False))
    return pieces


def _places(text: str, words: tuple[str, ...]) -> list[tuple[int, int]]:
    """Where in `text` one of `words` stands, as typed or with other separators in it; no two overlap."""
    letters, origin = _letters_of(text)
    spaced = "".join(letters)
    joined = [place for place, letter in enumerate(letters) if letter != " "]
    bare = "".join(letters[place] for place in joined)
    found: set[tuple[int, int]] = set()
    for word in words:
        looked = anywhere(word)
        for at in _all(f" {spaced} ", looked):
            first = at - 1 + (1 if looked.startswith(" ") else 0)
            found.add((origin[first], origin[first + len(word) - 1] + 1))
        if len(word) > SHORTEST_INSIDE and any(letter.isdigit() for letter in word):
            found |= {(origin[joined[at]], origin[joined[at + len(word) - 1]] + 1) for at in _all(bare, word)}
    return _apart(sorted(found))


def _letters_of(text: str) -> tuple[list[str], list[int]]:
    """The folded letters of `text`, and from which letter of it each comes."""
    letters, origin = [], []
    for place, letter in enumerate(text):
        for part in unicodedata.normalize("NFD", letter).lower().translate(_SPACED):
            if not unicodedata.combining(part):
                letters.append(part)
                origin.append(place)
    return letters, origin


def _all(text: str, piece: str) -> list[int]:
    found, at = [], text.find(piece)
    while at >= 0:
        found.append(at)
        at = text.find(piece, at + 1)
    return found


def _apart(places: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Overlapping places as one."""
    merged: list[tuple[int, int]] = []
    for start, stop in places:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(stop, merged[-1][1]))
        else:
            merged.append((start, stop))
    return merged
