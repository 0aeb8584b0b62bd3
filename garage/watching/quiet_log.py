"""What a guest does wrong is one line of the log: a dropped upload, a strange host name, a cut-off form."""

import logging

from django.core.exceptions import BadRequest, SuspiciousOperation


class WithoutTracebacksOfGuests(logging.Filter):
    """Takes the traceback off such a line. Whatever broke here keeps its own."""

    def filter(self, record: logging.LogRecord) -> bool:
        if record.exc_info and isinstance(record.exc_info[1], BadRequest | SuspiciousOperation):
            record.exc_info = record.exc_text = None
        return True
