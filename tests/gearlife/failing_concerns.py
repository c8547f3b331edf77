"""Concerns that do not answer: what is asked of them fails closed."""

from collections.abc import Iterable
from datetime import date

from django.db import connection

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.recorded import Recorded
from gearlife.queries.concerns import Concern


class Silent(Concern):
    """A concern that cannot answer."""

    kind = "silent"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterable[Hit]:
        """Fail."""
        raise RuntimeError("it does not answer")


class Garbled(Concern):
    """A concern whose query the database refuses."""

    kind = "garbled"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterable[Hit]:
        """Ask for a table that there is not."""
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM no_such_table")
        return []
