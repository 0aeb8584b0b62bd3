"""Refusals: one base for whatever the record does not allow, with the sentences for the person who asked."""

NOT_WHOLE = "The page arrived incomplete. Reload it and enter this again."


class RuleRefusedError(Exception):
    """An action that the record does not allow now. `reasons` are sentences for the person who asked for it.

    A view that has a form shows them beside it. Whatever no view catches is answered by
    `garage.site.middleware.RefusalsAreAnswered`.
    """

    def __init__(self, *reasons: str) -> None:
        super().__init__(" ".join(reasons))
        self.reasons = reasons
