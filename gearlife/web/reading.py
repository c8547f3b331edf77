"""What was typed into a form: read by Django's fields, refused in our words, each fault with its field's name."""

from typing import Any

from django.forms import Form

from gearlife.domain.errors import Fault, InvalidInputError


def read(form: Form) -> dict[str, Any]:
    """The cleaned values of a bound form; InvalidInputError with every fault, named by the field's label."""
    if form.is_valid():
        return form.cleaned_data
    faults = [
        Fault(f"{form.fields[name].label or name}: {message}" if name in form.fields else str(message), f"/{name}")
        for name, messages in form.errors.items()
        for message in messages
    ]
    raise InvalidInputError("what was typed cannot be taken as it is", faults=faults)
