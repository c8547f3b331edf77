"""The tables of fitting."""

from fitting.models.assignments import Assignment
from fitting.models.fits import Fit, PlayerChange
from fitting.models.measurements import Measurement, MeasurementRead
from fitting.models.plans import AllocationPlan, PlanLine, SetAside
from fitting.models.players import Player
from fitting.models.size_charts import SizeChart

__all__ = [
    "AllocationPlan",
    "Assignment",
    "Fit",
    "Measurement",
    "MeasurementRead",
    "PlanLine",
    "Player",
    "PlayerChange",
    "SetAside",
    "SizeChart",
]
