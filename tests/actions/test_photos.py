"""A photo is kept small, upright and bare; what is no photo is refused in words."""

import os
import struct
import zlib
from itertools import pairwise
from typing import Literal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageSequence

from coop.actions import photos
from coop.actions.photos import (
    JPEG_PIXELS_MAX,
    PHOTO_BYTES_MAX,
    PHOTO_PIXELS_MAX,
    SIDES_PX,
    shrunk,
)
from coop.ledger.ports import ATTACHMENT_BYTES_MAX
from coop.ledger.schema import Refused, Slip
from tests.support.photos import CAMERA, GREY, RED, drawn, opened, saved, taken

NOT_A_PHOTO = Refused(field="photo", code="not-a-photo")
JPEG_KEPT = {0xC0, 0xC2, 0xC4, 0xDA, 0xDB, 0xE0}
"""ITU-T T.81, table B.1: frames, tables, scans; and the JFIF header (ITU-T T.871)."""


def refused(data: bytes) -> Refused:
    with pytest.raises(Slip) as slip:
        shrunk(data)
    return slip.value.refused


def colour_at(picture: Image.Image, x: float, y: float) -> tuple[int, ...]:
    """Return the colour at a place, from 0 to 1 across and down."""
    found = picture.getpixel((int(x * (picture.width - 1)), int(y * (picture.height - 1))))
    assert isinstance(found, tuple)
    return found


def near(colour: tuple[int, ...], other: tuple[int, ...], off: int = 6) -> bool:
    return all(abs(a - b) <= off for a, b in zip(colour, other, strict=True))


def segments(data: bytes) -> set[int]:
    """Return the kinds of segment in a JPEG up to its first scan (ITU-T T.81, B.1.1)."""
    found, at = set(), 2
    while data[at + 1] != 0xDA:
        assert data[at] == 0xFF
        found.add(data[at + 1])
        at += 2 + int.from_bytes(data[at + 2 : at + 4])
    return found


# What is kept


def test_a_photo_taken_on_its_side_comes_out_upright_and_small():
    """4000 by 3000 with the top at the right: the red corner is at the upper right, seen."""
    picture = opened(shrunk(taken()))

    assert (picture.format, picture.mode) == ("JPEG", "RGB")
    assert picture.size == (1200, 1600)
    assert near(colour_at(picture, 0.75, 0.25), RED)
    for x, y in ((0.25, 0.25), (0.25, 0.75), (0.75, 0.75)):
        assert near(colour_at(picture, x, y), GREY)


def test_nothing_goes_with_the_picture():
    """Where somebody lives stands in a photo from their kitchen; it must not get in."""
    before, after = taken(), shrunk(taken())

    assert CAMERA.encode() in before
    assert b"Exif" in before
    assert not opened(after).getexif()
    assert set(opened(after).info) <= {
        "jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression",
    }  # fmt: skip
    assert segments(after) <= JPEG_KEPT
    for told in (b"Exif", b"GPS", b"xmp", b"ICC_PROFILE", CAMERA.encode(), b"2025"):
        assert told not in after


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "JPEG", "MPO"])
def test_each_kind_of_photo_loses_what_came_with_it(kind):
    """Telephones make all four; the last is a JPEG with a second picture behind it."""
    exif = Image.Exif()
    exif[0x010F] = CAMERA
    more = {"save_all": True, "append_images": [drawn()]} if kind == "MPO" else {}
    before = saved(drawn(), kind, exif=exif, **more)

    after = shrunk(before)

    assert CAMERA.encode() in before
    assert CAMERA.encode() not in after
    assert opened(after).size == (400, 300)
    assert near(colour_at(opened(after), 0.25, 0.25), RED, off=12)


@pytest.mark.parametrize("kind", ["GIF", "TIFF", "BMP", "ICO"])
def test_other_kinds_of_picture_are_refused(kind):
    """Each kind that is read is one more reader that strangers' bytes go through."""
    assert refused(saved(drawn(), kind)) == NOT_A_PHOTO


