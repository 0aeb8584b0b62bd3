"""The rotor drawn now and after a remedy: the picture shows what the four bodies of the distributor would."""

import pytest

from tests.timing.charts.caps import FOUR, caps_of
from tests.timing.charts.drawn import corners
from timing.charts import phasing_chart
from timing.distributor import CrankTrigger, DistributorTrigger, RemedyKind, rotor_advice, rotor_phasing

PHASING = rotor_phasing(*FOUR)
# What sets the rotor, the remedy to draw, and where the tip stands at 8 and at 40 now: handbook 7, worked.
TRIGGERS = [
    (DistributorTrigger(8, 0), RemedyKind.MOVE_PLATE),
    (DistributorTrigger(8, 0), RemedyKind.REINDEX_ROTOR),
    (DistributorTrigger(8, 0), RemedyKind.SET_EDGE),
    (CrankTrigger(8), RemedyKind.SET_BODY),
]


def drawn(setting, kind, **look):
    advice = rotor_advice(PHASING, setting, unit_takes_edge=True)
    [remedy] = [remedy for remedy in advice.remedies if remedy.kind is kind]
    return phasing_chart(advice.phasing, uid="p", setting=setting, remedy=remedy, **look)


def tip_of(cap):
    """Where the tip stands as drawn, degrees of the distributor clockwise from its post."""
    return cap.angle(corners(cap.one("offset").d)[1])


@pytest.mark.parametrize(("setting", "kind"), TRIGGERS)
@pytest.mark.parametrize("clockwise", [True, False])
def test_both_ends_are_drawn_now_and_after(setting, kind, clockwise):
    caps = caps_of(drawn(setting, kind, clockwise=clockwise), FOUR[3])
    before_its_terminal = [-tip_of(cap) if clockwise else tip_of(cap) for cap in caps]
    assert before_its_terminal == pytest.approx([0, 16, -8, 8], abs=0.05), "handbook 7, worked: rows 2 and 1"


@pytest.mark.parametrize(("width", "columns"), [(720, 2), (360, 1)])
def test_now_stands_over_after_and_each_end_under_its_own(width, columns):
    chart = drawn(*TRIGGERS[0], width=width)
    caps = caps_of(chart, FOUR[3])
    places = [cap.centre for cap in caps]
    assert [y for _, y in places] == sorted(y for _, y in places)
    assert len({round(x) for x, _ in places}) == columns
    assert len({round(y) for _, y in places}) == 4 / columns
    assert chart.height >= caps[-1].centre[1] + caps[-1].radius
    headings = [text.text for text in chart.texts if text.css == "chart-name"]
    assert headings == [
        "now: lowest advance, 8° BTDC",
        "now: highest advance, 40° BTDC",
        "after: lowest advance, 8° BTDC",
        "after: highest advance, 40° BTDC",
    ]


def test_only_what_is_beyond_its_limits_is_refused():
    words = [text.text for text in drawn(*TRIGGERS[0]).texts]
    assert words.count("outside the limits") == 1, "40 degrees as it is set now"


def test_a_distributor_that_triggers_nothing_is_told_in_its_own_words():
    crank, contacts = drawn(*TRIGGERS[3]).description, drawn(*TRIGGERS[0]).description
    assert "This distributor triggers nothing; tip and terminal are in line at 8° BTDC." in crank
    assert "The trigger's edge comes at 8° BTDC with the tip in line with its terminal." in contacts
    assert "edge" not in crank


def test_what_is_done_is_told_after_what_is_drawn():
    for setting, kind in TRIGGERS:
        advice = rotor_advice(PHASING, setting, unit_takes_edge=True)
        [remedy] = [remedy for remedy in advice.remedies if remedy.kind is kind]
        assert drawn(setting, kind).description.endswith(" ".join(remedy.sentences))


def test_without_a_remedy_nothing_is_called_now():
    assert "now" not in phasing_chart(PHASING, uid="p").description.casefold()
