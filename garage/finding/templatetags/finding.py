"""What was found, with the words marked that were asked for."""

from collections.abc import Sequence

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from garage.finding.words import pieces_of

register = template.Library()
BEFORE, LENGTH = 60, 200  # of a long text: so much before the first word found, and so much in all


@register.simple_tag
def found_in(text: object, words: Sequence[str]) -> SafeString:
    """`text` with `words` marked in it; of a long one the part around the first of them."""
    pieces, said = [], 0
    for piece, is_found in _around(pieces_of(" ".join(str(text).split()), tuple(words))):
        if said >= LENGTH:
            pieces.append(("…", False))
            break
        pieces.append((piece[: LENGTH - said], is_found))
        said += len(piece)
    marked = [format_html('<mark class="found">{}</mark>', piece) if is_found else piece for piece, is_found in pieces]
    # In one box, for a row whose parts stand apart would tear a word at its mark.
    return format_html("<span>{}</span>", format_html_join("", "{}", ((piece,) for piece in marked)))


def _around(pieces: list[tuple[str, bool]]) -> list[tuple[str, bool]]:
    if len(pieces) > 1 and not pieces[0][1] and len(pieces[0][0]) > BEFORE:
        return [(f"… {pieces[0][0][-BEFORE:]}", False), *pieces[1:]]
    return pieces