@pytest.mark.parametrize("kind", ["WEBP", "PNG"])
def test_of_an_animation_the_first_picture_is_taken(kind):
    blue = Image.new("RGB", (400, 300), (0, 0, 250))
    moving = saved(drawn(), kind, save_all=True, append_images=[blue], duration=50)

    assert len(list(ImageSequence.Iterator(opened(moving)))) == 2
    assert near(colour_at(opened(shrunk(moving)), 0.25, 0.25), RED, off=12)


def test_a_small_photo_is_not_blown_up():
    assert opened(shrunk(saved(drawn(40, 30)))).size == (40, 30)


def test_a_long_strip_keeps_its_shape():
    """A whole sheet photographed in a row: 20 to 1, and never less than a pixel."""
    assert opened(shrunk(saved(drawn(8000, 400)))).size == (SIDES_PX[0], 80)
    assert opened(shrunk(saved(drawn(8000, 2)))).size == (SIDES_PX[0], 1)


@pytest.mark.parametrize("side_px", [SIDES_PX[-1], 800, 1601])
def test_the_busiest_picture_there_can_be_is_small_enough(side_px):
    """Every dot black or white by chance in each colour: no photo packs worse."""
    chance = bytes(255 * (one & 1) for one in os.urandom(3 * side_px * side_px))
    small = shrunk(saved(Image.frombytes("RGB", (side_px, side_px), chance), "PNG"))

    assert len(small) <= ATTACHMENT_BYTES_MAX


def test_quality_is_given_up_before_size():
    """Fine combing needs its pixels more than its last shade."""
    soft = Image.effect_noise((240, 180), 60).resize((1600, 1200))
    small = shrunk(saved(Image.merge("RGB", [soft] * 3)))

    assert opened(small).size == (1600, 1200)
    assert len(small) <= ATTACHMENT_BYTES_MAX


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK"])
def test_every_way_of_keeping_colours_is_read(mode):
    """Black stays black in each: scans are grey, screens have clear parts, print is inked."""
    black = Image.new("RGB", (40, 30)).convert(mode)
    data = saved(black, "JPEG" if mode == "CMYK" else "PNG")

    assert near(colour_at(opened(shrunk(data)), 0.5, 0.5), (0, 0, 0))


def test_what_is_clear_becomes_white():
    """JPEG knows no clear; left alone it would come out black."""
    clear = Image.new("RGBA", (40, 30), (255, 0, 0, 0))

    assert near(colour_at(opened(shrunk(saved(clear, "PNG"))), 0.5, 0.5), (255, 255, 255))


def test_a_picture_with_sixteen_bits_of_grey_is_refused():
    """Instruments make them; read as a photo it would be white all over."""
    assert refused(saved(Image.new("I;16", (40, 30), 40_000), "PNG")) == NOT_A_PHOTO


def test_colours_of_another_profile_are_brought_to_srgb():
    """
    The profile is left behind, so the colours must say by themselves what they are. In this
    one red and blue have changed places (ICC.1, 9.2: rXYZ and bXYZ in the table of tags).
    """
    swapped = profile("sRGB").replace(b"rXYZ", b"....").replace(b"bXYZ", b"rXYZ")
    swapped = swapped.replace(b"....", b"bXYZ")

    picture = opened(shrunk(saved(drawn(), icc_profile=swapped)))

    assert near(colour_at(picture, 0.25, 0.25), RED[::-1], off=8)
    assert near(colour_at(picture, 0.75, 0.75), GREY)


@pytest.mark.parametrize("unfit", ["a profile of Lab", "no profile"])
def test_a_profile_that_does_not_fit_leaves_the_colours_as_they_are(unfit):
    """What a browser would do with it too; the photo is worth more than its last shade."""
    icc_profile = profile("LAB") if unfit == "a profile of Lab" else unfit.encode()

    picture = opened(shrunk(saved(drawn(), icc_profile=icc_profile)))

    assert near(colour_at(picture, 0.25, 0.25), RED)


