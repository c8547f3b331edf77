"""Concerns, and the one list that gate, issuable, worn list, replacements and alerts ask."""

from gearlife.queries.concerns.facts import FACTS
from gearlife.queries.concerns.limits import LIMITS
from gearlife.queries.concerns.registry import Answer, Concern, ask, register, registered

__all__ = ["FACTS", "LIMITS", "Answer", "Concern", "ask", "register", "registered"]
