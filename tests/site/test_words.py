"""One vocabulary on the screen: words that were given up do not come back, and no sentence is longer than a breath.

Searched are the templates and the strings of `garage`, `jobs` and the scripts that a person may read: labels, help,
refusals, messages, journal lines, states, choices, papers.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LONGEST_SENTENCE = 20
# Read at a desk or on a console, in full sentences: the shipped lists have a test of their own.
LONGER_SENTENCES = (
    "jobs/checklists/shipped/",
    "jobs/job/cautions.py",
    "jobs/demo/",
    "garage/lan/",
    "garage/management/",
)

# What is said no more, and what is said in its place.
GIVEN_UP = [
    (r"^(not )?stored\b(?!, key)|\bstored (by|now|this)\b|\bstore (the|my|mine|this|a|it)\b", "saved, Save"),
    (r"\b(take|takes|taken|taking) (it |the entry )?back\b", "undo, undone"),
    (r"\blet (it|this hold point) (pass|go)\b|\blet through\b", "override"),
    (r"\bsecond person\b", "second check"),
    (r"\b(in|out of|within) tolerance\b", "pass, fail"),
    (r"\bif wanted\b|\bwhat is wanted\b|^wanted\b", "optional, set, required"),
    (r"\bperson in\b|\btake this person\b", "Add person"),
    (r"\bat the bench\b|\bover the bench\b|\bbench PIN\b", "Signed in, Switch to me, PIN"),
    (r"\bas this device\b", "automatic"),
    (r"\bdue in\b|\bin hand\b", "Arriving, In the workshop"),
    (r"\bis told\b", "set in the unit"),
    (r"\bsittings?\b", "session"),
    (r"\bseen late\b|\blate by\b", "error, late, early"),
    (r"\bspeed (rising|falling)\b", "revs rising, revs falling"),
    (r"\bunderneath\b", "Overlay"),
    (r"\bpick (all|none)\b|\bramp between\b", "Select all, Straight line between ends"),
    (r"\bnodes?\b", "point"),
    (r"\bmanner of\b", "Limiter: soft or hard"),
    (r"\bset it aside\b", "Discard draft"),
    (r"\bnew thought\b", "Released versions do not change: start a new version"),
    (r"\btaken apart\b", "shows base + revs + vacuum"),
    (r"\brows rise\b", "rpm must increase from row to row"),
    (r"\bfindings wait\b", "Fix the red boxes first"),
    (r"\bunit gives\b|\bunit holds it\b", "unit delivers, as keyed in"),
    (r"\banew\b|\boffer it\b|\bdescribe (it|a unit)\b", "Revise, Withdraw, Add unit type"),
    (r"\brefit(ted)?\b", "Convert to another unit type"),
    (r"\bpatterns?\b(?!-)", "template curve"),
    (
        r"^maker\b|\b(positive|negative) to body\b|\bworking cycle\b|\bcap posts?\b",
        "Make, earth, two- or four-stroke, cap terminal",
    ),
    (r"\bcoil bears\b|\bgives when full\b", "Coil dissipation, max; Maximum vacuum advance"),
    (r"\bdegree tape\b|\bits like\b", "Diameter at the timing tape; finds similar engines"),
    (r"\bunit lives with\b|\bcontact faces\b|\bbreaker (as|closed|off)\b", "Positive-earth arrangement, points"),
    (r"\bmade dead\b|\b15 feed\b|\bfright\b|\bmend the\b", "Isolated; + (15) feed; the jolt; correct the record"),
    (r"\bdealt with\b|\bkeeps the rest\b", "Sheet complete; blocks the rest"),
    (r"\bmost (total )?advance\b|\bmay shift\b|\bmay differ by\b", "limit, allowed, tolerance"),
    (r"\bwriter\b|\bclear pinking\b|\bspeaks for\b", "Note-taker; Definite pinking; Suggested retard"),
    (r"\btake(n)? (it|the job) up\b|\bshut (all|the)\b", "Resume job; Cancel links"),
    (r"^together\b|\bprice of one\b", "Total; Unit price"),
    (r"\bplease\b|\blooked at by\b", "Safety; Second check by"),
    (r"\btelephone\b|\be-mail\b", "Phone, Email"),
    (r"\bas it stands\b|\bany more\b|\bno more\b(?! than)|\bin the meantime\b", "shorter words, or none"),
    (r"\bsomebody\b", "someone"),
    (r"\bseal\b", "checksum"),
    (r"\bthe board\b", "Today"),
]

TAG = re.compile(r"{%.*?%}|{{.*?}}|<[^<>]*>", re.DOTALL)
COMMENT = re.compile(r"{% comment %}.*?{% endcomment %}|{#.*?#}|<script\b.*?</script>", re.DOTALL)
SHOWN_ATTRIBUTE = re.compile(
    r"(?:aria-label|placeholder|title|alt|label|text|lead|source|words|missing|link|note)=\"([^\"{]*)\""
)
SHOWN_ARGUMENT = re.compile(r"{% (?:figure|state|badge|include|with|table_frame|hold_line|field)\b(.*?)%}", re.DOTALL)


def words_of_templates() -> Iterator[tuple[str, str]]:
    """Every template with the words it shows, a line for each run of text or attribute."""
    for path in sorted((ROOT / "templates").rglob("*.html")):
        text = COMMENT.sub(" ", path.read_text(encoding="utf-8"))
        attributes = SHOWN_ATTRIBUTE.findall(text)
        arguments = [quoted for tag in SHOWN_ARGUMENT.findall(text) for quoted in re.findall(r"\"([^\"]*)\"", tag)]
        # A tag within a sentence stands for a word of it; where a block of the template begins, another sentence does.
        running = re.sub(
            r"{{.*?}}|</?(?:strong|a|code|span|q|em)\b[^<>]*>", " … ", re.sub(r"{% (?!el|en|if).*?%}", " … ", text)
        )
        shown = [part for part in TAG.split(running) if re.search("[A-Za-z]{2}", part)]
        name = str(path.relative_to(ROOT))
        yield from ((name, " ".join(words.split())) for words in [*shown, *attributes, *arguments])


def strings_of_python() -> Iterator[tuple[str, str]]:
    """Every module of garage and jobs with its strings of more than one word, docstrings and migrations left out."""
    for path in sorted([*(ROOT / "garage").rglob("*.py"), *(ROOT / "jobs").rglob("*.py")]):
        if "migrations" in path.parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        unread = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr):
                unread |= {id(part) for part in node.values}
                pieces = [str(part.value) if isinstance(part, ast.Constant) else "…" for part in node.values]
                yield str(path.relative_to(ROOT)), "".join(pieces)
        for node in ast.walk(tree):
            is_words = isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value.strip()
            if is_words and id(node) not in unread:
                yield str(path.relative_to(ROOT)), node.value


def strings_of_scripts() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "static" / "js").rglob("*.js")):
        code = re.sub(r"/\*.*?\*/|(?<![:\"])//[^\n]*", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        for quoted in re.findall(r"\"([^\"\n]*)\"|`([^`\n]*)`", code):
            words = re.sub(r"\$\{[^{}]*\}", "…", "".join(quoted))
            if " " in words.strip() and "<" not in words:
                yield str(path.relative_to(ROOT)), words


@cache
def shown() -> list[tuple[str, str]]:
    """With its place, whatever a person may read; looked for when a test asks, not whenever tests are collected."""
    return [*words_of_templates(), *strings_of_python(), *strings_of_scripts()]


# Values in the database and in the messages of the tablets, and what an address or a statement of SQL is made of.
NOT_READ = {"let pass", "taken back", "set aside", "let through"}


@pytest.mark.parametrize(("said", "instead"), GIVEN_UP, ids=[instead for _, instead in GIVEN_UP])
def test_a_word_that_was_given_up_does_not_come_back(said, instead):
    found = [
        f"{place}: {words}"
        for place, words in shown()
        if words not in NOT_READ and re.search(said, words, re.IGNORECASE)
    ]
    assert found == [], f"say: {instead}"


def test_no_sentence_on_a_screen_is_longer_than_twenty_words():
    def sentences(words: str) -> list[str]:
        return re.split(r"(?<=[.?])\s+", words)

    long = [
        f"{place}: {sentence}"
        for place, words in shown()
        if not place.startswith(LONGER_SENTENCES) and not re.search(r"\b(SELECT|PRAGMA|CREATE|RAISE)\b", words)
        for sentence in sentences(words)
        if len(re.findall(r"[^\W\d_][\w’'-]*", sentence)) > LONGEST_SENTENCE
    ]
    assert long == []


def test_the_search_sees_templates_python_and_scripts():
    places = {place.split("/")[0] for place, _ in shown()}
    assert places == {"templates", "garage", "jobs", "static"}
    texts = {words for _, words in shown()}
    assert {"Switch person", "Sheet complete."} <= texts
    assert any("Wrong user name or password" in words for words in texts)
