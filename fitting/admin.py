"""The operators' pages: players by number alone, and who has had what. No name and no measurement is shown there."""

from fitting.models import (
    AllocationPlan,
    Assignment,
    CountedGear,
    CountedReturn,
    Fit,
    Loaner,
    PlanLine,
    Player,
    PlayerChange,
    Receipt,
    RetentionRule,
    RetentionRun,
    SetAside,
    SizeChart,
)
from gearlife.admin import show

show(Player, "club", "team", "jersey_number", "version")
show(
    Assignment,
    *("item", "player", "recorded_as", "issued_at", "returned_at", "could_not_be_issued"),
    more=("kind", "loan", "replaces", "missing_parts", "reasons_against", "warnings", "recorded_at", "recorded_by"),
)
show(
    Fit,
    *("item", "player", "accepted", "fitted_at", "fitted_by"),
    more=("tries", "size", "recorded_at", "recorded_by"),
)
show(
    Loaner,
    *("item", "kind", "size", "prepared_at", "prepared_by", "ended_at"),
    more=("bands", "pads_and_air", "ended_by"),
)
show(PlayerChange, "player", "happened_on", "recorded_at", "recorded_by")
show(SizeChart, "model", "revision", "created_at", "created_by", more=("rows", "positions", "stated_in"))
show(
    AllocationPlan,
    *("club", "team", "season", "kind", "state", "asked_at", "applied_at", "planned", "without"),
    more=(
        "weights",
        "asked_by",
        "made_at",
        "applied_by",
        "cost",
        "short",
        "notes",
        "failed_because",
        "lease_until",
        "attempts",
    ),
)
show(
    PlanLine,
    "plan",
    "player",
    "kind",
    "outcome",
    "item",
    "size",
    "state",
    more=("likelihood", "because", "state_because"),
)
show(RetentionRule, "of", "months", "until_age", "mark", more=("source",))
show(
    RetentionRun,
    *("organisation", "day", "complete", "measurements", "fit_details", "access_log", "identity", "left_alone"),
    more=("started_at", "finished_at", "failed"),
)
show(SetAside, "item", "player", "kind", "plan", "made_at", "ended_at", more=("ended_by", "made_by"))
show(
    CountedGear,
    *("player", "kind", "count", "given_back", "lost", "handed_out_at"),
    more=("recorded_at", "recorded_by"),
)
show(CountedReturn, "counted_gear", "count", "lost", "returned_at", more=("recorded_at", "recorded_by"))
show(
    Receipt,
    *("player", "made_at", "made_by", "replaced_at", "acknowledged_at", "acknowledged_as"),
    more=("digest", "acknowledged_with", "seal"),
)
