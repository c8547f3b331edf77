"""Taking in clubs' own files: a registry of kinds of file, and one act for all of them."""

from gearlife.operations.intake.registry import FileKind, Plan, known_kinds, register_file_kinds
from gearlife.operations.intake.taking_in import Preview, Report, marked_copy, preview, take_in
from gearlife.operations.intake.waiting_files import put_by

__all__ = [
    "FileKind",
    "Plan",
    "Preview",
    "Report",
    "known_kinds",
    "marked_copy",
    "preview",
    "put_by",
    "register_file_kinds",
    "take_in",
]
