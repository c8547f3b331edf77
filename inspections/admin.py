"""The operators' pages: checklists, and what was looked at and found."""

from gearlife.admin import show
from inspections.models import AirOfModel, AirRecord, Checklist, Finding, Inspection, NotSeen

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
