"""The tables of inspections."""

from inspections.models.checklists import Checklist
from inspections.models.inspections import Finding, Inspection
from inspections.models.not_seen import NotSeen

__all__ = ["Checklist", "Finding", "Inspection", "NotSeen"]
