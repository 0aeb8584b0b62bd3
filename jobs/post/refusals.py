"""Why a mail is not put in."""

from garage.record.refusals import RuleRefusedError


class MailRefusedError(RuleRefusedError):
    """This mail cannot be put in, tried again or stopped now. Says why."""
