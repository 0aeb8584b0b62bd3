"""What is wrong with a log, in a sentence that names the column or the row."""

from garage.record.refusals import RuleRefusedError


class LogRefusedError(RuleRefusedError):
    """The log cannot be taken in or read. Says why."""
