"""Pictures rebuilt from their pixels, so that nothing else of what comes in is kept.

Place, time, camera, comment, colour profile and whatever a file may hide after its end are gone with the original.
Run in a process of its own: a decoder fed by strangers is the one part of the program that may be led astray.
"""

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256

import pi_heif
from PIL import Image, ImageOps, UnidentifiedImageError

from gearlife.domain.errors import InvalidInputError, UnsupportedFormatError
from gearlife.domain.pictures import (
    FORMATS,
    LONGEST_SIDE,
    MOST_PIXELS,
    THUMBNAIL_SIDE,
    Picture,
    damaged,
    not_still,
    too_many_pixels,
)

# A photograph may have a preview or a depth map beside it; the first is the photograph.
SEVERAL = frozenset({"MPO", "HEIF"})
QUALITY, THUMBNAIL_QUALITY = 88, 80
WHITE = (255, 255, 255)

Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.filterwarnings("error", category=Image.DecompressionBombWarning)
pi_heif.register_heif_opener()
# Each thread more would take memory from a limit that is there to be kept.
pi_heif.options.DECODE_THREADS = 1


def rebuild(original: bytes) -> Picture:
    """Rebuild a JPEG, PNG, WebP or HEIC upright as an RGB JPEG; UnsupportedFormatError for any other, by its content.

    InvalidInputError for one that is too large in pixels, moves, or cannot be read to its end; MemoryError as it comes.
    """
    with _refusals(), Image.open(io.BytesIO(original), formats=FORMATS) as image:
        if image.width * image.height > MOST_PIXELS or max(image.size) > LONGEST_SIDE:
            raise too_many_pixels()
        if image.format not in SEVERAL and getattr(image, "n_frames", 1) != 1:
            raise not_still()
        ImageOps.exif_transpose(image, in_place=True)
        clean = _flat(image)
    with _refusals():
        small = clean.copy()
        small.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE))
        digest = sha256(original).hexdigest()
        return Picture(_jpeg(clean, QUALITY), _jpeg(small, THUMBNAIL_QUALITY), *clean.size, digest)


def _flat(image: Image.Image) -> Image.Image:
    """The pixels alone, in a new RGB picture. What is transparent lies on white: what hides below stays hidden."""
    clean = Image.new("RGB", image.size, WHITE)
    if image.has_transparency_data:
        seen = image.convert("RGBA")
        clean.paste(seen, mask=seen.getchannel("A"))
    else:
        clean.paste(_eight_bits(image))
    return clean


def _eight_bits(image: Image.Image) -> Image.Image:
    """Grey of sixteen bits in eight, as it looks: the library's own conversion makes nearly all of it white."""
    if not image.mode.startswith("I"):
        return image
    return image.convert("I").point(lambda value: value * (1 / 257)).convert("L")


def _jpeg(image: Image.Image, quality: int) -> bytes:
    written = io.BytesIO()
    image.save(written, "JPEG", quality=quality)
    return written.getvalue()


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except (InvalidInputError, MemoryError):
        raise
    except UnidentifiedImageError:
        words = "Send a JPEG, PNG, WebP or HEIC picture; this file is none of them."
        raise UnsupportedFormatError(words) from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise too_many_pixels() from None
    except Exception:  # noqa: BLE001 - a decoder fed with rubbish raises whatever it likes
        raise damaged() from None
