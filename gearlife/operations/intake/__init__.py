"""Taking in clubs' own files: a registry of kinds of file, and one act for all of them."""

from gearlife.operations.intake.files_in_hand import forget_files_of
from gearlife.operations.intake.registry import FileKind, Plan, known_kinds, register_file_kinds
from gearlife.operations.intake.taking_in import Preview, Report, marked_copy, preview, take_in
from gearlife.operations.intake.waiting_files import put_by, refuse_while_files_wait

__all__ = [
    "FileKind",
    "Plan",
    "Preview",
    "Report",
    "forget_files_of",
    "known_kinds",
    "marked_copy",
    "preview",
    "put_by",
    "refuse_while_files_wait",
    "register_file_kinds",
    "take_in",
]
