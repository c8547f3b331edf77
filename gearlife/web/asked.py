"""What an address asks with, in a form that both databases take."""

from django.http import QueryDict

LONGEST = 80


def asked(query: QueryDict, name: str) -> str:
    """One text of the query, without outer blanks and NUL, cut where it is long; empty when it is absent."""
    return str(query.get(name, "")).replace("\x00", "").strip()[:LONGEST]
