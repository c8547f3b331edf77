"""The tables of inspections."""

from inspections.models.air import AirOfModel, AirRecord
from inspections.models.checklists import Checklist
from inspections.models.inspections import Finding, Inspection
from inspections.models.not_seen import NotSeen

__all__ = ["AirOfModel", "AirRecord", "Checklist", "Finding", "Inspection", "NotSeen"]
