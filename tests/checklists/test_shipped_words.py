"""How the check-lists that come along are worded: cautions where people get hurt, plain and short, no maker's name.

Hazards: handbook, section 11.
"""

import re

import pytest

from jobs.checklists.after_strobe import COMES_AFTER
from jobs.checklists.models import ChecklistItem, Entry, ItemKind
from tests.checklists.along import BREAKER, ELECTRONIC, FITTING, INSPECTION, LISTS, item, keys

# handbook, section 11, hazards: where each belongs, and the word that must be read there
HAZARDS = [
    *[
        (of, key, word)
        for of in FITTING
        for key, word in [
            ("unit-matches-card", "licensed person decide"),
            ("positive-earth-way", "dead short"),
            ("unit-case-isolated", "shorts the battery"),
            ("battery-isolated", "Rings"),
            ("battery-isolated", "gas"),
            ("battery-isolated", "memory saver"),
            ("extinguisher", "fuel"),
            ("car-stands-safe", "stands"),
            ("at-top-dead-centre", "thumb and wrist"),
            ("rotor-overlap-highest", "By hand only"),
            ("rotor-overlap-lowest", "spits back"),
            ("fuse", "licensed person"),
            ("wires", "local code"),
            ("coil-primary", "battery off"),
            ("ballast-route", "burst"),
            ("wiring-second-look", "an open outlet"),
            ("battery-on", "explodes"),
            ("coil-off", "hot"),
            ("feed-cranking-12", "fan and belt"),
            ("feed-cranking-6", "fan and belt"),
            ("test-gap-earthed", "way to earth"),
            ("test-gap-earthed", "no smoking"),
            ("test-gap-earthed", "extinguisher"),
            ("spark-every-cylinder", "pacemaker"),
            ("spark-every-cylinder", "kilovolts"),
            ("first-cylinder-first", "look still"),
            ("starts", "carbon monoxide"),
            ("starts", "chocked"),
            ("starts", "electric fan"),
            ("feed-drop", "burn"),
            ("shake-test", "fan and belt"),
        ]
    ],
    (BREAKER, "breaker-off-coil", "battery off"),
    (ELECTRONIC, "old-module", "battery off"),
    (BREAKER, "trigger-edge", "thumb and wrist"),
    (ELECTRONIC, "coil-disconnected", "a kick breaks thumb and wrist"),
    (ELECTRONIC, "trigger-edge", "by hand only"),
    (ELECTRONIC, "pickup-signal", "fan and belt"),
    (INSPECTION, "owner-told", "insurance"),
    (INSPECTION, "fuel-leaks", "fuel"),
    (INSPECTION, "old-materials", "Asbestos"),
    (INSPECTION, "old-materials", "lead in old paint"),
    (INSPECTION, "post-to-body", "Rings"),
    (INSPECTION, "positive-earth-told", "read the posts"),
    (INSPECTION, "posts-clean", "explodes"),
    (INSPECTION, "coil-primary", "battery off"),
    (INSPECTION, "mark-proven", "never with the starter"),
    (INSPECTION, "mark-proven", "thumb and wrist"),
    (INSPECTION, "cranking-12", "never open"),
    (INSPECTION, "cranking-6", "never open"),
    (INSPECTION, "starts-as-found", "carbon monoxide"),
    (INSPECTION, "air-leaks", "lights it"),
    (INSPECTION, "sweep-read", "pacemaker"),
    (INSPECTION, "sweep-read", "look still"),
    (INSPECTION, "compression-read", "burn"),
    (INSPECTION, "cooling", "hot cooling system"),
    (INSPECTION, "belts", "No airbags"),
    (INSPECTION, "brakes-steering-tyres", "never on a jack"),
]


@pytest.mark.parametrize(("of", "key", "word"), HAZARDS)
def test_the_caution_stands_at_the_item_where_people_get_hurt(of, key, word):
    assert word in item(of, key).caution


@pytest.mark.parametrize("of", FITTING)
@pytest.mark.parametrize("key", ["engine-bay", "old-wiring", "lock", "new-wiring", "clamp-mark"])
def test_a_photograph_is_asked_for_where_it_proves_something_later(of, key):
    assert item(of, key).kind == ItemKind.PHOTO


@pytest.mark.parametrize("of", FITTING)
def test_the_painted_clamp_does_not_keep_the_car_from_the_strobe_which_comes_first(of):
    assert not item(of, "clamp-mark").required
    proven = COMES_AFTER["clamp-mark"]
    assert item(of, proven).kind == ItemKind.READING
    assert keys(of).index(proven) < keys(of).index("clamp-mark")


@pytest.mark.parametrize("of", LISTS)
def test_no_text_is_longer_than_its_column(of):
    columns = ("key", "section", "text", "source", "unit")
    longest = {name: ChecklistItem._meta.get_field(name).max_length for name in columns}
    longest["choices"] = Entry._meta.get_field("choice").max_length
    for row in LISTS[of].rows():
        for name, most in longest.items():
            texts = row[name] if name == "choices" else [row[name]]
            assert all(len(text) <= most for text in texts), row["key"]


@pytest.mark.parametrize("of", LISTS)
def test_every_text_is_read_at_a_glance(of):
    for one in LISTS[of].items:
        assert len(one.text) <= 90, one.key
        assert all(len(choice) <= 25 for choice in one.choices), one.key  # each is a button under a thumb
        assert len(one.help) <= 250, one.key
        assert len(one.caution) <= 250, one.key
        for sentence in re.split(r"(?<=[.?])\s", f"{one.help} {one.caution}"):
            assert len(sentence.split()) <= 30, sentence


@pytest.mark.parametrize("of", LISTS)
def test_no_name_of_a_maker_or_a_product_stands_in_a_list(of):
    # Every word with a capital within a sentence belongs to a standard or a unit; 'Hall' is the effect.
    allowed = {"A", "V", "C", "BTDC", "Hall", "DIN", "BS", "AU", "IEC", "US", "Standard", "Atmosphere"}
    for one in LISTS[of].items:
        for words in (one.text, one.help, one.caution, one.source, one.unit, *one.choices):
            within = set(re.findall(r"(?<![.?:] )(?<!^)\b[A-Z]\w*", words))
            assert within <= allowed, words


@pytest.mark.parametrize("of", LISTS)
def test_the_lists_speak_plainly_and_in_british_spelling(of):
    unwanted = re.compile(r"!|\b(successful\w*|please|color\w*|gray|ground|grounded|tires?|aluminum)\b", re.IGNORECASE)
    for one in LISTS[of].items:
        assert not unwanted.search(" ".join([one.text, one.help, one.caution, *one.choices])), one.key


def test_an_item_that_stands_on_two_lists_is_the_same_item():
    first: dict[str, tuple[object, ...]] = {}
    for listed in LISTS.values():
        for one in listed.items:
            same = (one.kind, one.unit, one.low, one.high, one.decimals, one.choices, one.good_choices)
            assert first.setdefault(one.key, same) == same, one.key
