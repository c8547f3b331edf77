"""The tables of inspections."""

from inspections.models.air import AirOfModel, AirRecord
from inspections.models.checklists import Checklist
from inspections.models.damage_reports import DamageReport, ReportPhoto
from inspections.models.inspections import Finding, Inspection
from inspections.models.not_seen import NotSeen
from inspections.models.part_stock import PartStock, StockEntry
from inspections.models.parts import ApprovedPart, Faceguard, PadChange, PadPosition, PartPolicy

__all__ = [
    "AirOfModel",
    "AirRecord",
    "ApprovedPart",
    "Checklist",
    "DamageReport",
    "Faceguard",
    "Finding",
    "Inspection",
    "NotSeen",
    "PadChange",
    "PadPosition",
    "PartPolicy",
    "PartStock",
    "ReportPhoto",
    "StockEntry",
]
