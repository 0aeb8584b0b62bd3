"""No template asks for what the content security policy forbids, or for what htmx drops without its eval."""

import re
from pathlib import Path

import pytest

from tests.site.tokens import ROOT

FORBIDDEN = {
    "inline style": re.compile(r"<[^>]*\sstyle\s*=|<style\b", re.IGNORECASE),
    "inline script": re.compile(r"<script\b(?![^>]*\bsrc=)(?![^>]*type=\"application/json\")", re.IGNORECASE),
    "inline handler": re.compile(r"<[^>{]*\son[a-z]+\s*=", re.IGNORECASE),
    "hx-on": re.compile(r"\bhx-on\b|\bhx-on:", re.IGNORECASE),
    "js: value": re.compile(r"[\"'(=\s](?:js|javascript):", re.IGNORECASE),
    "trigger filter": re.compile(r"hx-trigger\s*=\s*(\"[^\"]*\[|'[^']*\[)", re.IGNORECASE),
    "address outside": re.compile(r"(?:src|href)\s*=\s*[\"']?(?:https?:)?//", re.IGNORECASE),
}
# Documents are printed by WeasyPrint; no browser and no policy ever sees them.
DOCUMENTS = ROOT / "templates" / "timing" / "sheets"
PAGES = sorted(
    path
    for path in (ROOT / "templates").rglob("*")
    if path.suffix in (".html", ".svg") and DOCUMENTS not in path.parents
)


def offences(text: str) -> set[str]:
    plain = re.sub(r"\{% comment %\}.*?\{% endcomment %\}", "", text, flags=re.DOTALL)
    return {name for name, pattern in FORBIDDEN.items() if pattern.search(plain)}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
def test_a_page_keeps_to_the_policy(path: Path):
    assert offences(path.read_text(encoding="utf-8")) == set()


@pytest.mark.parametrize(
    ("text", "offence"),
    [
        ('<p class="a" style="color:red">', "inline style"),
        ("<style>p{}</style>", "inline style"),
        ("<script>go()</script>", "inline script"),
        ('<script type="module">go()</script>', "inline script"),
        ('<button onclick="go()">', "inline handler"),
        ('<input class="x" oninput="go()">', "inline handler"),
        ('<div hx-on:click="go()">', "hx-on"),
        ("<div hx-vals='js:{a: 1}'>", "js: value"),
        ('<a href="javascript:void(0)">', "js: value"),
        ('<input hx-trigger="keyup[ctrlKey] from:body">', "trigger filter"),
        ('<script src="https://elsewhere.example/x.js"></script>', "address outside"),
        ('<link href="//elsewhere.example/x.css">', "address outside"),
    ],
)
def test_each_offence_would_be_noticed(text, offence):
    assert offence in offences(text)


@pytest.mark.parametrize(
    "text",
    [
        '<script src="{% static "js/theme.js" %}"></script>',
        '<script type="application/json" id="data"></script>',
        '<input hx-trigger="input changed delay:300ms">',
        "<p>The lock is held on. Turn the key=on position.</p>",
        '<path d="M0 0" stroke="#000"/>',
    ],
)
def test_what_is_allowed_is_let_through(text):
    assert offences(text) == set()
