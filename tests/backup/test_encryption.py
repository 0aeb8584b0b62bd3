"""A passphrase keeps an archive: nothing of it is read, changed, moved or cut off without it.

The format is that of https://c2sp.org/age, version 1. `pyrage` (Rust's `age` crate) is another's program for it, and
what it writes and reads judges ours. RFC 7914: scrypt; RFC 8439: ChaCha20-Poly1305.
"""

import io
import os
import re
import tarfile
from pathlib import Path

import pyrage
import pytest

from garage.backup import archive, encryption, passphrase, restoring
from garage.backup.encryption import CHUNK, TAG, DecryptingReader, EncryptingWriter
from garage.backup.errors import BackupError
from garage.backup.soundness import unsound
from tests.backup.book import PAPER, everything_in, laid_out
from tests.backup.test_archive import AT
from tests.browser.real_server import ROOT

WORDS = "four words nobody guesses"


@pytest.fixture(autouse=True)
def _quick_key(monkeypatch):
    """What makes guessing slow would make the tests slow."""
    monkeypatch.setattr(encryption, "WORK", 4)


def encrypted(content: bytes) -> bytes:
    out = io.BytesIO()
    writer = EncryptingWriter(out, WORDS)
    for start in range(0, len(content), 7777):
        writer.write(content[start : start + 7777])
    writer.finish()
    return out.getvalue()


def decrypted(content: bytes, words: str = WORDS) -> bytes:
    reader = DecryptingReader(io.BytesIO(content), words, "the archive")
    return b"".join(iter(lambda: reader.read(10_000), b""))


SIZES = [0, 1, CHUNK - 1, CHUNK, CHUNK + 1, 3 * CHUNK, 200_000]


@pytest.mark.parametrize("size", SIZES)
def test_another_program_opens_what_we_encrypt(size):
    content = os.urandom(size)
    assert pyrage.passphrase.decrypt(encrypted(content), WORDS) == content
    assert decrypted(encrypted(content)) == content


def test_we_open_what_another_program_encrypts():
    content = os.urandom(200_000)
    assert decrypted(pyrage.passphrase.encrypt(content, WORDS)) == content


def refusal(content: bytes, words: str = WORDS) -> str:
    with pytest.raises(BackupError) as problem:
        decrypted(content, words)
    return str(problem.value)


def parts(content: bytes) -> tuple[bytes, list[bytes]]:
    """The header with its nonce, and the sealed chunks."""
    begins = content.index(b"\n", content.index(b"---")) + 1 + 16
    sealed = content[begins:]
    return content[:begins], [sealed[at : at + CHUNK + TAG] for at in range(0, len(sealed), CHUNK + TAG)]


def test_a_wrong_passphrase_is_said():
    assert refusal(encrypted(b"the book"), "three words guessed") == "The passphrase does not open the archive."


def test_chunks_that_changed_places_are_found():
    header, chunks = parts(encrypted(os.urandom(4 * CHUNK + 5)))
    swapped = [chunks[0], chunks[2], chunks[1], *chunks[3:]]
    assert "its parts are not in their order" in refusal(header + b"".join(swapped))


def test_a_chunk_that_was_left_out_or_doubled_is_found():
    header, chunks = parts(encrypted(os.urandom(4 * CHUNK + 5)))
    assert "not in their order" in refusal(header + b"".join([*chunks[:1], *chunks[2:]]))
    assert "not in their order" in refusal(header + b"".join([*chunks[:2], *chunks[1:]]))


