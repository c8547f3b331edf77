"""Pictures are rebuilt from their pixels, and nothing else is taken over."""

import io
import struct
import zlib
from collections.abc import Iterator
from hashlib import sha256
from typing import Any, cast

import pytest
from PIL import Image

from gearlife.domain.errors import InvalidInputError, UnsupportedFormatError
from gearlife.domain.pictures import MOST_PIXELS
from gearlife.domain.rebuilding import rebuild
from tests.gearlife.bad_pictures import BAD, flat_bomb
from tests.gearlife.pictures import ARTIST, CANARY, LOADED, chunk, exif, picture


def segments(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """The marker segments of a JPEG, read by hand after ITU-T T.81 annex B, without the library that wrote it."""
    assert jpeg[:2] == b"\xff\xd8"
    at = 2
    while True:
        marker, length = struct.unpack(">xBH", jpeg[at : at + 4])
        yield marker, jpeg[at + 4 : at + 2 + length]
        at += 2 + length
        if marker == 0xDA:
            break
    # In the scan every FF is followed by 00; the first that is not ends the picture.
    end = next(n for n in range(at, len(jpeg)) if jpeg[n] == 0xFF and jpeg[n + 1] != 0)
    yield jpeg[end + 1], jpeg[end + 2 :]


def pixel(jpeg: bytes) -> Any:
    return Image.open(io.BytesIO(jpeg)).convert("RGB").getpixel((4, 4))


@pytest.mark.parametrize("original", LOADED.values(), ids=LOADED)
def test_place_camera_comment_profile_and_what_hides_behind_the_end_are_gone(original: bytes) -> None:
    assert CANARY in original
    rebuilt = rebuild(original)
    found = list(segments(rebuilt.jpeg))

    assert CANARY not in rebuilt.jpeg
    # APP0 (JFIF), quantisation, frame, Huffman tables, scan, end; no APP1 (Exif, XMP), APP2 (ICC), COM.
    assert {marker for marker, _ in found} == {0xE0, 0xDB, 0xC0, 0xC4, 0xDA, 0xD9}
    assert found[-1] == (0xD9, b"")
    assert next(body for marker, body in found if marker == 0xE0).startswith(b"JFIF\x00")


def test_the_hashes_are_of_the_original_and_of_the_stored_file() -> None:
    original = LOADED["jpeg"]
    rebuilt = rebuild(original)

    assert rebuilt.original_sha256 == sha256(original).hexdigest()
    assert rebuilt.stored_sha256 == sha256(rebuilt.jpeg).hexdigest() != rebuilt.original_sha256


def test_a_picture_taken_sideways_is_turned_upright() -> None:
    rebuilt = rebuild(picture(size=(60, 40), exif=exif(orientation=6)))

    assert (rebuilt.width, rebuilt.height) == (40, 60)


@pytest.mark.parametrize("mode", ["L", "CMYK", "RGB"])
def test_pictures_in_other_colours_become_rgb(mode: str) -> None:
    written = io.BytesIO()
    Image.new(mode, (8, 8)).save(written, "JPEG")

    assert Image.open(io.BytesIO(rebuild(written.getvalue()).jpeg)).mode == "RGB"


def test_sixteen_bits_of_grey_look_as_they_did_in_eight() -> None:
    written = io.BytesIO()
    Image.new("I;16", (8, 8), 40_000).save(written, "PNG")

    # 40,000 of 65,535 is 155.6 of 255.
    assert pixel(rebuild(written.getvalue()).jpeg) == pytest.approx((156, 156, 156), abs=2)


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P"])
def test_what_is_transparent_lies_on_white_and_what_hides_below_stays_hidden(mode: str) -> None:
    written = io.BytesIO()
    hidden = Image.new("RGBA", (8, 8), (200, 10, 10, 0)).convert(mode)
    hidden.save(written, "PNG", **({"transparency": hidden.getpixel((0, 0))} if mode == "P" else {}))

    assert pixel(rebuild(written.getvalue()).jpeg) == pytest.approx((255, 255, 255), abs=2)


def test_sixteen_bits_of_colour_and_a_palette_keep_their_colours() -> None:
    palette = io.BytesIO()
    Image.new("RGB", (8, 8), (180, 30, 30)).quantize(4).save(palette, "PNG")
    rows = (b"\0" + struct.pack(">HHH", 180 * 257, 30 * 257, 30 * 257) * 8) * 8
    header = struct.pack(">IIBBBBB", 8, 8, 16, 2, 0, 0, 0)
    deep = [chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(rows)), chunk(b"IEND", b"")]

    for png in (palette.getvalue(), b"\x89PNG\r\n\x1a\n" + b"".join(deep)):
        assert pixel(rebuild(png).jpeg) == pytest.approx((180, 30, 30), abs=4)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_each_of_the_eight_orientations_ends_upright(orientation: int) -> None:
    """Exif 2.32, 4.6.4: where row 0 and column 0 of what is stored lie in what is seen."""
    stored = Image.new("RGB", (64, 32), (0, 0, 0))
    stored.paste((255, 255, 255), (0, 0, 16, 16))
    written = io.BytesIO()
    stored.save(written, "JPEG", quality=95, exif=exif(orientation=orientation))
    seen = Image.open(io.BytesIO(rebuild(written.getvalue()).jpeg)).convert("L")
    bottom = orientation in {3, 4, 7, 8}
    right = orientation in {2, 3, 6, 7}

    corner = (seen.width - 4 if right else 2, seen.height - 4 if bottom else 2)
    assert cast("int", seen.getpixel(corner)) > 200


def test_an_exif_as_large_as_it_can_be_is_gone() -> None:
    told = Image.Exif()
    told[ARTIST] = (CANARY * 2800).decode()

    assert CANARY not in rebuild(picture(exif=told.tobytes())).jpeg


def test_the_small_one_is_the_same_picture_within_480_pixels() -> None:
    rebuilt = rebuild(picture(size=(1600, 1200), exif=exif(orientation=6)))
    small = Image.open(io.BytesIO(rebuilt.thumbnail))

    assert small.size == (360, 480)
    assert pixel(rebuilt.thumbnail) == pytest.approx((180, 30, 30), abs=4)
    assert {marker for marker, _ in segments(rebuilt.thumbnail)} == {0xE0, 0xDB, 0xC0, 0xC4, 0xDA, 0xD9}


@pytest.mark.parametrize("name", BAD)
def test_a_file_that_is_no_photograph_is_refused(name: str) -> None:
    content, codes = BAD[name]
    with pytest.raises((InvalidInputError, UnsupportedFormatError)) as refusal:
        rebuild(content)

    assert refusal.value.code in codes


@pytest.mark.parametrize("side", [1, -1])
def test_the_most_pixels_are_taken_and_one_row_more_is_not(side: int) -> None:
    content = flat_bomb(10_000, MOST_PIXELS // 10_000 + (side > 0))
    if side > 0:
        with pytest.raises(InvalidInputError):
            rebuild(content)
    else:
        assert rebuild(content).height == MOST_PIXELS // 10_000


def test_of_a_photograph_with_a_second_picture_beside_it_only_the_photograph_is_kept() -> None:
    beside = Image.new("RGB", (30, 20), (0, 0, 255))
    rebuilt = rebuild(picture("MPO", save_all=True, append_images=[beside]))

    assert (rebuilt.width, rebuilt.height) == (60, 40)
    assert len([marker for marker, _ in segments(rebuilt.jpeg) if marker == 0xD9]) == 1
