"""What a backup says when it cannot be had."""


class BackupError(Exception):
    """A backup that cannot be made, read or restored; the text says why and what to do."""
