"""A photograph on its way into the record: checked by content, upright, without its data, of a sensible size.

Whatever comes in is decoded and drawn anew, so nothing of the file that was sent is ever stored or served: no location,
no comment, no script that only called itself a picture.
"""

import hashlib
import io
from dataclasses import dataclass
from typing import IO

from PIL import Image, ImageFile, ImageOps
from pillow_heif import register_heif_opener

from garage.record.refusals import RuleRefusedError
from garage.site.uploads import LARGEST_UPLOAD

register_heif_opener(thumbnails=False)

# A phone's largest common sensor has 48 to 50 million pixels; more would only fill the memory.
LARGEST_PIXELS = 51_000_000
LONGEST_SIDE = 2048
THUMBNAIL_SIDE = 320
FORMATS = ["JPEG", "PNG", "WEBP", "HEIF"]


class PhotographRefusedError(RuleRefusedError):
    """The upload is no photograph that can be kept. The message is a sentence for the person who sent it."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph ready to be stored: JPEG of the picture and of its thumbnail."""

    image: bytes
    thumbnail: bytes
    width: int
    height: int
    sha256: str


EMPTY = "Empty photograph. Take it again."
TOO_LARGE = "More than 25 MB. Take the photograph in a smaller size."
TOO_MANY_PIXELS = "Too many pixels; 50 million is the limit."
NOT_READABLE = "Not a readable photograph. Use JPEG, PNG, WebP or HEIC."
DAMAGED = "Damaged photograph. Take it again."


def prepared(upload: IO[bytes]) -> Picture:
    """The photograph in `upload`, drawn anew.

    Raises
    ------
    PhotographRefusedError
        If it is too large, not a JPEG, PNG, WebP or HEIC by its content, or damaged.
    """
    content = upload.read(LARGEST_UPLOAD + 1)
    if not content:
        raise PhotographRefusedError(EMPTY)
    if len(content) > LARGEST_UPLOAD:
        raise PhotographRefusedError(TOO_LARGE)
    picture = _opened(content)
    if picture.width * picture.height > LARGEST_PIXELS:
        raise PhotographRefusedError(TOO_MANY_PIXELS)
    picture = _decoded(picture)
    image, thumbnail = picture.copy(), picture
    image.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    thumbnail.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE), Image.Resampling.LANCZOS)
    stored = _jpeg(image, quality=85)
    return Picture(
        image=stored,
        thumbnail=_jpeg(thumbnail, quality=75),
        width=image.width,
        height=image.height,
        sha256=hashlib.sha256(stored).hexdigest(),
    )


def _opened(content: bytes) -> Image.Image:
    try:
        return Image.open(io.BytesIO(content), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise PhotographRefusedError(TOO_MANY_PIXELS) from None
    except Exception:
        # Decoders fail in ways of their own on hostile files; each of them means the same to the person.
        raise PhotographRefusedError(NOT_READABLE) from None


def _decoded(picture: Image.Image) -> Image.Image:
    try:
        # Setting documents (WeasyPrint, on import) tells Pillow to paint what is missing of a cut picture grey.
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        # A JPEG can be decoded at half or a quarter of its size, which spares the memory of a small computer.
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        picture.load()
        upright = ImageOps.exif_transpose(picture)
        return _in_plain_colour(upright)
    except Exception:
        # See above: a truncated file, a broken block, a lying header.
        raise PhotographRefusedError(DAMAGED) from None


def _in_plain_colour(picture: Image.Image) -> Image.Image:
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        with_alpha = picture.convert("RGBA")
        paper = Image.new("RGBA", with_alpha.size, "white")
        return Image.alpha_composite(paper, with_alpha).convert("RGB")
    return picture.convert("RGB")


def _jpeg(picture: Image.Image, *, quality: int) -> bytes:
    # A colour profile says how the colours are meant and nothing about where or when; everything else is left behind.
    profile = picture.info.get("icc_profile")
    picture.info = {}
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality, optimize=True, icc_profile=profile)
    return out.getvalue()
