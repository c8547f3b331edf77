"""`intakes/`: a club's own file, taken in whole or refused row by row."""

from collections.abc import Mapping
from datetime import date
from hashlib import sha256
from typing import Any, ClassVar
from uuid import UUID

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters
from gearlife.api.problems import CONTENT_TYPE, problem_of
from gearlife.api.reading import Row, Rows
from gearlife.api.resources import Resource, client_id
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.vocabulary import IntakeState, Role
from gearlife.models import Club, Intake
from gearlife.models.intakes import UNFINISHED
from gearlife.operations.creation import body_digest, create_once, was_created
from gearlife.operations.intake import Report, put_by, take_in
from gearlife.operations.intake.progress import progress_of
from gearlife.operations.intake.waiting_files import told_of

READERS = frozenset({Role.ADMINISTRATOR, Role.AUDITOR, Role.OFFICER})
WRITERS = frozenset({Role.ADMINISTRATOR, Role.OFFICER})
REPORTED = (
    "id",
    "of",
    "checked_only",
    "filename",
    "sha256",
    "rows",
    "added",
    "changed",
    "unchanged",
    "stopped",
    "notes",
)
KEPT = (*REPORTED, "state", "refusal")


class Progress(serializers.Serializer[Any]):
    """How far an unfinished file has come; a hint that may be late."""

    stage = serializers.CharField()
    rows_done = serializers.IntegerField()
    rows = serializers.IntegerField()


class IntakeError(serializers.Serializer[Any]):
    """One fault: `row` as a spreadsheet shows it (heading = 1); a fault of the file as a whole has no row.

    A `doubtful` one would not refuse the file with `stop_doubtful`.
    """

    pointer = serializers.CharField()
    code = serializers.CharField()
    detail = serializers.CharField()
    row = serializers.IntegerField(required=False)
    column = serializers.CharField(required=False)
    value = serializers.CharField(required=False)
    doubtful = serializers.BooleanField(required=False)


class Refusal(serializers.Serializer[Any]):
    """Why a file that had waited was refused: nothing of it was taken in."""

    code = serializers.CharField()
    detail = serializers.CharField()
    errors = IntakeError(many=True)  # type: ignore[assignment] # the contract's word, on a serializer that only documents
    errors_in_all = serializers.IntegerField()
    notes = serializers.ListField(child=serializers.CharField())


class IntakeRow(serializers.Serializer[Any]):
    """What a file did; only checked, what it would do, and then it has no id.

    A large file is `waiting`, then `running`, then `done` or `refused`; refused, `refusal` is what the answer at once
    would have said.
    """

    id = serializers.UUIDField(allow_null=True)
    of = serializers.CharField()
    club = serializers.UUIDField()
    checked_only = serializers.BooleanField()
    filename = serializers.CharField()
    sha256 = serializers.CharField()
    received_at = serializers.DateTimeField()
    rows = serializers.IntegerField()
    added = serializers.IntegerField()
    changed = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    stopped = serializers.IntegerField()
    notes = serializers.ListField(child=serializers.CharField())
    state = serializers.ChoiceField(choices=[state.value for state in IntakeState])
    progress = Progress(allow_null=True)
    refusal = Refusal(allow_null=True)


class IntakeBody(StrictSerializer):
    """An XLSX or CSV file with its headings in the first row. `of` not given: its headings tell.

    `stop_doubtful` takes doubtful rows in too, each with a hold that names the doubt.
    """

    file = serializers.FileField(max_length=200, allow_empty_file=True)
    club = Reference(Club)
    of = serializers.ChoiceField(choices=("items", "players", "worn"), required=False)
    check = serializers.BooleanField(default=False)
    stop_doubtful = serializers.BooleanField(default=False)


