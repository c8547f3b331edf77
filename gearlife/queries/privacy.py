"""Which tables there are, and what each column of them says: every package adds its own."""

from collections.abc import Mapping

from gearlife.domain.privacy import TABLES, Table

_tables: dict[str, Table] = dict(TABLES)


def register_tables(tables: Mapping[str, Table]) -> None:
    """Add the tables of a package above, by `app.Model`."""
    _tables.update(tables)


def tables() -> Mapping[str, Table]:
    """All of them."""
    return _tables
