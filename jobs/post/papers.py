"""A paper that can go along with a mail, and reading it back as it was issued."""

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote

from garage.files.issued import read_stored
from garage.mail.sending import Attached
from jobs.post.models import MailAttachment


@dataclass(frozen=True, slots=True)
class Paper:
    """An issued PDF: what it is, as what the customer gets it, where it is stored, and where the workshop opens it."""

    label: str
    file_name: str
    stored_as: str
    sha256: str
    url: str


def attached(attachments: Iterable[MailAttachment]) -> tuple[Attached, ...]:
    """The papers byte for byte. Raises what `read_stored` does."""
    return tuple(Attached(one.file_name, read_stored(one.stored_as, one.sha256, one.file_name)) for one in attachments)


def mail_program_link(address: str, subject_line: str, text: str) -> str:
    """A `mailto:` address that opens a ready letter in the person's own mail program (RFC 6068). It carries no file."""
    lines = "\r\n".join(text.splitlines())
    return f"mailto:{quote(address, safe='@')}?subject={quote(subject_line, safe='')}&body={quote(lines, safe='')}"
