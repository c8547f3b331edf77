"""Where a row belongs: the club whose officers may act on it and whose calendar counts."""

from collections.abc import Iterator, Mapping

from django.db.models import Model

from gearlife.models import Club


def clubs_of(named: object) -> list[Club]:
    """The clubs of all rows that a body names, however deep; a row of the whole organisation has none."""
    return [club for row in _rows_in(named) if (club := _club_of(row))]


def _rows_in(named: object) -> Iterator[Model]:
    match named:
        case Model():
            yield named
        case Mapping():
            yield from (row for value in named.values() for row in _rows_in(value))
        case list() | tuple():
            yield from (row for value in named for row in _rows_in(value))


def _club_of(row: Model) -> Club | None:
    """The club itself, or that of the row's item, player or team."""
    if isinstance(row, Club):
        return row
    for relation in ("club", "item", "player", "team"):
        if (nearer := getattr(row, relation, None)) is not None:
            return _club_of(nearer)
    return None