class IntakeProblem(serializers.Serializer[Any]):
    """A problem document, `code` `intake_refused`. Only checked: `tagged_file` is a copy with tags filled in."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField()
    detail = serializers.CharField()
    errors = IntakeError(many=True)  # type: ignore[assignment] # the contract's word, on a serializer that only documents
    errors_in_all = serializers.IntegerField(required=False)
    notes = serializers.ListField(child=serializers.CharField(), required=False)
    tagged_file = serializers.CharField(required=False)


class IntakeFilters(Filters):
    """By club and kind of file."""

    class Meta:
        model = Intake
        fields = ("club", "of")


ANSWERS = {
    201: IntakeRow,
    202: OpenApiResponse(IntakeRow, "A large file: it waits for a worker. Ask at `Location` how far it has come."),
    200: OpenApiResponse(IntakeRow, "Only checked, nothing was written; or this very file had already been taken in."),
    (400, CONTENT_TYPE): OpenApiResponse(IntakeProblem, "Refused, with every fault; nothing of it was taken in."),
}


class Intakes(Resource):
    """Files of items, players or worn gear, taken in whole or not at all."""

    model = Intake
    resource = "intakes"
    row = IntakeRow
    create_body = IntakeBody
    filterset_class = IntakeFilters
    parser_classes = (MultiPartParser,)
    allow: ClassVar[Mapping[str, frozenset[Role]]] = {"read": READERS, "create": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The report as it was made."""
        return queryset.values(*KEPT, "club", "version", "received_at")

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add how far unfinished ones have come; what moves without a new version is another tag."""
        for row in rows:
            progress = progress_of(row["id"]) if row["state"] in UNFINISHED else None
            row["progress"] = progress
            if progress:
                row["version"] = f"{row['version']}-{progress['stage']}-{progress['rows_done']}"
        return rows

    @extend_schema(responses=ANSWERS)
    def create(self, request: Request) -> Response:
        """Take in a file, or only check it: every fault of it in one answer."""
        key = request.headers.get("Idempotency-Key")
        id_ = uuid7() if key is None else client_id(key.strip('"'), "Idempotency-Key")
        return self._answer(id_, request)

    @extend_schema(responses=ANSWERS)
    def create_named(self, request: Request, **kwargs: str) -> Response:
        """Take in a file under the id in the path, once for ever."""
        return self._answer(client_id(kwargs["id"], "the id in the path"), request)

    def _answer(self, id_: UUID, request: Request) -> Response:
        data = self.valid(IntakeBody, request.data)
        stamp = self.permitted(data)
        content = _content(data["file"])
        try:
            if data["check"]:
                return Response(_shown(_take_in(None, data, content, stamp), stamp))
            status = self._take_in_once(id_, data, content, stamp)
            is_waiting = Intake.objects.filter(id=id_, state__in=UNFINISHED).exists()
            return self.show_made(id_, 202 if is_waiting else status)
        except IntakeRefusedError as refused:
            return _refused(refused, with_copy=data["check"])

    def _take_in_once(self, id_: UUID, data: Mapping[str, Any], content: bytes, stamp: Stamp) -> int:
        named = {"of": data.get("of"), "club": str(data["club"].id), "file": sha256(content).hexdigest()}
        if data["stop_doubtful"]:
            named["stop_doubtful"] = "true"
        digest = body_digest(named)
        if was_created(id_=id_, resource=self.resource, digest=digest, actor=self.actor):
            return 200
        first = create_once(
            id_=id_,
            resource=self.resource,
            digest=digest,
            stamp=stamp,
            make=lambda: _make(id_, data, content, stamp),
        )
        return 201 if first else 200


def _content(file: "UploadedFile[Any]") -> bytes:
    return b"".join(file.chunks())


def _make(id_: UUID, data: Mapping[str, Any], content: bytes, stamp: Stamp) -> object:
    """Take a small file in now; put a large one by, for a worker."""
    if len(content) <= settings.INTAKE_AT_ONCE_BYTES:
        return _take_in(id_, data, content, stamp)
    wanted = {"of": data.get("of"), "club": data["club"], "stop_doubtful": data["stop_doubtful"]}
    return put_by(content, **wanted, filename=data["file"].name or "", stamp=stamp, id_=id_)


def _take_in(id_: UUID | None, data: Mapping[str, Any], content: bytes, stamp: Stamp) -> Report:
    return take_in(
        content,
        of=data.get("of"),
        club=data["club"],
        filename=data["file"].name or "",
        stamp=stamp,
        check=data["check"],
        stop_doubtful=data["stop_doubtful"],
        id=id_,
    )


def _shown(report: Report, stamp: Stamp) -> Row:
    own = {name: getattr(report, name) for name in REPORTED}
    rest = {"state": IntakeState.DONE, "progress": None, "refusal": None}
    return own | rest | {"club": report.club.id, "received_at": stamp.at}


def _refused(refused: IntakeRefusedError, *, with_copy: bool) -> Response:
    problem = problem_of(refused)
    document: Row = problem.document() if problem else {}
    if refused.cell_faults:
        told = told_of(refused)
        document |= {name: told[name] for name in ("errors", "errors_in_all")}
    document["notes"] = list(refused.notes)
    if with_copy and refused.tagged_file is not None:
        document["tagged_file"] = refused.tagged_file
    return Response(document, status=400, content_type=CONTENT_TYPE)
