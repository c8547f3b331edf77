"""Photographs: the file first, whole and on the disk; the row that tells of it after, and the ledger last."""

import secrets
from collections.abc import Callable, Sequence
from typing import TypeVar
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.domain.pictures import Picture
from gearlife.models import Club, Photo
from gearlife.operations.ledger import Entry, record
from gearlife.operations.rebuilding import rebuild_apart

T = TypeVar("T")


def with_photo(*, original: bytes, club: Club, stamp: Stamp, act: Callable[[Photo], T]) -> T:
    """Keep a picture and do what needs it, both or neither: where the act is refused, no photograph is left."""
    pictures = [rebuild_apart(original)]
    return with_photos(pictures=pictures, club=club, stamp=stamp, act=lambda photos: act(photos[0]))


def with_photos(*, pictures: Sequence[Picture], club: Club, stamp: Stamp, act: Callable[[list[Photo]], T]) -> T:
    """The same for several that were rebuilt, or for none: all of them are kept with the act, or nothing is."""
    paths = [keep_file(picture, club.organisation_id) for picture in pictures]
    try:
        with transaction.atomic():
            kept = zip(pictures, paths, strict=True)
            photos = [add_photo(club=club, picture=picture, path=path, stamp=stamp) for picture, path in kept]
            done = act(photos)
            # After the act, whose items are locked before the ledger's head.
            record(club.organisation_id, [_told(photo) for photo in photos], stamp)
            return done
    except GearlifeError:
        # Only a refusal of ours has surely written no row: a file too many is better than a row without one.
        for path in paths:
            drop_file(path)
        raise


def keep_photo(*, club: Club, picture: Picture, path: str, stamp: Stamp, id: UUID) -> Photo:  # noqa: A002 - the contract's word
    """Write the row of a kept file under the client's id, and the ledger."""
    photo = add_photo(club=club, picture=picture, path=path, stamp=stamp, id=id)
    record(club.organisation_id, [_told(photo)], stamp)
    return photo


def bytes_of(photo: Photo, *, small: bool = False) -> bytes | None:
    """The stored JPEG, or the small one; None when its file is gone."""
    # What was kept before there were small ones has none.
    paths = [small_path(photo.path), photo.path] if small else [photo.path]
    return next((found for path in paths if (found := _read(path)) is not None), None)


def keep_file(picture: Picture, organisation_id: UUID) -> str:
    """Write the picture and its small one under a random name; the picture's path in the storage."""
    path = f"{organisation_id}/{secrets.token_hex(16)}.jpg"
    default_storage.save(small_path(path), ContentFile(picture.thumbnail))
    try:
        return default_storage.save(path, ContentFile(picture.jpeg))
    except OSError:
        default_storage.delete(small_path(path))
        raise


def drop_file(path: str) -> None:
    """Remove a file, and its small one, whose row was not written after all."""
    default_storage.delete(path)
    default_storage.delete(small_path(path))


def small_path(path: str) -> str:
    """Where the small one of a picture lies."""
    return f"{path.removesuffix('.jpg')}-small.jpg"


def add_photo(*, club: Club, picture: Picture, path: str, stamp: Stamp, id: UUID | None = None) -> Photo:  # noqa: A002 - the contract's word
    """Write the row of a kept file; the caller writes the ledger at the end of its act."""
    photo = Photo(
        organisation_id=club.organisation_id,
        club=club,
        path=path,
        original_sha256=picture.original_sha256,
        stored_sha256=picture.stored_sha256,
        width=picture.width,
        height=picture.height,
        received_at=stamp.at,
        received_by_id=stamp.actor.user_id,
    )
    photo.id = id or photo.id
    photo.save(force_insert=True)
    return photo


def _told(photo: Photo) -> Entry:
    hashes = {"original_sha256": photo.original_sha256, "stored_sha256": photo.stored_sha256}
    return Entry("photo_kept", None, {"photo": photo.id, "club": photo.club_id, **hashes})


def _read(path: str) -> bytes | None:
    try:
        with default_storage.open(path) as file:
            return bytes(file.read())
    except FileNotFoundError:
        return None
