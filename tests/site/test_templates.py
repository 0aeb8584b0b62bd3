"""The templates can be reviewed: one element a line, formatted by djlint, and nothing is worked out in them."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.template.base import Lexer, Token, TokenType

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
LONGEST_LINE = 140
MOST_FILTERS = 2
OPENING = {"if", "for", "with", "block", "comment"}
BETWEEN = {"elif", "else", "empty"}
# Django's own ways to reckon, and the filter that adds: figures and joined words come from the view or a tag.
RECKONING = re.compile(r"\bwidthratio\b|\|\s*(?:add|divisibleby|get_digit)\b")
STRING = re.compile(r"\"[^\"]*\"|'[^']*'")


def name_of(template: Path) -> str:
    return str(template.relative_to(ROOT / "templates"))


def lines_of(template: Path) -> list[tuple[str, str]]:
    lines = template.read_text(encoding="utf-8").splitlines()
    return [(f"{name_of(template)}:{number}", line) for number, line in enumerate(lines, start=1)]


def tags_in(text: str) -> list[Token]:
    return [token for token in Lexer(text).tokenize() if token.token_type in (TokenType.BLOCK, TokenType.VAR)]


def balance(line: str) -> list[int]:
    """How many blocks of the template language are open after each tag of the line that opens, parts or ends one."""
    depth, depths = 0, []
    for token in tags_in(line):
        word = token.contents.split()[0]
        if token.token_type is TokenType.BLOCK and (word in OPENING or word.removeprefix("end") in OPENING):
            depth += 1 if word in OPENING else -1
            depths.append(depth)
        elif token.token_type is TokenType.BLOCK and word in BETWEEN:
            depths.append(depth - 1)  # stands within the block that it parts
    return depths


def test_no_line_is_too_long_to_review():
    assert [place for path in TEMPLATES for place, line in lines_of(path) if len(line) > LONGEST_LINE] == []


def test_djlint_would_change_nothing():
    told = subprocess.run(
        [sys.executable, "-m", "djlint", "templates", "--check", "--quiet"], cwd=ROOT, capture_output=True, text=True
    )
    assert told.returncode == 0, told.stdout


def test_a_block_that_ends_on_another_line_has_its_tags_on_lines_of_their_own():
    def is_broken(line: str) -> bool:
        depths = balance(line)
        return bool(depths) and (depths[-1] != 0 or min(depths) < 0) and not re.fullmatch(r"\s*{%[^%]*%}", line)

    assert [place for path in TEMPLATES for place, line in lines_of(path) if is_broken(line)] == []


@pytest.mark.parametrize(
    ("line", "depths"),
    [
        ("<p>{% if a %}one{% endif %}</p>", [1, 0]),
        ("<p>{% if a %}one", [1]),
        ("{% endif %}</p>", [-1]),
        ("{% else %}two</span>", [-1]),
        ("{% if a %}one{% else %}two{% endif %}", [1, 0, 0]),
        ("{{ a|default:'if' }}", []),
    ],
)
def test_the_balance_of_a_line_is_counted_by_its_tags(line, depths):
    assert balance(line) == depths


def test_no_value_goes_through_more_than_two_filters():
    def longest_chain(token: Token) -> int:
        return max(part.count("|") for part in STRING.sub("", token.contents).split())

    chains = [
        f"{name_of(path)}: {token.contents}"
        for path in TEMPLATES
        for token in tags_in(path.read_text(encoding="utf-8"))
        if longest_chain(token) > MOST_FILTERS
    ]
    assert chains == []


def test_nothing_is_reckoned_in_a_template():
    reckoned = [
        f"{name_of(path)}: {token.contents}"
        for path in TEMPLATES
        for token in tags_in(path.read_text(encoding="utf-8"))
        if RECKONING.search(STRING.sub('""', token.contents))
    ]
    assert reckoned == []
