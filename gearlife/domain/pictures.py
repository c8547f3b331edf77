"""Photographs: whatever comes in is rebuilt from its pixels, so that nothing else of it is kept.

Place, time, camera, comment, colour profile and whatever a file may hide after its end are gone with the original.
"""

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256

from PIL import Image, ImageOps, UnidentifiedImageError

from gearlife.domain.errors import InvalidInputError, UnsupportedFormatError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 50_000_000
QUALITY = 88

# Process-wide and set once: filters within a `with` would leak between the threads of the web server.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.filterwarnings("error", category=Image.DecompressionBombWarning)


@dataclass(frozen=True)
class Picture:
    """A rebuilt JPEG, its size in pixels, and the hash of the file that came in."""

    jpeg: bytes
    width: int
    height: int
    original_sha256: str

    @property
    def stored_sha256(self) -> str:
        """The hash of the rebuilt file."""
        return sha256(self.jpeg).hexdigest()


def rebuild(original: bytes) -> Picture:
    """Rebuild a JPEG, PNG or WebP upright as an RGB JPEG; UnsupportedFormatError for any other, by its content.

    InvalidInputError for one that is too large in pixels, moves, or cannot be read to its end.
    """
    with _refusals(), Image.open(io.BytesIO(original), formats=FORMATS) as image:
        _refuse_bomb(image.width, image.height)
        # A JPEG with a preview or depth map beside the photograph (MPO) is one picture: its first is the photograph.
        if image.format != "MPO" and getattr(image, "n_frames", 1) != 1:
            raise InvalidInputError.at("/file", "Send one still picture.", "not_still")
        upright = ImageOps.exif_transpose(image).convert("RGB")
        clean = Image.new("RGB", upright.size)
        clean.paste(upright)
    written = io.BytesIO()
    clean.save(written, "JPEG", quality=QUALITY)
    return Picture(written.getvalue(), *clean.size, sha256(original).hexdigest())


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except InvalidInputError:
        raise
    except UnidentifiedImageError:
        raise UnsupportedFormatError("Send a JPEG, PNG or WebP picture; this file is none of them.") from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_pixels() from None
    except Exception:  # noqa: BLE001 - a decoder fed with rubbish raises whatever it likes
        raise InvalidInputError.at(
            "/file", "The picture is damaged: it cannot be read to its end.", "damaged"
        ) from None


def _refuse_bomb(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise _too_many_pixels()


def _too_many_pixels() -> InvalidInputError:
    return InvalidInputError.at("/file", f"The picture has more than {MOST_PIXELS:,} pixels.", "too_many_pixels")
