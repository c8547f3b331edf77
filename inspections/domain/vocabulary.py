"""The words of inspections."""

from enum import StrEnum


class Grade(StrEnum):
    """How bad a finding is, mildest first."""

    NOTHING_FOUND = "nothing_found"
    WEAR = "wear"
    REPAIR = "repair"
    STOP = "stop"
    SCRAP = "scrap"


class Depth(StrEnum):
    """How thoroughly an item was looked over; a look never counts as a full inspection."""

    LOOK = "look"
    FULL = "full"


class EnteredBy(StrEnum):
    """How the item was named."""

    SCANNED = "scanned"
    TAPPED = "tapped"
    FROM_PAPER = "from_paper"


class LooksLike(StrEnum):
    """How bad damage looks to whoever reports it, mildest first."""

    MINOR = "minor"
    UNSURE = "unsure"
    DANGEROUS = "dangerous"


class ReportState(StrEnum):
    """How far a damage report has come; the first two wait for somebody."""

    NEW = "new"
    UNDER_REVIEW = "under_review"
    CONFIRMED = "confirmed"
    DISMISSED = "dismissed"
