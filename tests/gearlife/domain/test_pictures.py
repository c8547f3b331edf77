"""Pictures are rebuilt from their pixels, and nothing else is taken over."""

import io
import struct
from collections.abc import Iterator
from hashlib import sha256

import pytest
from PIL import Image

from gearlife.domain.errors import InvalidInputError, UnsupportedFormatError
from gearlife.domain.pictures import MOST_PIXELS, rebuild
from tests.gearlife.pictures import CANARY, LOADED, exif, picture, png_of


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


@pytest.mark.parametrize("size", [(MOST_PIXELS // 5000, 5001), (12_000, 12_000), (30_000, 30_000), (65_535, 65_535)])
def test_a_bomb_is_refused_by_its_announced_size(size: tuple[int, int]) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        rebuild(png_of(*size))

    assert refusal.value.faults[0].code == "too_many_pixels"


def test_a_real_bomb_of_a_few_kilobytes_is_refused() -> None:
    written = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(written, "PNG")

    assert len(written.getvalue()) < 50_000
    with pytest.raises(InvalidInputError):
        rebuild(written.getvalue())


@pytest.mark.parametrize("kind", ["WEBP", "PNG"])
def test_a_moving_picture_is_refused(kind: str) -> None:
    moving = picture(kind, save_all=True, append_images=[Image.new("RGB", (60, 40), (0, 0, 0))])
    with pytest.raises(InvalidInputError) as refusal:
        rebuild(moving)

    assert refusal.value.faults[0].code == "not_still"


def test_of_a_photograph_with_a_second_picture_beside_it_only_the_photograph_is_kept() -> None:
    beside = Image.new("RGB", (30, 20), (0, 0, 255))
    rebuilt = rebuild(picture("MPO", save_all=True, append_images=[beside]))

    assert (rebuilt.width, rebuilt.height) == (60, 40)
    assert len([marker for marker, _ in segments(rebuilt.jpeg) if marker == 0xD9]) == 1


@pytest.mark.parametrize(
    "content",
    [
        picture("GIF"),
        picture("TIFF"),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"<html><script>alert(1)</script></html>",
        b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic",
        b"%PDF-1.7",
        b"\xff\xd8",
    ],
    ids=["gif", "tiff", "svg", "html", "heic", "pdf", "two bytes"],
)
def test_any_other_kind_of_file_is_refused_by_its_content(content: bytes) -> None:
    with pytest.raises((UnsupportedFormatError, InvalidInputError)) as refusal:
        rebuild(content)

    assert isinstance(refusal.value, UnsupportedFormatError) or content == b"\xff\xd8"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_that_breaks_off_is_refused(kind: str) -> None:
    whole = picture(kind, size=(400, 300))
    with pytest.raises((InvalidInputError, UnsupportedFormatError)):
        rebuild(whole[: len(whole) * 2 // 3])
