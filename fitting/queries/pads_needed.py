"""Which pads a player needs in items: told by the package above, which knows what is in gear and on the shelf."""

from collections.abc import Callable, Mapping, Sequence
from uuid import UUID

from fitting.domain.pads_needed import PadNeeded

# The player, the club, and items with their models in; by item what is needed out, in a fixed number of queries.
Source = Callable[[UUID, UUID, Mapping[UUID, UUID]], Mapping[UUID, Sequence[PadNeeded]]]
_sources: list[Source] = []


def register_pads_needed(*sources: Source) -> None:
    """Add who knows pads; it does so in its `AppConfig.ready`."""
    _sources.extend(sources)


def pads_needed(
    player_id: UUID | None, club_id: UUID, items: Mapping[UUID, UUID]
) -> Mapping[UUID, Sequence[PadNeeded]]:
    """By item what the player needs in it; nothing where nobody has it, or nothing was accepted before."""
    if player_id is None or not items:
        return {}
    found: dict[UUID, list[PadNeeded]] = {}
    for source in _sources:
        for item_id, needed in source(player_id, club_id, items).items():
            found.setdefault(item_id, []).extend(needed)
    return found
