"""Walking a site as a person would: from page to page by its links, reading what stands there."""

import re
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from urllib.parse import urldefrag, urljoin, urlsplit

from django.contrib.staticfiles import finders
from django.test import Client
from tinyhtml5 import inputstream
from tinyhtml5.parser import HTMLParser

HERE = "http://testserver"
UNSEEN = {"script", "style", "template", "title"}
# What a template leaves behind that was given nothing, or too much. 'None yet.' is a sentence.
LEFT_BEHIND = re.compile(
    r"\bNone\b(?! (yet|of|is))|\{\{|\{%|\{#|\bnull\b|\b[nN]a[nN]\b|\bundefined\b|&lt;|&amp;|&#|<[A-Za-z]+\.|-{6,}"
)


class _Compiled(dict[tuple[Iterable[str], bool], re.Pattern[str]]):
    """What the parser reads up to, compiled once: its own cache files what it keeps under a key it never asks for."""

    def __missing__(self, key: tuple[Iterable[str], bool]) -> re.Pattern[str]:
        characters, opposite = key
        one_of = "".join(f"\\x{ord(character):02x}" for character in characters)
        self[key] = re.compile(f"[{'' if opposite else '^'}{one_of}]+")
        return self[key]


inputstream.characters_until_regex = _Compiled()


@dataclass
class Page:
    path: str
    status: int
    came_from: str
    words: str = ""
    mistakes: list[str] = field(default_factory=list)


def walk(client: Client, *starts: str, passing_by: Callable[[str], bool] = lambda path: False) -> list[Page]:
    """Every page that can be reached by links from `starts`, read once; those `passing_by` says yes to are left out."""
    waiting = deque((start, "") for start in starts)
    seen = set(starts)
    pages = []
    while waiting:
        path, came_from = waiting.popleft()
        answer = client.get(path, follow=True)
        page = Page(path, answer.status_code, came_from)
        pages.append(page)
        if answer.streaming:
            b"".join(answer.streaming_content)
            continue
        if not answer["Content-Type"].startswith("text/html"):
            continue
        parser = HTMLParser(namespace_html_elements=False)
        tree = parser.parse(answer.content.decode())
        # Browsers mend these silently, each in its own way. By the parsing rules of the HTML standard.
        page.mistakes = [f"{place}: {code} {facts}" for place, code, facts in parser.errors]
        page.words = " ".join(_words(tree))
        landed = answer.redirect_chain[-1][0] if answer.redirect_chain else path
        for link in _links(tree, landed):
            if link not in seen and not passing_by(link):
                seen.add(link)
                waiting.append((link, path))
        page.mistakes += [f"no such file: {name}" for name in _static(tree) if finders.find(name) is None]
        page.mistakes += [f"id used twice: {name}" for name in _doubled_ids(tree)]
    return pages


def _words(element) -> list[str]:
    if element.tag in UNSEEN:
        return [(element.tail or "").strip()]
    found = [(element.text or "").strip()]
    for name in ("value", "placeholder", "title", "alt", "aria-label"):
        found.append(element.get(name, "") if isinstance(element.tag, str) else "")
    for child in element:
        found += _words(child)
    return [words for words in [*found, (element.tail or "").strip()] if words]


def _links(tree, at: str) -> list[str]:
    found = []
    for element in tree.iter():
        target = element.get("href") if element.tag == "a" else element.get("src") if element.tag == "img" else None
        if not target or target.startswith(("mailto:", "tel:", "data:")):
            continue
        url = urlsplit(urljoin(HERE + at, urldefrag(target).url))
        if f"{url.scheme}://{url.netloc}" == HERE and not url.path.startswith("/static/"):
            found.append(url.path + (f"?{url.query}" if url.query else ""))
    return found


def _static(tree) -> list[str]:
    targets = [
        element.get("src") or element.get("href") or "" for element in tree.iter() if isinstance(element.tag, str)
    ]
    return [urlsplit(target).path.removeprefix("/static/") for target in targets if target.startswith("/static/")]


def _doubled_ids(tree) -> list[str]:
    ids = [element.get("id") for element in tree.iter() if isinstance(element.tag, str) and element.get("id")]
    return sorted({name for name in ids if ids.count(name) > 1})
