"""Photographs as they are kept: a JPEG and a small one of the same pixels, and how much of one is taken."""

from dataclasses import dataclass
from hashlib import sha256

from gearlife.domain.errors import InvalidInputError

# By content, never by name. HEIF is what many phones write.
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
MOST_PIXELS = 50_000_000
LONGEST_SIDE = 30_000
THUMBNAIL_SIDE = 480


@dataclass(frozen=True)
class Picture:
    """A rebuilt JPEG with its size in pixels, the same made small, and the hash of the file that came in."""

    jpeg: bytes
    thumbnail: bytes
    width: int
    height: int
    original_sha256: str

    @property
    def stored_sha256(self) -> str:
        """The hash of the rebuilt file."""
        return sha256(self.jpeg).hexdigest()


def damaged() -> InvalidInputError:
    """The refusal of a file that breaks off, or that no decoder makes sense of."""
    return InvalidInputError.at(
        "/file", "The picture is damaged: it cannot be read to its end. Take it anew.", "damaged"
    )


def not_still() -> InvalidInputError:
    """The refusal of what moves."""
    return InvalidInputError.at("/file", "Send one still picture.", "not_still")


def too_many_pixels() -> InvalidInputError:
    """The refusal of what would be too large once it is unpacked."""
    limits = f"{MOST_PIXELS:,} pixels, or a side of more than {LONGEST_SIDE:,}"
    words = f"The picture has more than {limits}. Send a smaller one."
    return InvalidInputError.at("/file", words, "too_many_pixels")


def too_costly() -> InvalidInputError:
    """The refusal of what took more memory or time than any photograph does."""
    words = "Reading the picture took too much memory or time, and it was not kept. Send it as a JPEG, or smaller."
    return InvalidInputError.at("/file", words, "too_costly")
