"""What stands in the way of a car that is to leave."""

from garage.record.refusals import RuleRefusedError


class HandoverRuleError(RuleRefusedError):
    """Something that must hold before a car is signed off or its papers are issued. Says what."""
