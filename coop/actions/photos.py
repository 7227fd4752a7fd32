"""Photos: what a camera made, shrunk, upright, and with nothing in it but the picture."""

import struct
from io import BytesIO
from typing import Final

from PIL import Image, ImageCms, ImageOps

from coop.ledger.ports import ATTACHMENT_BYTES_MAX
from coop.ledger.schema import Slip

PHOTO_BYTES_MAX: Final = 12_000_000
PHOTO_PIXELS_MAX: Final = 16_000_000
JPEG_PIXELS_MAX: Final = 64_000_000
"""A JPEG is shrunk while it is read, the others lie whole in memory: 250 MB at worst."""

FORMATS: Final = ("JPEG", "PNG", "WEBP")
SIDES_PX: Final = (1600, 1200, 800, 600)
QUALITIES: Final = (85, 75, 65, 55)
"""Longest side and JPEG quality, tried in this order until the photo is small enough."""

_JPEG_START: Final = b"\xff\xd8"
_SHRINKABLE: Final = frozenset({"RGB", "L", "CMYK"})
_FLATTENED: Final = frozenset({"1", "LA", "P", "RGBA"})
_BOMBS: Final = (Image.DecompressionBombError, Image.DecompressionBombWarning)
_NO_PICTURE: Final = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    struct.error,
)
"""What Pillow raises for bytes that are no picture, or only the beginning of one."""


def shrunk(data: bytes) -> bytes:
    """
    Return a photo as a JPEG to keep, of an animation its first picture.

    The picture is turned as the camera says it was held, its colours are brought to sRGB, what
    is clear in it becomes white. Place, time, camera, thumbnail and all else that came with it
    are left behind.

    Args:
        data: JPEG, PNG or WebP of at most `PHOTO_BYTES_MAX`, and of at most `PHOTO_PIXELS_MAX`
            (a JPEG: `JPEG_PIXELS_MAX`).

    Returns:
        At most `ATTACHMENT_BYTES_MAX` bytes; the longest side is at most the first of
        `SIDES_PX`, and never longer than it was.

    Raises:
        Slip: With `not-a-photo` or `photo-too-large`, field "photo".
    """
    pixels_max = JPEG_PIXELS_MAX if data.startswith(_JPEG_START) else PHOTO_PIXELS_MAX
    too_large = Slip(
        "photo",
        "photo-too-large",
        megabytes=PHOTO_BYTES_MAX // 1_000_000,
        megapixels=pixels_max // 1_000_000,
    )
    if len(data) > PHOTO_BYTES_MAX:
        raise too_large
    try:
        with Image.open(BytesIO(data), formats=FORMATS) as opened:
            if opened.width * opened.height > pixels_max:
                raise too_large
            picture = _upright(opened)
    except _BOMBS:
        raise too_large from None
    except _NO_PICTURE:
        raise Slip("photo", "not-a-photo") from None
    tries = (_jpeg(picture, side, quality) for side in SIDES_PX for quality in QUALITIES)
    return next(one for one in tries if len(one) <= ATTACHMENT_BYTES_MAX)


def _upright(opened: Image.Image) -> Image.Image:
    """Return the bare pixels: sRGB, on white, turned as the camera was held."""
    if opened.mode not in _SHRINKABLE | _FLATTENED:
        raise ValueError(f"a picture of {opened.mode} is for instruments")
    picture = opened if opened.mode in _SHRINKABLE else opened.convert("RGBA")
    picture.thumbnail((SIDES_PX[0], SIDES_PX[0]))
    picture = ImageOps.exif_transpose(_in_srgb(picture))
    bare = Image.new("RGB", picture.size, "white")
    bare.paste(picture, mask=picture if picture.mode == "RGBA" else None)
    return bare


def _in_srgb(picture: Image.Image) -> Image.Image:
    """Bring the colours to sRGB; where the profile cannot be read they count as that."""
    profile = picture.info.get("icc_profile")
    if not profile:
        return picture
    mode = "RGBA" if picture.mode == "RGBA" else "RGB"
    try:
        own = ImageCms.ImageCmsProfile(BytesIO(profile))
        srgb = ImageCms.createProfile("sRGB")
        return ImageCms.profileToProfile(picture, own, srgb, outputMode=mode) or picture
    except (ImageCms.PyCMSError, OSError):
        return picture


def _jpeg(picture: Image.Image, side_px: int, quality: int) -> bytes:
    smaller = picture.copy()
    smaller.thumbnail((side_px, side_px))
    into = BytesIO()
    smaller.save(into, "JPEG", quality=quality, optimize=True, progressive=True)
    return into.getvalue()