def profile(space: Literal["LAB", "sRGB"]) -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile(space)).tobytes()


# What is refused


@pytest.mark.parametrize(
    "data",
    [b"", b"not a photo at all\n", b"\xff\xd8", b"%PDF-1.7\n", b"<svg xmlns='x'/>", b"\0" * 99],
    ids=["empty", "text", "two bytes", "document", "drawing", "noughts"],
)
def test_what_is_no_photo_is_refused(data):
    assert refused(data) == NOT_A_PHOTO


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("part", [0.05, 0.5, 0.9])
def test_the_beginning_of_a_photo_is_refused(kind, part):
    """A line that broke: half a fault is worse than none, and the whole one can be sent."""
    noisy = Image.effect_noise((300, 300), 60).convert("RGB")
    whole = saved(noisy, kind)

    assert refused(whole[: int(part * len(whole))]) == NOT_A_PHOTO


def png_of(width_px: int, height_px: int) -> bytes:
    """Return a PNG (W3C PNG, chapter 5) that says it is so large, with nothing in it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data))
            + kind
            + data
            + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            chunk(b"IHDR", head),
            chunk(b"IDAT", zlib.compress(b"")),
            chunk(b"IEND", b""),
        )
    )


def jpeg_of(width_px: int, height_px: int) -> bytes:
    """Return a JPEG whose frame header says it is so large (ITU-T T.81, B.2.2)."""
    data = saved(drawn(16, 16))
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", height_px, width_px) + data[at + 4 :]


def too_large(pixels_max: int) -> Refused:
    limits = (("megabytes", "12"), ("megapixels", str(pixels_max // 1_000_000)))
    return Refused(field="photo", code="photo-too-large", limits=limits)


@pytest.mark.parametrize("side_px", [4_001, 10_000, 50_000])
def test_a_few_bytes_that_unpack_to_a_house_are_refused(side_px):
    """From just over the limit, past where Pillow warns, to where it refuses by itself."""
    assert refused(png_of(side_px, side_px)) == too_large(PHOTO_PIXELS_MAX)


@pytest.mark.parametrize("side_px", [8_001, 10_000, 50_000])
def test_a_jpeg_may_be_larger_but_not_by_much(side_px):
    assert refused(jpeg_of(side_px, side_px)) == too_large(JPEG_PIXELS_MAX)


def test_a_photo_at_the_limit_of_pixels_is_read():
    """4000 by 4000 as a PNG."""
    assert opened(shrunk(saved(drawn(4_000, 4_000), "PNG", compress_level=1))).width == 1600


def test_a_file_of_too_many_bytes_is_not_even_looked_at():
    photo = saved(drawn())

    assert shrunk(photo.ljust(PHOTO_BYTES_MAX, b"\0"))
    assert refused(photo.ljust(PHOTO_BYTES_MAX + 1, b"\0")) == too_large(JPEG_PIXELS_MAX)


NOISY = Image.effect_noise((24, 24), 60).convert("RGB")
WHOLE = [saved(NOISY, kind) for kind in ("JPEG", "PNG", "WEBP")]


@given(
    whole=st.sampled_from(WHOLE),
    harm=st.lists(
        st.tuples(st.integers(0, 10_000), st.integers(0, 255)), min_size=1, max_size=6
    ),
)
@example(whole=WHOLE[1], harm=[(19, 0)])
def test_a_harmed_file_is_read_or_refused_and_nothing_else(whole, harm):
    """Pillow has many ways to say no; each must come out as one of our two."""
    data = bytearray(whole)
    for at, byte in harm:
        data[at % len(data)] = byte

    try:
        told = opened(shrunk(bytes(data))).format
    except Slip as slip:
        told = slip.refused.code

    assert told in {"JPEG", "not-a-photo", "photo-too-large"}


def test_the_limits_grow_less_from_try_to_try():
    """Else the first that fits would not be the best one."""
    assert all(more > less for more, less in pairwise(photos.SIDES_PX))
    assert all(more > less for more, less in pairwise(photos.QUALITIES))
