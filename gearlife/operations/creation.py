"""Making a row under an id that a client chose: once, for ever, whoever races, however often it is sent."""

import json
from collections.abc import Callable, Mapping
from functools import cache
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import IntegrityError, connection, transaction
from django.db.models import QuerySet, UUIDField

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.errors import ConflictError
from gearlife.models import Creation
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.models.creation import keyed


def body_digest(body: Mapping[str, object]) -> str:
    """What is kept of a parsed body: the HMAC of its SHA-256 in canonical JSON, as hexadecimal text.

    Without the installation's key nobody guesses from it the name or the measurement that was sent.
    """
    text = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return keyed(sha256(text.encode()).hexdigest())


def was_created(*, id_: UUID, resource: str, digest: str, actor: Actor) -> bool:
    """Whether this very body has made this id; ConflictError when the id belongs to anything else."""
    kept = next(iter(_claims().values(id=id_)), None)
    if kept is None:
        return False
    if kept == (actor.organisation_id, resource, ""):
        raise ConflictError("What was made under this id has been removed since.", code="removed")
    if kept != (actor.organisation_id, resource, digest):
        raise id_taken()
    return True


def create_once(*, id_: UUID, resource: str, digest: str, stamp: Stamp, make: Callable[[], object]) -> bool:
    """Run `make` unless this body has already made this id; True when it ran.

    The claim on the id and the effect share one transaction: a refused effect leaves no claim.
    """
    claim = Creation(
        id=id_,
        organisation_id=stamp.actor.organisation_id,
        resource=resource,
        digest=digest,
        created_at=stamp.at,
    )
    with transaction.atomic():
        if not _insert_unless_there(claim):
            return not was_created(id_=id_, resource=resource, digest=digest, actor=stamp.actor)
        if _in_use(id_):
            raise id_taken()
        make()
    return True


def claim_all(*, digests: Mapping[UUID, str], resource: str, stamp: Stamp) -> None:
    """Claim many ids in the caller's transaction, all or none; ConflictError when any of them is in use."""
    claims = [
        Creation(
            id=id_,
            organisation_id=stamp.actor.organisation_id,
            resource=resource,
            digest=digests[id_],
            created_at=stamp.at,
        )
        # In id order, so that two who claim the same ids wait for each other in one direction only.
        for id_ in sorted(digests)
    ]
    if _in_use(*digests):
        raise id_taken()
    try:
        with transaction.atomic():
            Creation.objects.bulk_create(claims)
    except IntegrityError as error:
        raise id_taken() from error


def id_taken() -> ConflictError:
    """The refusal of an id that is in use, in the same words wherever that is."""
    return ConflictError("This id is in use; send a new thing under a new id.", code="id_taken")


@compiled
def _claims() -> QuerySet[Any, Any]:
    return Creation.objects.filter(id=given.one_id("id")).values_list("organisation_id", "resource", "digest")


def _insert_unless_there(claim: Creation) -> bool:
    """Whether the row went in. The database decides: of two who race, the second waits and is told no."""
    columns = [str(field.column) for field in Creation._meta.concrete_fields]
    values = [
        field.get_db_prep_save(getattr(claim, field.attname), connection) for field in Creation._meta.concrete_fields
    ]
    marks = ", ".join(["%s"] * len(columns))
    # Django has no insert that tells whether it inserted; only names of our own table are put into the text.
    into = f"{Creation._meta.db_table} ({', '.join(columns)})"
    sql = f"INSERT INTO {into} VALUES ({marks}) ON CONFLICT DO NOTHING"  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return bool(cursor.rowcount == 1)


def _in_use(*ids: UUID) -> bool:
    """Whether any row of ours has one of these ids, one that came by file or was named by the server."""
    tables, marks = _tables(), ", ".join(["%s"] * len(ids))
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT " + " OR ".join(f"EXISTS (SELECT 1 FROM {table} WHERE id IN ({marks}))" for table in tables),  # noqa: S608 - names of our own tables
            [Creation._meta.pk.get_db_prep_value(id_, connection) for id_ in ids] * len(tables),
        )
        return bool(cursor.fetchone()[0])


@cache
def _tables() -> tuple[str, ...]:
    """Every table whose rows are named by a UUID, but for the claims themselves."""
    named = [model for model in apps.get_models() if isinstance(model._meta.pk, UUIDField) and model is not Creation]
    return tuple(model._meta.db_table for model in named)
