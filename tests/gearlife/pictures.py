"""Pictures laden with what must not be kept."""

import base64
import io
import struct
import zlib
from typing import Any

from PIL import Image
from PIL.PngImagePlugin import PngInfo

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


# 64 by 48 pixels of the picture above, written by Debian's `heif-enc` from a JPEG that held the canary.
HEIC = base64.b64decode(
    "AAAAHGZ0eXBoZWljAAAAAG1pZjFoZWljbWlhZgAAAi1tZXRhAAAAAAAAACFoZGxyAAAAAAAAAABwaWN0AAAAAAAAAAAAAAAAAAAAAA5waXRtAA"
    "AAAAACAAAAEGlkYXQAAAAAAEAAMAAAAGBpbG9jAQAAAERAAAQAAQAAAAAAAAJRAAEAAAAAAAAAGQACAAEAAAAAAAAAAQAAAAAAAAAIAAMAAAAA"
    "AAACagABAAAAAAAAAKgABAAAAAAAAAMSAAEAAAAAAAAAFwAAAHdpaW5mAAAAAAAEAAAAFWluZmUCAAABAAEAAGh2YzEAAAAAFWluZmUCAAAAAA"
    "IAAGdyaWQAAAAAFWluZmUCAAABAAMAAEV4aWYAAAAAKmluZmUCAAABAAQAAG1pbWUAYXBwbGljYXRpb24vcmRmK3htbAAAAAAA1WlwcnAAAACz"
    "aXBjbwAAAHNodmNDAQNwAAAAAAAAAAAAHvAA/P34+AAADwMgAAEAGEABDAH//wNwAAADAJAAAAMAAAMAHroCQCEAAQAnQgEBA3AAAAMAkAAAAw"
    "AAAwAeoCCBBZbq5Ka5sCAAAAMAIAAAAwAhIgABAAZEAcFzwIkAAAAUaXNwZQAAAAAAAABAAAAAQAAAABRpc3BlAAAAAAAAAEAAAAAwAAAAEHBp"
    "eGkAAAAAAwgICAAAABppcG1hAAAAAAAAAAIAAQKBAgACAgOEAAAANmlyZWYAAAAAAAAADmRpbWcAAgABAAEAAAAOY2RzYwADAAEAAgAAAA5jZH"
    "NjAAQAAQACAAAA4G1kYXQAAAAVKAGvC2D15YOv//Qcd+YIg5irT/UOAAAAAE1NACoAAAAIAAMBEgADAAAAAQABAAABOwACAAAAGAAAADKIJQAE"
    "AAAAAQAAAEoAAAAAQ0FOQVJZLTUxLjQ3NzlOLTAuMDAxNVcAAAMAAQACAAAAAk4AAAAAAgAFAAAAAwAAAHQAHQACAAAAGAAAAIwAAAAAAAAAMw"
    "AAAAEAAAAcAAAAAQAAACgAAAABQ0FOQVJZLTUxLjQ3NzlOLTAuMDAxNVcAQ0FOQVJZLTUxLjQ3NzlOLTAuMDAxNVc="
)

LOADED = {
    "jpeg": picture(exif=exif(), comment=CANARY, icc_profile=CANARY * 8, xmp=CANARY) + CANARY,
    "png": png_with_everything() + CANARY,
    "webp": picture("WEBP", exif=exif(), icc_profile=CANARY * 8, xmp=CANARY),
    "heic": HEIC,
}


def png_of(width: int, height: int) -> bytes:
    """A PNG that announces a size and holds almost nothing."""

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def chunk(kind: bytes, body: bytes) -> bytes:
    """A chunk of a PNG, by its specification (ISO/IEC 15948, clause 5.3)."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def with_chunk(png: bytes, kind: bytes, body: bytes) -> bytes:
    """The PNG with one chunk more behind its header."""
    return png[:33] + chunk(kind, body) + png[33:]
