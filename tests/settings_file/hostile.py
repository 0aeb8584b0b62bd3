"""PDFs that nobody means well with, built by hand by ISO 32000-1, section 7."""

import zlib

GIGABYTE = 1 << 30


def zeros(size):
    """A zlib stream that unpacks to `size` zeros and never was that long itself: one block, over and over."""
    block_of = 1 << 20
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    block = packer.compress(bytes(block_of)) + packer.flush(zlib.Z_FULL_FLUSH)
    of_zeros = (size % 65521 << 16) | 1  # Adler-32 (RFC 1950, section 8)
    return b"\x78\xda" + block * (size // block_of) + b"\x03\x00" + of_zeros.to_bytes(4, "big")


def stream(content, entries=b""):
    return b"<< /Length %d %s >>\nstream\n%s\nendstream" % (len(content), entries, content)


def pdf(*objects, trailer=b"/Root 1 0 R"):
    """A PDF of `objects`, numbered from 1, with a plain cross-reference table."""
    made, places = b"%PDF-1.7\n", []
    for number, one in enumerate(objects, start=1):
        places.append(len(made))
        made += b"%d 0 obj\n%s\nendobj\n" % (number, one)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    start = len(made)
    size = len(objects) + 1
    return made + b"xref\n0 %d\n0000000000 65535 f \n%strailer\n<< /Size %d %s >>\nstartxref\n%d\n%%%%EOF\n" % (
        size,
        table,
        size,
        trailer,
        start,
    )


def with_file(content, entries=b"", name=b"car-settings.json", pages=0):
    """A PDF in which one file goes along."""
    return pdf(
        b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles 3 0 R >> >>",
        b"<< /Type /Pages /Kids [] /Count %d >>" % pages,
        b"<< /Names [(%s) 4 0 R] >>" % name,
        b"<< /Type /Filespec /F (%s) /EF << /F 5 0 R >> >>" % name,
        stream(content, entries),
    )


def bomb_in_the_file(size=10 * GIGABYTE):
    """The settings unpack, twice over, to `size`; the PDF itself is small."""
    return with_file(zlib.compress(zeros(size), 9), b"/Filter [/FlateDecode /FlateDecode]")


def bomb_in_an_object_stream(size=10 * GIGABYTE):
    """The catalogue lies in an object stream that unpacks to `size`, and is named by a cross-reference stream."""
    made = b"%PDF-1.7\n"
    inside = stream(zlib.compress(zeros(size), 9), b"/Type /ObjStm /N 1 /First 5 /Filter [/FlateDecode /FlateDecode]")
    place = len(made)
    made += b"2 0 obj\n%s\nendobj\n" % inside
    start = len(made)
    rows = [(0, 0, 65535), (2, 2, 0), (1, place, 0), (1, start, 0)]
    table = b"".join(bytes([kind]) + at.to_bytes(4, "big") + more.to_bytes(2, "big") for kind, at, more in rows)
    return made + b"3 0 obj\n%s\nendobj\nstartxref\n%d\n%%%%EOF\n" % (
        stream(table, b"/Type /XRef /Size 4 /W [1 4 2] /Root 1 0 R"),
        start,
    )


def names_in_a_circle():
    """A tree of names whose branch is the tree itself."""
    return pdf(
        b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles 3 0 R >> >>",
        b"<< /Type /Pages /Kids [] /Count 0 >>",
        b"<< /Kids [3 0 R] >>",
    )


def names_without_end(branches=30):
    """Each branch of the tree names the next one twice: 2 to the power of `branches` ways through it."""
    tree = [b"<< /Kids [%d 0 R %d 0 R] >>" % (number, number) for number in range(4, 4 + branches)]
    return pdf(
        b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles 3 0 R >> >>",
        b"<< /Type /Pages /Kids [] /Count 0 >>",
        *tree,
        b"<< /Names [] >>",
    )
