"""Plans of who gets what: make one, apply it, put back what it set aside."""

from fitting.operations.plans.applying import apply_plan, put_back
from fitting.operations.plans.making import NewPlan, make_plan

__all__ = ["NewPlan", "apply_plan", "make_plan", "put_back"]
