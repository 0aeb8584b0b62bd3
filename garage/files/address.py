"""Reads where the photographs and documents are kept."""

from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

KNOWN = {"endpoint": "endpoint_url", "region": "region_name"}


class FilesAddressError(SystemExit):
    """FILES_URL cannot be understood. Ends the start with the sentence alone."""


def storage_at(url: str, folder: Path) -> dict[str, Any]:
    """What Django's STORAGES takes: `folder` without a `url`, else the bucket of 's3://bucket/folder?endpoint=…'.

    Raises
    ------
    FilesAddressError
        Saying what is wrong with the `url`.
    """
    if not url:
        return {
            "BACKEND": "garage.files.storage.DurableStorage",
            "OPTIONS": {"location": str(folder), "base_url": None},
        }
    parts = urlsplit(url)
    asked = dict(parse_qsl(parts.query))
    if parts.scheme != "s3" or not parts.hostname or parts.username or set(asked) - set(KNOWN):
        raise FilesAddressError(
            "FILES_URL must read s3://bucket/folder?endpoint=https://store.example&region=name. "
            "Folder, endpoint and region may be left out; the keys stand in AWS_ACCESS_KEY_ID and "
            "AWS_SECRET_ACCESS_KEY."
        )
    options = {KNOWN[name]: value for name, value in asked.items()}
    return {
        "BACKEND": "garage.files.objects.ObjectStorage",
        "OPTIONS": {"bucket_name": parts.netloc, "location": parts.path.strip("/"), **options},
    }
