"""The tables of fitting."""

from fitting.models.assignments import Assignment
from fitting.models.fits import Fit, PlayerChange
from fitting.models.measurements import Measurement, MeasurementRead
from fitting.models.players import Player
from fitting.models.size_charts import SizeChart

__all__ = ["Assignment", "Fit", "Measurement", "MeasurementRead", "Player", "PlayerChange", "SizeChart"]
