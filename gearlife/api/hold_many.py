"""`items/hold-many/`: what a maker's notice names, and what came of it."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from rest_framework import serializers

from gearlife.api.reading import Row, Rows
from gearlife.api.serializers import PartialDateField, Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.affected import IN_DOUBT, Search, Why
from gearlife.domain.serial_ranges import SerialRange
from gearlife.domain.vocabulary import HoldCause, Whereabouts
from gearlife.models import GearModel, Manufacturer
from gearlife.operations.holding_many import Line, Notice, Outcome

MOST_SERIALS = 2000
MOST_RANGES = 200
SEARCHED = ("serials", "ranges", "made_from", "made_to")


class RangeBody(StrictSerializer):
    """The first and the last serial of a range, both in it; they differ in one number and in nothing else."""

    to = serializers.CharField(max_length=64)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """`from` is a word of the language, so it cannot be declared as the others are."""
        return {"from": serializers.CharField(max_length=64), **super().get_fields()}

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Read it as a range of serials."""
        try:
            return attrs | {"range": SerialRange.between(attrs["from"], attrs["to"])}
        except ValueError as error:
            raise serializers.ValidationError(str(error), "range") from error


class HoldManyBody(StrictSerializer):
    """A model, or a maker for all its models; serials, ranges or a span of manufacture; why; the notice's reference."""

    model = Reference(GearModel, select=("manufacturer",), required=False)
    manufacturer = Reference(Manufacturer, required=False)
    serials = serializers.ListField(
        child=serializers.CharField(max_length=64),
        max_length=MOST_SERIALS,
        default=list,
        help_text="Of any model of the maker's. What differs by dashes, blanks or leading zeros is held as well.",
    )
    ranges = RangeBody(many=True, required=False, max_length=MOST_RANGES)
    made_from = PartialDateField(required=False, allow_null=True)
    made_to = PartialDateField(required=False, allow_null=True)
    cause = WordField(HoldCause, default=HoldCause.NOTICE, help_text="Not `incident`: that one names a person.")
    reason = serializers.CharField(max_length=500)
    reference = serializers.CharField(max_length=80, help_text="Tells notices apart: one hold an item of each.")
    check = serializers.BooleanField(default=False, help_text="Answer what would be held, and change nothing.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One of model and maker; something to search by; a span that is none reversed."""
        faults: dict[str, str] = {}
        if ("model" in attrs) == ("manufacturer" in attrs):
            faults["model"] = "give either the model, or the manufacturer for all its models"
        if not any(attrs.get(name) for name in SEARCHED):
            faults["serials"] = "give serials, ranges, or a span of manufacture (`made_from`, `made_to`)"
        first, last = attrs.get("made_from"), attrs.get("made_to")
        if first and last and first.earliest > last.latest:
            faults["made_to"] = "the span is reversed: it ends before it begins"
        if attrs["cause"] is HoldCause.INCIDENT:
            faults["cause"] = "an incident's hold names one person: hold its item by itself"
        if faults:
            raise serializers.ValidationError(faults)
        return attrs


class HeldLineRow(serializers.Serializer[Any]):
    """One affected item.

    `why` is `looks_listed`, `not_comparable`, `no_maker_serial` or `date_unknown` where nothing shows either.
    """

    item = serializers.UUIDField()
    serial = serializers.CharField(allow_null=True)
    tag = serializers.CharField(allow_null=True)
    model = serializers.UUIDField()
    club = serializers.UUIDField()
    whereabouts = WordField(Whereabouts)
    why = WordField(Why)
    hold = serializers.UUIDField(allow_null=True, help_text="The notice's; null: only checked.")


class HeldCountsRow(serializers.Serializer[Any]):
    """How many of each; `worn` are those that a player has now and must not wear."""

    held = serializers.IntegerField()
    already_held = serializers.IntegerField()
    not_comparable = serializers.IntegerField()
    released_before = serializers.IntegerField()
    retired = serializers.IntegerField()
    unknown_serials = serializers.IntegerField()
    worn = serializers.IntegerField()


class HeldManyRow(serializers.Serializer[Any]):
    """What came of the notice, or with `check` would come of it."""

    check = serializers.BooleanField()
    counts = HeldCountsRow()
    held = HeldLineRow(many=True)
    already_held = HeldLineRow(many=True)
    not_comparable = HeldLineRow(many=True, help_text="Those of the two before that nothing shows to be affected.")
    released_before = HeldLineRow(many=True, help_text="This notice's hold was ended; it is not opened again.")
    retired = HeldLineRow(many=True, help_text="Nothing to do: the hold ended as it was opened.")
    unknown_serials = serializers.ListField(child=serializers.CharField(), help_text="Asked for, and not registered.")


def notice_of(data: Mapping[str, Any], sent: Any) -> Notice:  # noqa: ANN401 - what a client sent
    """The valid body as the operation takes it; the ledger keeps what was asked as it was sent."""
    model, first, last = data.get("model"), data.get("made_from"), data.get("made_to")
    search = Search(
        serials=data["serials"],
        ranges=[each["range"] for each in data.get("ranges", ())],
        made_from=first.earliest if first else None,
        made_to=last.latest if last else None,
    )
    return Notice(
        search=search,
        reason=data["reason"],
        reference=data["reference"],
        manufacturer=model.manufacturer if model else data["manufacturer"],
        model=model,
        cause=data["cause"],
        serials=data["serials"],
        asked={name: sent[name] for name in sent if name != "check"},
    )


def answer_of(outcome: Outcome, *, check: bool) -> Row:
    """The outcome as the API shows it, in lines and in numbers."""
    lines: dict[str, Sequence[object]] = {
        "held": _lines(outcome.held),
        "already_held": _lines(outcome.already_held),
        "not_comparable": _lines(line for line in outcome.stopped if line.why in IN_DOUBT),
        "released_before": _lines(outcome.released_before),
        "retired": _lines(outcome.retired),
        "unknown_serials": outcome.unknown_serials,
    }
    worn = sum(line.item.whereabouts == Whereabouts.PLAYER for line in outcome.stopped)
    return {"check": check, "counts": {name: len(lines[name]) for name in lines} | {"worn": worn}} | lines


def _lines(lines: Iterable[Line]) -> Rows:
    return [
        {
            "item": line.item.id,
            "serial": line.item.serial or None,
            "tag": line.item.tag or None,
            "model": line.item.model_id,
            "club": line.item.club_id,
            "whereabouts": line.item.whereabouts,
            "why": line.why,
            "hold": line.hold_id,
        }
        for line in lines
    ]
