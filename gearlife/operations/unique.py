"""Insert what there may be only one of: a name, a number, a revision."""

from typing import TypeVar

from django.db import IntegrityError, transaction
from django.db.models import Model

from gearlife.domain.errors import ConflictError

Row = TypeVar("Row", bound=Model)


def insert_unique(row: Row, taken: str, code: str = "name_taken") -> Row:
    """The inserted row; ConflictError in these words where another has its name, whoever was first by a moment."""
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        raise ConflictError(taken, code=code) from error
    return row
