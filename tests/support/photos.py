"""Photos as cameras make them, drawn here: one red corner, so that up can be told from down."""

from io import BytesIO
from typing import Any

from PIL import Image
from PIL.ExifTags import GPS, IFD, Base

GREY = (120, 120, 120)
RED = (200, 30, 30)
CAMERA = "Invented Camera 7"
TURNED_RIGHT = 6  # EXIF 2.32, table 6: row 0 is the right-hand side of what was seen


def saved(picture: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    """Return a picture as a file of a kind."""
    into = BytesIO()
    picture.save(into, kind, **options)
    return into.getvalue()


def drawn(width_px: int = 400, height_px: int = 300) -> Image.Image:
    """Return a grey picture whose upper left quarter is red."""
    picture = Image.new("RGB", (width_px, height_px), GREY)
    picture.paste(RED, (0, 0, width_px // 2, height_px // 2))
    return picture


def taken() -> bytes:
    """
    Return a large photo, taken with the camera on its side.

    It says where, when and with what it was taken, and has a remark and a thumbnail.
    """
    exif = Image.Exif()
    exif[Base.Orientation] = TURNED_RIGHT
    exif[Base.Model] = CAMERA
    exif[Base.DateTime] = "2025:09:17 18:00:00"
    where = exif.get_ifd(IFD.GPSInfo)
    where[GPS.GPSLatitudeRef], where[GPS.GPSLatitude] = "N", (12.0, 34.0, 56.0)
    where[GPS.GPSLongitudeRef], where[GPS.GPSLongitude] = "E", (65.0, 43.0, 21.0)
    remark = f"taken with {CAMERA}"
    xmp = f'<x:xmpmeta xmlns:x="adobe:ns:meta/">{CAMERA}</x:xmpmeta>'
    return saved(drawn(4000, 3000), exif=exif, comment=remark.encode(), xmp=xmp.encode())


def opened(data: bytes) -> Image.Image:
    """Return the picture in a file, read to its end."""
    picture = Image.open(BytesIO(data))
    picture.load()
    return picture
