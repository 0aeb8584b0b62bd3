"""What happens to a file that is sent as a photograph. Pillow and pillow-heif decode; EXIF tags by CIPA DC-008."""

import io
import struct
import subprocess
import sys
import uuid
import zlib
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from PIL import Image
from pillow_heif import from_pillow

from garage.site.uploads import LARGEST_UPLOAD
from jobs.checklists.actions import record_photograph
from jobs.checklists.models import Entry, Outcome, Photograph
from jobs.checklists.photographs import DAMAGED, EMPTY, NOT_READABLE, TOO_MANY_PIXELS, PhotographRefusedError, prepared
from jobs.checklists.sheet import sheet_of
from tests.checklists.factories import enter, photograph, sheet_with, signed_by
from tests.pages import assert_not_found, assert_not_open

# EXIF tags (CIPA DC-008, table 3 and 12): orientation, and the pointer to the location.
ORIENTATION, GPS = 0x0112, 0x8825
LOOM = {"key": "loom", "kind": "photo"}


def with_location(orientation: int = 1) -> bytes:
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F] = "A phone of some maker"
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    return photograph(exif=exif.tobytes())


def heic() -> bytes:
    out = io.BytesIO()
    from_pillow(Image.open(io.BytesIO(photograph()))).save(out, format="HEIF")
    return out.getvalue()


