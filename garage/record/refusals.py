"""Refusals that no form can show beside a field: the page of a 409 says the sentence, whatever view was on the way."""

from django.core.exceptions import PermissionDenied

NOT_WHOLE = "The page arrived incomplete. Reload it and enter this again."


class RuleRefusedError(PermissionDenied):
    """A deed that the record does not allow as things stand. The message is for the person who asked for it."""
