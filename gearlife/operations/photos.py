"""Photographs: the file first, whole and on the disk; the row that tells of it after."""

import secrets
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar
from uuid import UUID

from django.conf import settings
from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.domain.pictures import Picture, rebuild
from gearlife.models import Club, Photo
from gearlife.operations.kept_files import write_whole

T = TypeVar("T")


def with_photo(*, original: bytes, club: Club, stamp: Stamp, act: Callable[[Photo], T]) -> T:
    """Keep a picture and do what needs it, both or neither: where the act is refused, no photograph is left."""
    picture = rebuild(original)
    path = keep_file(picture, club.organisation_id)
    try:
        with transaction.atomic():
            return act(add_photo(club=club, picture=picture, path=path, stamp=stamp))
    except GearlifeError:
        # Only a refusal of ours has surely written no row: a file too many is better than a row without one.
        drop_file(path)
        raise


def bytes_of(photo: Photo) -> bytes | None:
    """The stored JPEG; None when its file is gone."""
    path = Path(settings.MEDIA_ROOT) / photo.path
    return path.read_bytes() if path.is_file() else None


def keep_file(picture: Picture, organisation_id: UUID) -> str:
    """Write the picture under a random name; its path below MEDIA_ROOT. A reader never meets half a file."""
    path = f"{organisation_id}/{secrets.token_hex(16)}.jpg"
    target = Path(settings.MEDIA_ROOT) / path
    write_whole(target, picture.jpeg)
    return path


def drop_file(path: str) -> None:
    """Remove a file whose row was not written after all."""
    (Path(settings.MEDIA_ROOT) / path).unlink(missing_ok=True)


def add_photo(*, club: Club, picture: Picture, path: str, stamp: Stamp, id: UUID | None = None) -> Photo:  # noqa: A002 - the contract's word
    """Write the row of a kept file."""
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
