"""Why nothing is taken from a file."""

from garage.record.refusals import RuleRefusedError


class SheetRefusedError(RuleRefusedError):
    """A file that is no sheet of ours, is not as it was written, or holds what cannot be. Says which."""
