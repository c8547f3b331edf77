"""The tables of fitting."""

from fitting.models.assignments import Assignment
from fitting.models.counted_gear import CountedGear, CountedReturn
from fitting.models.fits import Fit, PlayerChange
from fitting.models.loaners import Loaner
from fitting.models.measurements import Measurement, MeasurementRead
from fitting.models.plans import AllocationPlan, PlanLine, SetAside
from fitting.models.players import Player
from fitting.models.receipts import Receipt
from fitting.models.retention import RetentionRule, RetentionRun
from fitting.models.size_charts import SizeChart

__all__ = [
    "AllocationPlan",
    "Assignment",
    "CountedGear",
    "CountedReturn",
    "Fit",
    "Loaner",
    "Measurement",
    "MeasurementRead",
    "PlanLine",
    "Player",
    "PlayerChange",
    "Receipt",
    "RetentionRule",
    "RetentionRun",
    "SetAside",
    "SizeChart",
]
