"""The one family of refusals in `timing`."""


class TimingError(ValueError):
    """A figure that cannot be worked with. The message is a sentence for the person who typed it."""
