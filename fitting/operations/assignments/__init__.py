"""Who has what: issue through the gate, record what is worn already, take back."""

from fitting.operations.assignments.issuing import issue, issue_all
from fitting.operations.assignments.returning import Return, end_those_of_missing, return_all, return_item
from fitting.operations.assignments.taking_off import take_off
from fitting.operations.assignments.wanted import NewAssignment
from fitting.operations.assignments.worn import record_already_worn, record_worn

__all__ = [
    "NewAssignment",
    "Return",
    "end_those_of_missing",
    "issue",
    "issue_all",
    "record_already_worn",
    "record_worn",
    "return_all",
    "return_item",
    "take_off",
]
