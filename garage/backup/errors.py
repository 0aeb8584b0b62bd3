"""What a backup says when it cannot be had."""


class BackupError(Exception):
    """A backup that cannot be made, read or restored; the text says why and what to do."""


class NotSentError(BackupError):
    """A backup that is made and proven, and not in the bucket; the text says why."""
