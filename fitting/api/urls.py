"""The addresses of fitting's part of the API."""

from django.urls import path

from fitting.api.assignments import Assignments
from fitting.api.counted_gear import CountedLines, CountedReturns
from fitting.api.fits import Fits
from fitting.api.loaners import Loaners
from fitting.api.measurements import Measurements
from fitting.api.plans import AllocationPlans, PlanLines, SetAsides
from fitting.api.players import Players
from fitting.api.receipts import Receipts
from fitting.api.replacements import Replacements
from fitting.api.retention import RetentionRules
from fitting.api.size_charts import SizeCharts
from gearlife.api.routing import Router

RESOURCES = (
    *(Players, Assignments, CountedLines, CountedReturns, Receipts, RetentionRules),
    *(Fits, Loaners, Measurements, SizeCharts, AllocationPlans, PlanLines, SetAsides),
)

urlpatterns = [
    *Router(*RESOURCES).urls,
    path(
        "items/<str:id>/replacements/",
        Replacements.as_view({"get": "replacements"}, **Replacements.replacements.kwargs),
        name="items-replacements",
    ),
]
