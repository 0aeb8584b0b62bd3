"""A photograph on its way into the record: checked by content, upright, without its data, of a sensible size.

Whatever comes in is decoded and drawn anew, so nothing of the file that was sent is ever stored or served: no location,
no comment, no script that only called itself a picture.
"""

import hashlib
import io
import threading
from dataclasses import dataclass
from typing import IO

from PIL import Image, ImageFile, ImageOps
from pillow_heif import register_heif_opener

from garage.record.refusals import RuleRefusedError
from garage.site.uploads import LARGEST_UPLOAD

register_heif_opener(thumbnails=False)

# A phone's largest common sensor has 48 to 50 million pixels; more would only fill the memory. Four bytes each while
# decoded, and twice as much where colours have to be weighed by how transparent they are: phones make no such pictures.
LARGEST_PIXELS = 51_000_000
LARGEST_PIXELS_WITH_ALPHA = 16_000_000
# One at a time in each worker, or a few pictures at once fill the memory that one cannot.
_DECODING = threading.Lock()
LONGEST_SIDE = 2048
THUMBNAIL_SIDE = 320
# On paper three stand abreast, 58 mm each: some 250 dots an inch, finer than a printer's screen.
PAPER_SIDE = 560
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
    with _DECODING:
        image = _decoded(_opened(content))
    stored = _jpeg(image, quality=85)
    return Picture(
        image=stored,
        thumbnail=_thumbnail(image.copy()),
        width=image.width,
        height=image.height,
        sha256=hashlib.sha256(stored).hexdigest(),
    )


def thumbnail_of(stored: bytes) -> bytes:
    """The small picture of a photograph as it was stored."""
    return _thumbnail(Image.open(io.BytesIO(stored)))


def made_for_paper(stored: bytes) -> bytes:
    """A photograph as it was stored, in the size in which paper shows it; the same bytes from the same photograph.

    Raises
    ------
    PhotographRefusedError
        If what is stored is none that would be kept today.
    """
    with _DECODING:
        picture = _opened(stored)
        picture.draft("RGB", (PAPER_SIDE, PAPER_SIDE))
        picture.thumbnail((PAPER_SIDE, PAPER_SIDE), Image.Resampling.LANCZOS, reducing_gap=3.0)
        return _jpeg(picture, quality=75)


def _thumbnail(picture: Image.Image) -> bytes:
    picture.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE), Image.Resampling.LANCZOS)
    return _jpeg(picture, quality=75)


def _opened(content: bytes) -> Image.Image:
    """The picture with its size and colours known and nothing decoded yet."""
    try:
        picture = Image.open(io.BytesIO(content), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise PhotographRefusedError(TOO_MANY_PIXELS) from None
    except Exception:
        # Decoders fail in ways of their own on hostile files; each of them means the same to the person.
        raise PhotographRefusedError(NOT_READABLE) from None
    if picture.width * picture.height > (LARGEST_PIXELS_WITH_ALPHA if _has_alpha(picture) else LARGEST_PIXELS):
        raise PhotographRefusedError(TOO_MANY_PIXELS)
    return picture


def _has_alpha(picture: Image.Image) -> bool:
    return picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info


def _decoded(picture: Image.Image) -> Image.Image:
    """The picture upright, in plain colour, of the size that is kept: made small before anything else is done to it."""
    try:
        # Setting documents (WeasyPrint, on import) tells Pillow to paint what is missing of a cut picture grey.
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        # A JPEG can be decoded at half or a quarter of its size, which spares the memory of a small computer.
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        picture.load()
        if picture.mode == "P":
            picture = picture.convert("RGBA" if _has_alpha(picture) else "RGB")
        elif picture.mode not in ("RGB", "RGBA", "L", "LA"):
            picture = _in_plain_colour(picture)
        picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS, reducing_gap=3.0)
        return _in_plain_colour(ImageOps.exif_transpose(picture))
    except Exception:
        # See above: a truncated file, a broken block, a lying header.
        raise PhotographRefusedError(DAMAGED) from None


def _in_plain_colour(picture: Image.Image) -> Image.Image:
    if _has_alpha(picture):
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
