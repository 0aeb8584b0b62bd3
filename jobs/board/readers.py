"""The registry of readers: what the rooms answer for on the check-lists."""

from jobs.fitting import readers as fitting
from jobs.inspection import readers as inspection
from jobs.strobe import readers as strobe

READERS = (*inspection.READERS, *fitting.READERS, *strobe.READERS)
