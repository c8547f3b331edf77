"""What a maker says of a model besides sizes: the positions that it is made for, and that its chart goes by weight."""

from collections.abc import Iterator, Sequence

from gearlife.domain.normal_form import normal_form

# The weight is never kept: whoever wants to reckon with it asks for it anew.
ASK_FOR_WEIGHT = "The chart goes by weight too: ask for it."


def is_for_others(positions: Sequence[str], position: str) -> bool:
    """Whether the maker names positions, and not the player's; of an unrecorded one nobody can tell."""
    return bool(position and positions) and normal_form(position) not in map(normal_form, positions)


def of_style(positions: Sequence[str], position: str) -> Iterator[str]:
    """The position sets the style of shoulder pads: what the maker names it for is said where it is not the player's.

    A wish and no rule: nobody is refused pads for it.
    """
    if not positions:
        return
    named = ", ".join(positions)
    if not position:
        yield f"Made for {named}; the player's position is not recorded."
    elif is_for_others(positions, position):
        yield f"Made for {named}, not for the player's position ({position})."
