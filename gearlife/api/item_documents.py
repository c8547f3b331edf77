"""What is shown of items and their holds: documents of the OpenAPI description, never run."""

from typing import Any

from rest_framework import serializers

from gearlife.api.words import WordField
from gearlife.domain.vocabulary import (
    Advice,
    Effect,
    Evidence,
    HoldCause,
    HoldEndsBy,
    Kind,
    ReleaseBasis,
    Standing,
    Whereabouts,
)

NO_STOP = (
    "`retired`, `stopped`, or `no_stop`: no recorded reason to stop. It is a statement about the records and not about "
    "the item."
)
HOLD_STATES = ("open", "proposed", "released")


class GateReasonRow(serializers.Serializer[Any]):
    """One reason, with its rule in words."""

    code = serializers.CharField()
    detail = serializers.CharField()
    effect = WordField(Effect)
    falls_on = serializers.DateField(allow_null=True, help_text="Null: a date that is not known.")


class ClockRow(serializers.Serializer[Any]):
    """One limit: what it is, how much of it is used, what remains, when it falls, and by which rule."""

    code = serializers.CharField()
    limit = serializers.CharField()
    used = serializers.CharField(allow_null=True)
    remaining = serializers.CharField(allow_null=True)
    remaining_days = serializers.IntegerField(allow_null=True, help_text="Negative once it has fallen.")
    falls_on = serializers.DateField(allow_null=True, help_text="Null: a date that is not known; it has fallen.")
    effect = WordField(Effect)
    anchor_on = serializers.DateField(allow_null=True)
    rule = serializers.UUIDField(allow_null=True)
    source = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class
    mark = serializers.CharField(help_text="How far the rule's source was read.")
    because = serializers.CharField()


class OpenHoldRow(serializers.Serializer[Any]):
    """A hold that has not been ended; it may begin on a later day."""

    id = serializers.UUIDField()
    cause = WordField(HoldCause)
    reason = serializers.CharField()
    reference = serializers.CharField()
    starts_on = serializers.DateField()
    in_force = serializers.BooleanField()
    opened_at = serializers.DateTimeField()
    opened_by = serializers.CharField(allow_null=True)
    ends_by = WordField(HoldEndsBy, help_text="Whose act ends it.")
    named_person = serializers.CharField(allow_null=True)
    advice = WordField(Advice)
    proposed_by = serializers.CharField(allow_null=True)
    told_whom = serializers.CharField()
    told_at = serializers.DateTimeField(allow_null=True)


class HoldRow(OpenHoldRow):
    """A hold with its state, and what it leaves its item at."""

    item = serializers.UUIDField()
    state = serializers.ChoiceField(choices=HOLD_STATES)
    item_standing = WordField(Standing, help_text=NO_STOP)
    proposed_at = serializers.DateTimeField(allow_null=True)
    proposed_reason = serializers.CharField()
    photo = serializers.UUIDField(allow_null=True)
    released_at = serializers.DateTimeField(allow_null=True)
    released_by = serializers.CharField(allow_null=True)
    release_reason = serializers.CharField()
    release_basis = WordField(ReleaseBasis, allow_null=True)


class RecallsRow(serializers.Serializer[Any]):
    """What these records know of recalls: nothing, and they say so of every item."""

    checked = serializers.BooleanField(help_text="Always false.")
    detail = serializers.CharField()


class ProposedCorrectionRow(serializers.Serializer[Any]):
    """A correction of a retirement that one person has proposed."""

    id = serializers.UUIDField()
    retired_on = serializers.DateField()
    retired_reason = serializers.CharField()
    right_item = serializers.UUIDField(allow_null=True, help_text="What should have been retired, if registered.")
    right_serial = serializers.CharField()
    photo = serializers.UUIDField()
    proposed_by = serializers.CharField(allow_null=True)
    proposed_at = serializers.DateTimeField()
    proposed_reason = serializers.CharField()


class CorrectionRow(ProposedCorrectionRow):
    """A correction with its state, and what it leaves its item at."""

    item = serializers.UUIDField()
    state = serializers.ChoiceField(choices=("proposed", "corrected"))
    agreed_at = serializers.DateTimeField(allow_null=True)
    agreed_by = serializers.CharField(allow_null=True)
    agreed_reason = serializers.CharField()
    item_standing = WordField(Standing, help_text=NO_STOP)


class ItemRow(serializers.Serializer[Any]):
    """A helmet or a set of shoulder pads."""

    id = serializers.UUIDField()
    serial = serializers.CharField(allow_null=True, help_text="Null: no serial of the maker can be read.")
    tag = serializers.CharField(allow_null=True)
    kind = WordField(Kind)
    model = serializers.UUIDField()
    model_name = serializers.CharField()
    manufacturer = serializers.UUIDField()
    manufacturer_name = serializers.CharField()
    size = serializers.CharField()
    colour = serializers.CharField()
    notes = serializers.CharField()
    made_on = serializers.CharField(allow_null=True, help_text="A year, a month or a day (EDTF).")
    made_on_evidence = WordField(Evidence)
    made_for_one_player = serializers.BooleanField()
    add_ons = serializers.ListField(child=serializers.CharField())
    acquired_on = serializers.DateField(allow_null=True)
    certified_on = serializers.DateField(allow_null=True, help_text="From when its last recertification counts.")
    club = serializers.UUIDField()
    team = serializers.UUIDField(allow_null=True)
    whereabouts = WordField(Whereabouts)
    retired_on = serializers.DateField(allow_null=True)
    retired_reason = serializers.CharField()
    standing = WordField(Standing, help_text=NO_STOP)
    issuable = serializers.BooleanField(help_text="Whether nothing recorded speaks against issuing it now.")
    not_issuable_because = GateReasonRow(many=True)
    warnings = GateReasonRow(many=True)
    held_by = serializers.UUIDField(allow_null=True, help_text="The player who has it.")
    clocks = ClockRow(many=True, help_text="Each limit, the earliest fall first.")
    holds = OpenHoldRow(many=True)
    recalls = RecallsRow()
    retirement_correction = ProposedCorrectionRow(
        allow_null=True, help_text="Proposed by one person; another, by an own call, completes it."
    )


class EventRow(serializers.Serializer[Any]):
    """One event of the ledger; facts name people and players by their ids alone."""

    seq = serializers.IntegerField()
    at = serializers.DateTimeField()
    actor = serializers.CharField(allow_null=True, help_text="User name; null: the program itself.")
    action = serializers.CharField()
    words = serializers.CharField()
    facts = serializers.DictField()
