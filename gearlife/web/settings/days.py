"""Days in forms: the browser's own field for a day, written as 2026-08-15 where it has none."""

from typing import Any

from django import forms

ISO = "%Y-%m-%d"


class DayInput(forms.DateInput):
    """A field for a day."""

    input_type = "date"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        """Written as browsers want it, whatever the reader's language is."""
        super().__init__(attrs, format=ISO)


class DayField(forms.DateField):
    """A day, as 2026-08-15."""

    widget = DayInput
    input_formats = [ISO]
