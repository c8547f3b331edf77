"""Photographs in, rebuilt from their pixels; out again only through a view that asks who looks."""

from collections.abc import Mapping
from datetime import date
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from gearlife.api.filters import Filters
from gearlife.api.problems import PLAIN
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.serializers import Reportable, StrictSerializer
from gearlife.domain.access import READERS, REPORTERS, Stamp
from gearlife.domain.errors import GearlifeError, NotFoundError, TooLargeError
from gearlife.domain.pictures import Picture
from gearlife.models import Club, Photo
from gearlife.operations.creation import body_digest, create_once, was_created
from gearlife.operations.photos import bytes_of, drop_file, keep_file, keep_photo
from gearlife.operations.rebuilding import rebuild_apart

HEADERS = {
    "Content-Disposition": "inline",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}


class PhotoRow(serializers.Serializer[None]):
    """A photograph as it is kept; the original is not, only its hash."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    width = serializers.IntegerField()
    height = serializers.IntegerField()
    original_sha256 = serializers.CharField()
    stored_sha256 = serializers.CharField()
    received_at = serializers.DateTimeField()


class PhotoBody(StrictSerializer):
    """A picture of gear. Photograph the helmet, not the child."""

    club = Reportable(Club)
    file = serializers.FileField(
        help_text="JPEG, PNG, WebP or HEIC, to 12 MB and 50 megapixels. Photograph the helmet, not the child."
    )


class PhotoFilters(Filters):
    """By club."""

    class Meta:
        model = Photo
        fields = ("club",)


class Photos(Resource):
    """Photographs of gear, as evidence. Photograph the helmet, not the child: place, time and camera are not kept."""

    model = Photo
    resource = "photos"
    row = PhotoRow
    create_body = PhotoBody
    filterset_class = PhotoFilters
    ordering = ("-received_at",)
    allow = {"read": READERS, "create": REPORTERS, "picture": READERS, "thumbnail": READERS}
    parser_classes = (MultiPartParser,)

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Everything but where the file lies."""
        names = ("width", "height", "original_sha256", "stored_sha256", "received_at")
        return queryset.values("id", "version", "club", *names)

    def make(self, id_: UUID, sent: Any) -> int:  # noqa: ANN401 - a multipart form
        """Rebuild and keep the picture before the database is asked to wait for anything; once, however often sent."""
        data = self.valid(PhotoBody, sent)
        stamp = self.permitted(data)
        original = _bytes_of(data["file"])
        digest = body_digest({"club": str(data["club"].id), "file": sha256(original).hexdigest()})
        if was_created(id_=id_, resource=self.resource, digest=digest, actor=self.actor):
            return 200
        return 201 if self._keep(id_, digest, rebuild_apart(original), data, stamp) else 200

    def _keep(self, id_: UUID, digest: str, picture: Picture, data: Mapping[str, Any], stamp: Stamp) -> bool:
        path = keep_file(picture, self.actor.organisation_id)
        try:
            first = create_once(
                id_=id_,
                resource=self.resource,
                digest=digest,
                stamp=stamp,
                make=lambda: keep_photo(club=data["club"], picture=picture, path=path, stamp=stamp, id=id_),
            )
        except GearlifeError:
            # Only a refusal of ours has surely written no row: a file too many is better than a row without one.
            drop_file(path)
            raise
        if not first:
            drop_file(path)
        return first

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"])
    def picture(self, request: Request, **_: str) -> HttpResponse:
        """The picture itself, a JPEG."""
        return _sent(bytes_of(self.instance()))

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"])
    def thumbnail(self, request: Request, **_: str) -> HttpResponse:
        """The picture made small, at most 480 pixels wide and high: a JPEG."""
        return _sent(bytes_of(self.instance(), small=True))


def _sent(jpeg: bytes | None) -> HttpResponse:
    if jpeg is None:
        raise NotFoundError(PLAIN[404][1])
    return HttpResponse(jpeg, content_type="image/jpeg", headers=HEADERS)


def _bytes_of(file: Any) -> bytes:  # noqa: ANN401 - an uploaded file
    if file.size > settings.UPLOAD_MAX_BYTES:
        raise TooLargeError(PLAIN[413][1])
    return bytes(file.read())