def lying_png(width: int, height: int) -> bytes:
    """A PNG of a few bytes whose header claims `width` by `height` pixels: a bomb (PNG specification, 11.2.2)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    "content",
    [photograph(), photograph(format="PNG"), photograph(format="WEBP"), heic()],
    ids=["jpeg", "png", "webp", "heic"],
)
def test_every_format_of_a_phone_becomes_a_jpeg(content):
    picture = prepared(io.BytesIO(content))
    stored = Image.open(io.BytesIO(picture.image))
    assert (stored.format, stored.size) == ("JPEG", (640, 480))


def test_neither_location_nor_anything_else_of_the_camera_is_kept():
    content = with_location()
    assert Image.open(io.BytesIO(content)).getexif().get_ifd(GPS)  # it was there
    picture = prepared(io.BytesIO(content))
    for kept in (picture.image, picture.thumbnail):
        assert not Image.open(io.BytesIO(kept)).getexif()
        assert b"Exif" not in kept
        assert b"A phone of some maker" not in kept


def test_a_comment_in_the_file_is_not_kept():
    picture = prepared(io.BytesIO(photograph(comment=b"call me on 555")))
    assert b"call me" not in picture.image


def test_a_photograph_taken_with_the_phone_upright_is_stored_upright():
    # Orientation 6: the sensor lay on its side, turn a quarter clockwise to show (CIPA DC-008, 4.6.4).
    picture = prepared(io.BytesIO(with_location(orientation=6)))
    stored = Image.open(io.BytesIO(picture.image))
    assert stored.size == (480, 640)
    red_at_the_top, blue_at_the_bottom = stored.getpixel((240, 60)), stored.getpixel((240, 580))
    assert red_at_the_top[0] > 200 > red_at_the_top[2]
    assert blue_at_the_bottom[2] > 200 > blue_at_the_bottom[0]


def test_a_large_photograph_is_scaled_and_gets_a_thumbnail():
    picture = prepared(io.BytesIO(photograph(4000, 3000)))
    assert (picture.width, picture.height) == (2048, 1536)
    assert Image.open(io.BytesIO(picture.thumbnail)).size == (320, 240)


def test_what_shines_through_is_put_on_white():
    picture = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    out = io.BytesIO()
    picture.save(out, "PNG")
    stored = Image.open(io.BytesIO(prepared(io.BytesIO(out.getvalue())).image))
    assert min(stored.getpixel((20, 20))) > 250


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", EMPTY),
        (b"<script>alert(1)</script>", NOT_READABLE),
        (b"GIF89a" + b"\0" * 100, NOT_READABLE),
        (b"%PDF-1.7 " + b"\0" * 100, NOT_READABLE),
        (photograph()[:2000], DAMAGED),
        (photograph(format="PNG")[:-60], DAMAGED),
        (heic()[:-200], f"{DAMAGED}|{NOT_READABLE}"),
        (lying_png(9000, 9000), "50 million"),
        (lying_png(60000, 60000), f"{TOO_MANY_PIXELS}|{NOT_READABLE}"),
        (b"\xff\xd8\xff\xe0" + b"<html>" * 50, f"{NOT_READABLE}|{DAMAGED}"),
        (b"\0" * (LARGEST_UPLOAD + 1), "25 MB"),
    ],
    ids=["empty", "script", "gif", "pdf", "cut jpeg", "cut png", "cut heic", "bomb", "huge", "false", "too large"],
)  # fmt: skip
def test_what_is_no_sound_photograph_is_refused_with_a_sentence(content, sentence):
    with pytest.raises(PhotographRefusedError, match=sentence):
        prepared(io.BytesIO(content))


def test_a_script_hidden_behind_a_picture_does_not_survive():
    content = photograph() + b"<script>alert(1)</script>"
    assert b"<script>" not in prepared(io.BytesIO(content)).image


def taken(sheet, key, person, **more):
    more.setdefault("entry_id", uuid.uuid4())
    return record_photograph(
        sheet=sheet,
        key=key,
        id=more.pop("id", uuid.uuid4()),
        picture=prepared(io.BytesIO(photograph())),
        actor=signed_by(person),
        **more,
    )


@pytest.mark.django_db
class TestOnASheet:
    def test_a_photograph_answers_an_item_that_asks_for_one(self, mechanic):
        sheet = sheet_with([LOOM], person=mechanic)
        taken(sheet, "loom", mechanic)
        line = sheet_of(sheet).line("loom")
        assert line.is_done
        assert len(line.photographs) == 1

    def test_the_same_photograph_twice_is_one(self, mechanic):
        sheet = sheet_with([LOOM], person=mechanic)
        same = {"id": uuid.uuid4(), "entry_id": uuid.uuid4()}
        assert taken(sheet, "loom", mechanic, **same) == taken(sheet, "loom", mechanic, **same)
        assert (Photograph.objects.count(), Entry.objects.count()) == (1, 1)

    def test_a_photograph_of_another_item_leaves_it_open(self, mechanic):
        sheet = sheet_with([{"key": "fuse"}], person=mechanic)
        taken(sheet, "fuse", mechanic)
        line = sheet_of(sheet).line("fuse")
        assert line.is_open
        assert line.current.outcome == Outcome.NOTED

    def test_a_photograph_stays_in_sight_when_its_item_is_answered_later(self, mechanic):
        sheet = sheet_with([{"key": "fuse"}], person=mechanic)
        noted = taken(sheet, "fuse", mechanic).entry
        enter(sheet, "fuse", mechanic, replaces=[noted.pk])
        assert len(sheet_of(sheet).line("fuse").photographs) == 1

    def test_taking_the_entry_back_takes_its_photograph_out_of_sight_but_not_out_of_the_record(self, mechanic):
        sheet = sheet_with([LOOM], person=mechanic)
        entry = taken(sheet, "loom", mechanic).entry
        enter(sheet, "loom", mechanic, outcome=Outcome.WITHDRAWN, replaces=[entry.pk])
        assert sheet_of(sheet).line("loom").photographs == []
        assert Photograph.objects.count() == 1

    def test_an_item_that_asks_for_a_photograph_cannot_be_answered_without(self, mechanic):
        from jobs.checklists.actions import EntryRefusedError

        with pytest.raises(EntryRefusedError, match="needs a photograph"):
            enter(sheet_with([LOOM], person=mechanic), "loom", mechanic)

    def test_only_people_of_the_workshop_are_served_it(self, mechanic, front_desk, stranger, browser_of, client):
        photo = taken(sheet_with([LOOM], person=mechanic), "loom", mechanic)
        for address in (f"/jobs/photographs/{photo.pk}/", f"/jobs/photographs/{photo.pk}/small/"):
            served = browser_of(front_desk).get(address)
            assert served.status_code == 200
            assert served["Content-Type"] == "image/jpeg"
            assert served["X-Content-Type-Options"] == "nosniff"
            assert "no-cache" in served["Cache-Control"]
            assert Image.open(io.BytesIO(served.content)).format == "JPEG"
            assert_not_open(browser_of(stranger).get(address))
            assert client.get(address).status_code == 302
            assert client.get(address, headers={"Accept": "application/json"}).status_code == 401

    def test_an_unknown_photograph_is_a_quiet_404(self, mechanic, browser_of):
        assert_not_found(browser_of(mechanic).get(f"/jobs/photographs/{uuid.uuid4()}/"))

    def test_the_file_in_the_store_is_the_one_whose_hash_is_recorded(self, mechanic):
        import hashlib

        photo = taken(sheet_with([LOOM], person=mechanic), "loom", mechanic)
        with default_storage.open(photo.file.name) as stored:
            assert hashlib.sha256(stored.read()).hexdigest() == photo.sha256


def test_a_cut_photograph_is_refused_also_after_a_document_was_set():
    """WeasyPrint, once imported, tells Pillow to accept cut pictures: that must not open this door."""
    import weasyprint.images  # noqa: F401

    picture = io.BytesIO()
    Image.effect_noise((400, 300), 60).save(picture, "JPEG")
    with pytest.raises(PhotographRefusedError, match=DAMAGED):
        prepared(io.BytesIO(picture.getvalue()[:-4000]))


def flat_picture(mode: str, side: int) -> bytes:
    """A picture of one colour: few bytes to send, many to decode."""
    out = io.BytesIO()
    Image.new(mode, (side, side)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize("mode", ["RGBA", "LA"])
def test_a_transparent_picture_is_refused_from_fewer_pixels_on_for_it_takes_more_memory(mode):
    with pytest.raises(PhotographRefusedError, match="Too many pixels"):
        prepared(io.BytesIO(flat_picture(mode, 4100)))


PEAK_OF = """
import io, resource, sys
from jobs.checklists.photographs import prepared
content = sys.stdin.buffer.read()
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
prepared(io.BytesIO(content))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
"""


@pytest.mark.parametrize(("mode", "side"), [("RGB", 7100), ("P", 7100), ("1", 7100), ("I;16", 7100), ("RGBA", 3900)])
def test_no_picture_that_is_taken_needs_more_than_300_megabytes(mode, side):
    """Four bytes a pixel while decoded, and once more where the colours are converted (Pillow, 'Concepts: Modes')."""
    ran = subprocess.run(
        [sys.executable, "-c", PEAK_OF], input=flat_picture(mode, side), capture_output=True, check=True
    )
    assert int(ran.stdout) < 300 * 1024  # [kB]


@pytest.mark.parametrize("mode", ["P", "1", "L", "LA", "RGBA", "I;16", "CMYK"])
def test_a_picture_in_any_colours_becomes_a_plain_one(mode):
    out = io.BytesIO()
    Image.new(mode, (3000, 1000)).save(out, "JPEG" if mode == "CMYK" else "PNG")
    stored = Image.open(io.BytesIO(prepared(io.BytesIO(out.getvalue())).image))
    assert (stored.mode, stored.size) == ("RGB", (2048, 683))


@pytest.fixture
def in_the_record(mechanic):
    """A photograph in the record."""
    return record_photograph(
        sheet=sheet_with([LOOM], person=mechanic), key="loom", id=uuid.uuid4(), entry_id=uuid.uuid4(),
        actor=signed_by(mechanic), picture=prepared(io.BytesIO(photograph())),
    )  # fmt: skip


def change(file, damage):
    path = Path(file.path)
    content = bytearray(path.read_bytes())
    if damage == "flipped":
        content[len(content) // 2] ^= 1
        path.write_bytes(content)
    elif damage == "emptied":
        path.write_bytes(b"")
    else:
        path.unlink()


@pytest.mark.parametrize("damage", ["flipped", "emptied", "gone"])
def test_a_photograph_whose_bytes_changed_is_said_and_not_served_as_sound(browser_of, mechanic, in_the_record, damage):
    change(in_the_record.file, damage)
    answer = browser_of(mechanic).get(reverse("checklists:photograph", args=[in_the_record.pk]))
    assert answer.status_code == 404
    assert "photograph is" in answer.content.decode()


@pytest.mark.parametrize("damage", ["emptied", "gone"])
def test_a_lost_thumbnail_is_drawn_again_from_the_photograph(browser_of, mechanic, in_the_record, damage):
    change(in_the_record.thumbnail, damage)
    answer = browser_of(mechanic).get(reverse("checklists:photograph-small", args=[in_the_record.pk]))
    assert Image.open(io.BytesIO(answer.content)).size == (320, 240)


def test_a_lost_thumbnail_of_a_damaged_photograph_is_not_drawn(browser_of, mechanic, in_the_record):
    change(in_the_record.thumbnail, "gone")
    change(in_the_record.file, "flipped")
    answer = browser_of(mechanic).get(reverse("checklists:photograph-small", args=[in_the_record.pk]))
    assert answer.status_code == 404
