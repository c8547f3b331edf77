"""How people call a player."""


def label(given_name: str, family_name: str, jersey_number: int | None) -> str:
    """The number on the jersey, or the given name, and the family name."""
    return f"{given_name if jersey_number is None else jersey_number} {family_name}"
