"""Players by what people call them: the number on the jersey, or words of the name."""

import re

from django.db.models import Q

from fitting.models.players import PlayerQuerySet
from gearlife.domain.normal_form import normal_form

JERSEY = re.compile(r"[0-9]{1,2}")


def by_number_or_name(players: PlayerQuerySet, typed: str) -> PlayerQuerySet:
    """Players whose jersey number is what was typed, or whose name has every word of it."""
    words = typed.split()
    if JERSEY.fullmatch(typed.strip()):
        return players.filter(jersey_number=int(typed))
    for word in words:
        players = players.filter(Q(name_key__contains=normal_form(word)) | Q(family_name__icontains=word))
    return players
