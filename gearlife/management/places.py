"""Which club a command is about."""

from django.core.management.base import CommandError

from gearlife.models import Club, Team

MOST_NAMED = 20


def club_of(code: str, organisation: str = "") -> Club:
    """The club of a code, in the organisation of a name; CommandError names the way out."""
    clubs = Club.objects.filter(code__iexact=code.strip()).select_related("organisation")
    if organisation:
        clubs = clubs.filter(organisation__name__iexact=organisation.strip())
    found: list[Club] = list(clubs.order_by("organisation__name", "id")[:MOST_NAMED])
    if not found:
        known = ", ".join(Club.objects.order_by("code", "id").values_list("code", flat=True)[:MOST_NAMED])
        raise CommandError(f"There is no club {code}. Known clubs: {known or 'none yet'}")
    if len(found) > 1:
        names = ", ".join(f'"{club.organisation.name}"' for club in found)
        raise CommandError(f"More than one organisation has a club {code}: name one by --organisation: {names}")
    return found[0]


def team_of(club: Club, name: str = "") -> Team:
    """The club's team of a name, or its only one; CommandError names the way out."""
    teams: list[Team] = list(Team.objects.filter(club=club).order_by("name", "id"))
    known = ", ".join(f'"{team.name}"' for team in teams[:MOST_NAMED]) or "none yet"
    if not name:
        if len(teams) == 1:
            return teams[0]
        raise CommandError(f"Name the team by --team. Teams of {club}: {known}")
    wanted = name.strip().casefold()
    found = next((team for team in teams if team.name.casefold() == wanted), None)
    if found is None:
        raise CommandError(f"{club} has no team {name}. Its teams: {known}")
    return found
