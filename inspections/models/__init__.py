"""The tables of inspections."""

from inspections.models.checklists import Checklist
from inspections.models.inspections import Finding, Inspection

__all__ = ["Checklist", "Finding", "Inspection"]
