"""Pictures for the demo's photographs: plain drawings that say what a photograph would show."""

from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

SIZE = (1280, 960)
PAPER, INK, STEEL, SHADE = "#e8e4da", "#2c3440", "#9aa3ab", "#c9c5ba"


def drawn(title: str, car: str) -> BytesIO:
    """A drawing of an opened bonnet from above, with `title` and `car` written under it, as a JPEG file."""
    picture = Image.new("RGB", SIZE, PAPER)
    pen = ImageDraw.Draw(picture)
    pen.rounded_rectangle((90, 70, 1190, 690), radius=60, fill=SHADE, outline=INK, width=6)
    pen.rounded_rectangle((330, 200, 900, 560), radius=24, fill=STEEL, outline=INK, width=6)
    for place in range(4):
        left = 380 + place * 130
        pen.ellipse((left, 240, left + 70, 310), fill=PAPER, outline=INK, width=5)
        pen.line((left + 35, 275, 1010, 330), fill=INK, width=4)
    pen.ellipse((950, 290, 1070, 410), fill=PAPER, outline=INK, width=6)  # the distributor
    pen.rectangle((130, 480, 280, 640), fill=PAPER, outline=INK, width=6)  # the battery
    pen.rectangle((1020, 500, 1150, 570), fill=PAPER, outline=INK, width=6)  # the unit
    pen.text((90, 730), title, fill=INK, font=ImageFont.load_default(44))
    pen.text((90, 800), f"{car}: drawn for the demo, no photograph", fill=INK, font=ImageFont.load_default(34))
    file = BytesIO()
    picture.save(file, "JPEG", quality=80)
    file.seek(0)
    return file