@pytest.mark.parametrize("cut", [1, 5, CHUNK // 2])
def test_an_archive_cut_within_a_chunk_is_found(cut):
    assert "was cut short" in refusal(encrypted(os.urandom(3 * CHUNK))[:-cut])


def test_an_archive_cut_between_two_chunks_is_found():
    header, chunks = parts(encrypted(os.urandom(4 * CHUNK + 5)))
    assert "was cut short" in refusal(header + b"".join(chunks[:-1]))


def test_bytes_after_the_end_are_found():
    assert refusal(encrypted(os.urandom(CHUNK)) + b"more")


@pytest.mark.parametrize("line", range(4))
def test_a_changed_header_is_found(line):
    lines = encrypted(b"the book").split(b"\n", 4)
    lines[line] = lines[line][:-1] + (b"A" if lines[line][-1:] != b"A" else b"B")
    assert "\n" not in refusal(b"\n".join(lines))


def test_a_later_form_of_the_format_is_said():
    later = encrypted(b"the book").replace(b"/v1\n", b"/v2\n", 1)
    assert "in a form that this release does not know" in refusal(later)


def test_a_header_that_asks_for_all_memory_is_refused():
    greedy = re.sub(rb"(-> scrypt \S+) \d+", rb"\1 60", encrypted(b"the book"))
    assert "asks for more memory" in refusal(greedy)


@pytest.fixture
def source(tmp_path):
    return laid_out(tmp_path / "data")


@pytest.fixture
def made(source, tmp_path):
    (tmp_path / "shelf").mkdir()
    return archive.make(source, tmp_path / "shelf", at=AT, passphrase=WORDS)


def test_an_encrypted_archive_comes_back_as_it_was(made, tmp_path):
    assert made.name.endswith(".tar.age")
    restoring.restore(made, tmp_path / "new", check=unsound, passphrase=WORDS)
    assert everything_in(tmp_path / "new")["files/documents/label.pdf"] == PAPER


def test_nothing_of_the_book_can_be_read_in_it(made):
    assert b"label.pdf" not in made.read_bytes()
    assert b"SQLite" not in made.read_bytes()


def test_without_its_passphrase_it_says_that_it_is_encrypted(made, tmp_path):
    with pytest.raises(BackupError, match=r"is encrypted\. Name the file with its passphrase"):
        restoring.restore(made, tmp_path / "new", check=unsound)
    assert not (tmp_path / "new").exists()


def test_an_encrypted_archive_cut_short_leaves_no_half_book(made, tmp_path):
    made.write_bytes(made.read_bytes()[:-1])
    with pytest.raises(BackupError, match="was cut short"):
        restoring.restore(made, tmp_path / "new", check=unsound, passphrase=WORDS)
    assert not (tmp_path / "new").exists()


def test_nothing_plain_is_ever_on_the_other_disk(source, tmp_path, monkeypatch):
    """The copy of the database and the proof lie in the data folder, where the book is plain anyway."""
    (tmp_path / "shelf").mkdir()
    seen = []
    real = type(source.database).copied
    monkeypatch.setattr(
        type(source.database), "copied", lambda book, folder: (seen.append(folder), real(book, folder))[1]
    )
    made = archive.make(source, tmp_path / "shelf", at=AT, passphrase=WORDS)

    def look(book):
        with book.open_file("documents/label.pdf") as paper:
            seen.append(paper.name)
        return []

    restoring.prove(made, check=look, passphrase=WORDS, beside=source.folder)
    assert len(seen) == 2
    assert all(Path(place).is_relative_to(source.folder) for place in seen)


def test_the_recipe_for_opening_one_without_crankmark_works_as_it_is_printed(made, tmp_path):
    """The lines stand in DEVELOPERS.md; they know nothing of this project."""
    developers = (ROOT / "DEVELOPERS.md").read_text()
    recipe = re.search(r"```python\n(# open an encrypted backup.*?)```", developers, re.S)[1]
    lines = [line for line in recipe.splitlines() if line and not line.startswith(("#", "import", "from"))]
    assert ("garage" in recipe, len(lines)) == (False, 10)
    exec(recipe, {"ARCHIVE": str(made), "PASSPHRASE": WORDS, "PLAIN": str(tmp_path / "plain.tar")})  # noqa: S102
    with tarfile.open(tmp_path / "plain.tar") as tar:
        assert tar.extractfile("files/documents/label.pdf").read() == PAPER


def secret(tmp_path, content: bytes, mode: int = 0o600):
    file = tmp_path / "passphrase"
    file.write_bytes(content)
    file.chmod(mode)
    return file


def test_the_passphrase_is_the_first_line_of_its_file(tmp_path):
    assert passphrase.read(secret(tmp_path, f"{WORDS}\nkept in the safe\n".encode())) == WORDS


@pytest.mark.parametrize(
    ("content", "mode", "word"),
    [
        (WORDS.encode(), 0o644, "chmod 600"),
        (b"short\n", 0o600, "Use several words"),
        (b"", 0o600, "Use several words"),
        (b"\xff\xfe\xff\xfe and more\n", 0o600, "is no text"),
    ],
)
def test_a_file_that_keeps_no_passphrase_is_said(tmp_path, content, mode, word):
    with pytest.raises(BackupError, match=word):
        passphrase.read(secret(tmp_path, content, mode))


def test_a_file_with_the_passphrase_that_is_gone_is_said(tmp_path):
    with pytest.raises(BackupError, match="cannot be read"):
        passphrase.read(tmp_path / "nothing")
