"""Letters written from right to left, and letters without a font."""

from timing.sheets.letters import REPLACEMENT, isolated, said_to_be_missing

HEBREW, ARABIC = "נועה כהן", "نور"


def test_a_line_with_letters_from_right_to_left_stands_between_isolates():
    """First strong isolate and its end, UAX #9, section 2.4.2."""
    assert isolated({"by": HEBREW, "notes": [f"first\n{ARABIC} 12", "plain"], "count": 3, "none": None}) == {
        "by": f"\u2068{HEBREW}\u2069",
        "notes": [f"first\n\u2068{ARABIC} 12\u2069", "plain"],
        "count": 3,
        "none": None,
    }


def test_what_it_is_given_stays_as_it_is():
    given = {"by": HEBREW}
    isolated(given)
    assert given == {"by": HEBREW}


def test_missing_letters_are_named_by_number_at_the_end_and_the_title_keeps_them():
    page = "<html><head><title>สม</title></head><body><p>สมส</p></body></html>"
    said = said_to_be_missing(page, ["ส", "ม"])
    assert said == (
        f"<html><head><title>สม</title></head><body><p>{REPLACEMENT * 3}</p>"
        f"<p>{REPLACEMENT} is a letter this machine has no font for: U+0E21, U+0E2A.</p></body></html>"
    )


def test_of_many_missing_letters_ten_are_named():
    said = said_to_be_missing("<body></body>", [chr(0xE000 + count) for count in range(13)])
    assert "U+E009 and 3 more." in said
