"""Taking in clubs' own files: a registry of kinds of file, and one act for all of them."""

from gearlife.operations.intake.registry import FileKind, Plan, known_kinds, register_file_kinds
from gearlife.operations.intake.taking_in import Report, take_in
from gearlife.operations.intake.waiting_files import put_by

__all__ = ["FileKind", "Plan", "Report", "known_kinds", "put_by", "register_file_kinds", "take_in"]
