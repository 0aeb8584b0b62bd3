"""Where each mail stands, and which failed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AnonymousUser, PermissionsMixin
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from garage.lists.pages import KeyedPage, page_by_key
from jobs.job.models import Job
from jobs.post.models import FAILURES, Mail, MailKind, MailStep, StepKind

MARKS = {"sent": "good", "sent by hand": "good", "failed": "stop", "waiting": "hold", "stopped": "abandoned"}
STATES = {
    StepKind.SENT: "sent",
    StepKind.BY_HAND: "sent by hand",
    StepKind.REFUSED: "failed",
    StepKind.GIVEN_UP: "failed",
    StepKind.STOPPED: "stopped",
}
FAILED_IN_ORDER, A_PAGE = ("put_in_at", "pk"), 40
# Tries of these are money, and nothing for the mechanics' pages.
OF_MONEY = (MailKind.QUOTE, MailKind.BILL)


@dataclass(frozen=True, slots=True)
class Standing:
    """Where one mail stands, by its steps in their order."""

    mail: Mail
    steps: Sequence[MailStep]

    @property
    def last(self) -> MailStep | None:
        return self.steps[-1] if self.steps else None

    @property
    def state(self) -> str:
        """Where it stands, in one or two words."""
        return STATES.get(StepKind(self.last.kind), "waiting") if self.last else "waiting"

    @property
    def mark(self) -> str:
        """The sign that stands beside the state."""
        return MARKS[self.state]

    @property
    def waits(self) -> bool:
        return self.state == "waiting"

    @property
    def failed(self) -> bool:
        return self.state == "failed"

    @property
    def wanted_since(self) -> datetime:
        """When it was put in, or somebody last asked for another try."""
        asked = [step.made_at for step in self.steps if step.kind == StepKind.ASKED_AGAIN]
        return asked[-1] if asked else self.mail.put_in_at

    @property
    def sentence(self) -> str:
        """What came of it last, in words."""
        if self.last is None or self.last.kind in (StepKind.BEGUN, StepKind.ASKED_AGAIN):
            return "Goes out within a minute."
        if self.last.again_at:
            return f"{self.last.sentence} Next try {_moment(self.last.again_at)}."
        return self.last.sentence

    @property
    def shown_steps(self) -> list[MailStep]:
        """What came of each try; that one was begun only while nothing has."""
        return [step for step in self.steps if step.kind != StepKind.BEGUN or step is self.last]

    @property
    def tries(self) -> int:
        return sum(step.kind == StepKind.BEGUN for step in self.steps)


def _moment(at: datetime) -> str:
    there = timezone.localtime(at)
    return date_format(there, "H:i" if there.date() == timezone.localdate() else "j M, H:i")


def standings_of(mails: QuerySet[Mail]) -> list[Standing]:
    """Where each of `mails` stands, asked for together."""
    found = mails.select_related("job__vehicle").prefetch_related("steps")
    return [Standing(mail, list(mail.steps.all())) for mail in found]


def standing_of(mail: Mail) -> Standing:
    return Standing(mail, list(mail.steps.select_related("by")))


def kinds_for(user: PermissionsMixin | AnonymousUser) -> list[MailKind]:
    """The kinds of mail that `user` sends and sees."""
    return [kind for kind in MailKind if kind not in OF_MONEY or user.has_perm("garage.keep_costs")]


def mails_of(job: Job, kinds: Iterable[MailKind]) -> list[Standing]:
    """The mails of `job`, newest first."""
    return standings_of(job.mails.filter(kind__in=list(kinds)))


def mails_about(kind: str, pk: int) -> list[Standing]:
    """The mails about a quote or a bill, newest first."""
    return standings_of(Mail.objects.filter(subject_kind=kind, subject_id=pk))


@dataclass(frozen=True, slots=True)
class FailedMails:
    """The first mails of those that failed, and how many more there are."""

    first: Sequence[Standing]
    more: int


def failed_mails(kinds: Iterable[MailKind]) -> QuerySet[Mail]:
    """The mails that failed and that nobody has dealt with."""
    later = MailStep.objects.filter(mail=OuterRef("mail"), place__gt=OuterRef("place"))
    open_failures = MailStep.objects.filter(~Exists(later), kind__in=FAILURES)
    return Mail.objects.filter(pk__in=open_failures.values("mail"), kind__in=list(kinds))


def first_failed(kinds: Iterable[MailKind], *, most: int) -> FailedMails:
    """The mails that failed and that nobody has dealt with, the longest first."""
    failed = failed_mails(kinds)
    first = standings_of(failed.order_by(*FAILED_IN_ORDER)[:most])
    return FailedMails(first, failed.count() - len(first) if len(first) == most else 0)


def page_of_failed(kinds: Iterable[MailKind], asked: Mapping[str, str]) -> tuple[KeyedPage[Mail], list[Standing]]:
    """A page of all the mails that failed, and where each of them stands."""
    page = page_by_key(failed_mails(kinds), asked, order=FAILED_IN_ORDER, length=A_PAGE)
    standings = {one.mail.pk: one for one in standings_of(Mail.objects.filter(pk__in=[mail.pk for mail in page]))}
    return page, [standings[mail.pk] for mail in page]
