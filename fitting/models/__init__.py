"""The tables of fitting."""

from fitting.models.assignments import Assignment
from fitting.models.fits import Fit, PlayerChange
from fitting.models.players import Measurement, Player

__all__ = ["Assignment", "Fit", "Measurement", "Player", "PlayerChange"]
