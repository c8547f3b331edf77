"""Files that no photograph is, made here: each with the codes that its refusal may have."""

import io
import zlib
from random import Random

from PIL import Image

from tests.gearlife.pictures import HEIC, chunk, picture, png_of, with_chunk

LARGE = 16 << 20
KINDS = {kind: picture(kind, size=(400, 300)) for kind in ("JPEG", "PNG", "WEBP")} | {"HEIC": HEIC}


def moving(kind: str, frames: int) -> bytes:
    """Frames that differ, so that none is left out."""
    others = [Image.new("RGB", (16, 16), (n % 256, n // 256, 9)) for n in range(frames - 1)]
    return picture(kind, size=(16, 16), save_all=True, append_images=others)


def flat_bomb(width: int, height: int) -> bytes:
    """A whole PNG of one bit a pixel, a few kilobytes that unpack to all of it."""
    written = io.BytesIO()
    Image.new("1", (width, height)).save(written, "PNG")
    return written.getvalue()


def heic_bomb() -> bytes:
    """A HEIC whose size (`ispe`, ISO/IEC 23008-12, clause 6.5.3) says 30,000 by 30,000."""
    at = HEIC.index(b"ispe") + 8
    side = (30_000).to_bytes(4, "big")
    return HEIC[:at] + side + side + HEIC[at + 8 :]


def mangled(seed: int) -> bytes:
    """One of the good files with some bytes changed, or a piece taken out."""
    draw = Random(seed)
    whole = bytearray(KINDS[sorted(KINDS)[seed % len(KINDS)]])
    if seed % 3 == 0:
        begin = draw.randrange(len(whole))
        del whole[begin : begin + draw.randrange(1, 200)]
    for _ in range(draw.randrange(1, 20)):
        whole[draw.randrange(len(whole))] = draw.randrange(256)
    return bytes(whole)


PNG = KINDS["PNG"]
OTHER = "unsupported_media_type"
BAD: dict[str, tuple[bytes, set[str]]] = {
    "nothing": (b"", {OTHER}),
    "two bytes": (b"\xff\xd8", {OTHER, "damaged"}),
    "gif": (picture("GIF"), {OTHER}),
    "gif that is a script": (b"GIF89a/*" + picture("GIF")[8:] + b"*/=1;alert(1)", {OTHER}),
    "tiff": (picture("TIFF"), {OTHER}),
    "avif": (b"\x00\x00\x00\x1cftypavif\x00\x00\x00\x00avifmif1miaf", {OTHER}),
    "svg": (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", {OTHER}),
    "html": (b"<!DOCTYPE html><script>alert(1)</script>", {OTHER}),
    "html before a jpeg": (b"<script>alert(1)</script>" + KINDS["JPEG"], {OTHER}),
    "pdf": (b"%PDF-1.7", {OTHER}),
    "zip": (b"PK\x03\x04" + bytes(60), {OTHER}),
    "moving png": (moving("PNG", 2), {"not_still"}),
    "png of 500 frames": (moving("PNG", 500), {"not_still"}),
    "moving webp": (moving("WEBP", 2), {"not_still"}),
    "webp of 500 frames": (moving("WEBP", 500), {"not_still"}),
    "png bomb": (flat_bomb(12_000, 12_000), {"too_many_pixels"}),
    "larger png bomb": (flat_bomb(30_000, 30_000), {"too_many_pixels"}),
    "png of an announced size": (png_of(65_535, 65_535), {"too_many_pixels"}),
    "png as long as a road": (flat_bomb(40_000, 2), {"too_many_pixels"}),
    "heic bomb": (heic_bomb(), {"too_many_pixels", "damaged"}),
    "png with no pixels": (png_of(60, 40), {"damaged"}),
    "text that unpacks to 16 MB": (with_chunk(PNG, b"zTXt", b"a\0\0" + zlib.compress(bytes(LARGE))), {"damaged"}),
    "chunk that is longer than the file": (PNG[:33] + chunk(b"tEXt", bytes(9))[:6], {"damaged", OTHER}),
} | {f"{kind} that breaks off": (whole[: len(whole) * 2 // 3], {"damaged", OTHER}) for kind, whole in KINDS.items()}
