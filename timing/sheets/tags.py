"""What WeasyPrint 70 leaves amiss in the tags of a document: running lines, and what a header cell heads.

Clauses of ISO 14289-1:2014 (PDF/UA-1) and ISO 32000-1:2008 from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

ARTIFACT: Final = "/Artifact"


def mend_tags(pdf: Any) -> None:
    """Put the tags of a document right before it is written.

    Parameters
    ----------
    pdf : pydyf.PDF
        A tagged document in which WeasyPrint has filled the tree. It is changed in place.
    """
    objects = {one.reference: one for one in pdf.objects}
    root = objects[pdf.catalog["StructTreeRoot"]]
    in_tree = dict(_beneath(root, objects))
    _running_lines_are_artifacts(pdf, objects, set(in_tree))
    for reference, above in in_tree.items():
        element = objects[reference]
        if element.get("S") == "/TH":
            element["A"]["Scope"] = "/Column" if "/THead" in above or "ColSpan" in element["A"] else "/Row"


def _beneath(root: Any, objects: dict[bytes, Any]) -> Iterator[tuple[bytes, frozenset[str]]]:
    """Each element of the tree of tags, by its reference, with the kinds of those that it stands in."""
    waiting: list[tuple[bytes, frozenset[str]]] = [(child, frozenset()) for child in root["K"]]
    while waiting:
        reference, above = waiting.pop()
        yield reference, above
        element = objects[reference]
        here = above | {element["S"]} if "S" in element else above
        # Beside elements there are plain numbers of marked content.
        waiting += [(child, here) for child in element.get("K", ()) if isinstance(child, bytes)]


def _running_lines_are_artifacts(pdf: Any, objects: dict[bytes, Any], in_tree: set[bytes]) -> None:
    """Headers and footers are marked like text, but out of the tree; ISO 14289-1, 7.8, asks for artifacts."""
    parents = objects[objects[pdf.catalog["StructTreeRoot"]]["ParentTree"]]["Nums"]
    of_pages = dict(zip(parents[::2], parents[1::2], strict=True))
    for page in (one for one in pdf.objects if isinstance(one, dict) and one.get("Type") == "/Page"):
        tags = of_pages[page["StructParents"]]
        outside = {number for number, tag in enumerate(tags) if tag not in in_tree}
        _mark_as_artifacts(objects[page["Contents"]].stream, outside)
        for number in outside:
            tags[number] = b"null"
    for reference, one in objects.items():
        if reference not in in_tree and isinstance(one, dict) and one.get("Type") == "/StructElem":
            one.clear()  # an object that is free would confuse the table of those that are packed (pydyf 0.13)


def _mark_as_artifacts(stream: list[Any], outside: set[int]) -> None:
    """Rewrite what opens the marked content numbered in `outside`."""
    for place, operator in enumerate(stream):
        if operator == b"BDC" and stream[place - 1]["MCID"] in outside:
            stream[place - 2] = ARTIFACT
            stream[place - 1].clear()
            stream[place - 1]["Type"] = "/Pagination"
