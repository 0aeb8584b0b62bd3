"""What proves that a file is as it was written: SHA-256 over the canonical form of JSON (RFC 8785)."""

import hashlib
from collections.abc import Mapping
from typing import Any

import rfc8785

OF_THE_MAP, OF_ALL = "map_sha256", "sha256"


def digest_of_map(settings: Mapping[str, Any]) -> str:
    """Of the part `map`, by which two papers are seen to hold the same map."""
    return _digest(settings["map"])


def digest_of_all(settings: Mapping[str, Any]) -> str:
    """Of everything but itself."""
    return _digest({name: value for name, value in settings.items() if name != OF_ALL})


def _digest(value: Any) -> str:
    return hashlib.sha256(rfc8785.dumps(value)).hexdigest()
