"""Where each mail stands, and which failed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AnonymousUser, PermissionsMixin
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

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


def failed_mails(kinds: Iterable[MailKind], *, most: int) -> list[Standing]:
    """The mails that failed and that nobody has dealt with, the longest first."""
    later = MailStep.objects.filter(mail=OuterRef("mail"), place__gt=OuterRef("place"))
    open_failures = MailStep.objects.filter(~Exists(later), kind__in=FAILURES, mail__kind__in=list(kinds))
    keys = open_failures.order_by("made_at").values_list("mail", flat=True)[:most]
    return standings_of(Mail.objects.filter(pk__in=list(keys)).order_by("put_in_at", "pk"))
