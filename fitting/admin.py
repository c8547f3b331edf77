"""The operators' pages: players by number alone, and who has had what. No name and no measurement is shown there."""

from fitting.models import Assignment, Player
from gearlife.admin import show

show(Player, "club", "team", "jersey_number", "version")
show(
    Assignment,
    *("item", "player", "recorded_as", "issued_at", "returned_at", "could_not_be_issued"),
    more=("kind", "loan", "replaces", "reasons_against", "recorded_at", "recorded_by"),
)
