"""Photographs: what comes in is rebuilt from its pixels, and only who may see the club sees the picture."""

import io
import struct
import zlib
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from gearlife.domain.errors import InvalidInputError, UnsupportedFormatError
from gearlife.domain.ids import uuid7
from gearlife.domain.pictures import MOST_PIXELS, rebuild
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Photo
from tests import factories
from tests.gearlife.api.base_probe import Caller, pointers

CANARY = b"CANARY-51.4779N-0.0015W"
ORIENTATION, ARTIST, GPS = 0x0112, 0x013B, 0x8825


def picture(kind: str = "JPEG", size: tuple[int, int] = (60, 40), **options: Any) -> bytes:
    written = io.BytesIO()
    Image.new("RGB", size, (180, 30, 30)).save(written, kind, **options)
    return written.getvalue()


def exif(**tags: Any) -> bytes:
    told = Image.Exif()
    told[ARTIST] = CANARY.decode()
    told[ORIENTATION] = tags.get("orientation", 1)
    told.get_ifd(GPS).update({1: "N", 2: (51.0, 28.0, 40.0), 29: CANARY.decode()})
    return told.tobytes()


def png_with_everything() -> bytes:
    text = PngInfo()
    text.add_text("Comment", CANARY.decode())
    text.add_itxt("XML:com.adobe.xmp", CANARY.decode())
    return picture("PNG", pnginfo=text, icc_profile=CANARY * 8, exif=exif())


LOADED = {
    "jpeg": picture(exif=exif(), comment=CANARY, icc_profile=CANARY * 8, xmp=CANARY) + CANARY,
    "png": png_with_everything() + CANARY,
    "webp": picture("WEBP", exif=exif(), icc_profile=CANARY * 8, xmp=CANARY),
}


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


def png_of(width: int, height: int) -> bytes:
    """A PNG that announces a size and holds almost nothing."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


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


# Over the API.


@pytest.fixture
def club(db: None) -> Iterator[Club]:
    with time_machine.travel(factories.AT, tick=False):
        yield factories.ClubFactory.create()


@pytest.fixture
def officer(club: Club) -> Caller:
    return caller(Role.OFFICER, club)


def caller(role: Role, at: Any) -> Caller:
    return Caller(factories.token(factories.person(role, at=at)))


def send(by: Caller, club: Club, content: bytes, name: str = "helmet.jpg", method: str = "POST", to: str = "") -> Any:
    form = encode_multipart(BOUNDARY, {"club": str(club.id), "file": SimpleUploadedFile(name, content)})
    return by(method, f"photos/{to}", form, Content_Type=MULTIPART_CONTENT)


def files() -> list[Path]:
    return sorted(path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


def test_a_photograph_is_kept_under_a_random_name_and_given_out_as_the_rebuilt_jpeg(
    officer: Caller, club: Club
) -> None:
    original = LOADED["png"]
    answer = send(officer, club, original, name="../../dominik at home.png")
    row = answer.json()
    [file] = files()

    assert answer.status_code == 201
    assert (row["width"], row["height"], row["original_sha256"]) == (60, 40, sha256(original).hexdigest())
    assert file.parent.name == str(club.organisation_id)
    assert "dominik" not in str(file)
    assert row["stored_sha256"] == sha256(file.read_bytes()).hexdigest()
    assert officer("GET", f"photos/{row['id']}/").json() == row


def test_the_picture_is_sent_as_a_picture_and_as_nothing_else(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, LOADED["jpeg"]).json()["id"]
    answer = officer("GET", f"photos/{id_}/picture/")

    assert answer.status_code == 200
    assert sha256(answer.content).hexdigest() == Photo.objects.get(id=id_).stored_sha256
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["Content-Disposition"] == "inline"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer.headers["Cache-Control"] == "no-store"


def test_who_may_not_see_the_club_gets_neither_the_row_nor_the_picture(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, LOADED["jpeg"]).json()["id"]
    foreigner = caller(Role.ADMINISTRATOR, factories.OrganisationFactory.create())
    neighbour = caller(Role.OFFICER, factories.ClubFactory.create(organisation=club.organisation))
    nobody = Caller()

    for address in (f"photos/{id_}/", f"photos/{id_}/picture/"):
        answers = [by("GET", address).status_code for by in (foreigner, neighbour, nobody)]
        assert answers == [404, 404, 401]


def test_a_photograph_for_a_foreign_club_is_400(officer: Caller, club: Club) -> None:
    assert pointers(send(officer, factories.ClubFactory.create(), LOADED["jpeg"])) == {"/club"}
    assert files() == []


def test_another_kind_of_file_is_415_whatever_its_name_says(officer: Caller, club: Club) -> None:
    answer = send(officer, club, picture("GIF"), name="helmet.jpg")

    assert (answer.status_code, answer.headers["Content-Type"]) == (415, "application/problem+json")
    assert (files(), Photo.objects.count()) == ([], 0)


def test_a_body_that_is_no_form_is_415(officer: Caller) -> None:
    assert officer("POST", "photos/", {"club": "x"}).status_code == 415


def test_a_bomb_and_an_empty_file_are_400_at_the_file(officer: Caller, club: Club) -> None:
    assert pointers(send(officer, club, png_of(30_000, 30_000))) == {"/file"}
    assert pointers(send(officer, club, b"")) == {"/file"}


def test_a_file_over_the_limit_is_413(officer: Caller, club: Club, settings: Any) -> None:
    settings.UPLOAD_MAX_BYTES = 500

    assert send(officer, club, picture(size=(200, 200))).status_code == 413


def test_a_put_of_the_same_file_keeps_one_and_of_another_is_409(officer: Caller, club: Club) -> None:
    to = f"{uuid7()}/"
    statuses = [send(officer, club, LOADED["jpeg"], method="PUT", to=to).status_code for _ in range(2)]

    assert statuses == [201, 200]
    assert send(officer, club, LOADED["png"], method="PUT", to=to).status_code == 409
    assert (len(files()), Photo.objects.count()) == (1, 1)


def test_an_id_in_use_elsewhere_leaves_no_file_behind(officer: Caller, club: Club) -> None:
    assert send(officer, club, LOADED["jpeg"], method="PUT", to=f"{club.id}/").status_code == 409
    assert files() == []


def test_a_picture_whose_file_is_lost_is_404(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, LOADED["jpeg"]).json()["id"]
    files()[0].unlink()

    assert officer("GET", f"photos/{id_}/picture/").status_code == 404


def test_no_half_written_file_is_left_when_the_disk_is_full(
    officer: Caller, club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("gearlife.operations.photos.os.fsync", full)

    assert send(officer, club, LOADED["jpeg"]).status_code == 500
    assert (files(), Photo.objects.count()) == ([], 0)
