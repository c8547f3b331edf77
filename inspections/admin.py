"""The operators' pages: checklists, what was looked at and found, and parts."""

from gearlife.admin import show
from inspections.models import (
    AirOfModel,
    AirRecord,
    ApprovedPart,
    Checklist,
    DamageReport,
    Faceguard,
    Finding,
    Inspection,
    NotSeen,
    PadChange,
    PadPosition,
    PartPolicy,
    PartStock,
    ReportPhoto,
    StockEntry,
)

show(Checklist, "organisation", "kind", "revision", "created_at", more=("points",))
show(
    Inspection,
    *("item", "depth", "inspected_at", "outcome", "entered_by", "recorded_by"),
    more=("checklist", "recorded_at", "looked_by", "not_looked_at"),
)
show(Finding, "inspection", "point", "defect", "grade", "counts_as", "fixed_here", more=("part", "deal_with_by"))
show(NotSeen, "item", "player", "noted_at", "recorded_at", "recorded_by")
show(
    AirRecord,
    *("item", "cell", "act", "felt", "counts_as", "happened_at", "recorded_by"),
    more=("pressure_kpa", "temperature_c", "elevation_m", "barometric_kpa", "strokes", "recorded_at"),
)
show(AirOfModel, "model", "cells", "lowest_kpa", "highest_kpa", "stated_in", "outside_counts_as")
show(PadPosition, "model", "code", "label", "sort", "count", "required")
show(ApprovedPart, "position", "part", "maker", "size", "thickness_mm", more=("stated_in",))
show(Faceguard, "club", "label", "part", "certified_on", "label_year", "discarded_on", more=("maker", "size"))
show(
    PadChange,
    *("item", "position", "part", "thickness_mm", "approved", "changed_at", "recorded_by"),
    more=("size", "count", "faceguard", "as_found", "recorded_at"),
)
show(PartPolicy, "organisation", "hold_unapproved", "decided_at", "decided_by", more=("reason",))
show(PartStock, "club", "part", "count", "count_again", "counted_at")
show(StockEntry, "club", "part", "act", "count", "happened_at", "recorded_by", more=("recorded_at", "change"))
show(
    DamageReport,
    *("club", "item", "seen_at", "received_at", "counts_as", "state"),
    more=("severity", "reported_by", "decided_at", "decided_by"),
)
show(ReportPhoto, "report", "photo")
