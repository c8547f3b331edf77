"""What fitting adds to the pages of gear: places, acts on an item, words."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from fitting.domain.counted_gear import CountedKind
from fitting.domain.fits import Remedy
from fitting.domain.measuring import Agreement
from fitting.domain.roles import MEASURERS
from fitting.domain.vocabulary import BodyChange, ChartMeasure, MeasurementKind, Protocol, RecordedAs, Tape
from fitting.web.sections import lacks_on_the_sheet, lacks_today, out_today
from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.vocabulary import Advice, Standing, Whereabouts
from gearlife.web.item import may
from gearlife.web.registry import ItemAct, MorningPart, Place, Section
from gearlife.web.words import Words

Row = Mapping[str, Any]


def _in_stock(row: Row, actor: Actor) -> bool:
    """What nothing stops may be tried; the gate says the rest."""
    free = row["whereabouts"] == Whereabouts.STOCK and row["standing"] == Standing.NO_STOP
    return free and may(actor, WRITERS, row.get("club"))


def _on_player(row: Row, actor: Actor) -> bool:
    return row["whereabouts"] == Whereabouts.PLAYER and may(actor, WRITERS, row.get("club"))


PLACES = (
    Place(_("Players"), "fitting:players", 40, every_day=True),
    Place(_("Gear out"), "fitting:gear-out", 42),
    Place(_("Measuring"), "fitting:measuring", 45, MEASURERS),
    Place(_("Fitting plan"), "fitting:plans", 46),
)
ITEM_ACTS = (
    ItemAct(
        text=_("Replace it"),
        url_name="fitting:replace",
        order=10,
        applies=_on_player,
        answers=frozenset({Advice.REPLACE}),
        on_stop=_("Take it off: what could replace it"),
    ),
    ItemAct(_("Take it back"), "fitting:take-back", 20, _on_player, frozenset({Advice.RETURN})),
    ItemAct(_("Fit it again"), "fitting:refit", 30, _on_player, frozenset({Advice.REFIT})),
    ItemAct(_("Hand it out"), "fitting:hand-out", 10, _in_stock),
    ItemAct(_("Set it up as a loaner"), "fitting:loaner", 40, _in_stock),
)
SECTIONS = (
    Section("fitting/_lacks_today.html", order=10, context=lacks_today),
    Section("fitting/_out_today.html", order=35, context=out_today),
)
MORNING_PARTS = (MorningPart("fitting/_lacks_morning.html", order=5, context=lacks_on_the_sheet),)
WORDS: Words = {
    CountedKind.GIRDLE: _("girdle"),
    CountedKind.LEG_PADS: _("leg pads"),
    CountedKind.PANTS: _("pants"),
    CountedKind.JERSEY: _("jersey"),
    CountedKind.MOUTHGUARD: _("mouthguard"),
    RecordedAs.ISSUED: _("handed out"),
    RecordedAs.ALREADY_WORN: _("worn already when it was recorded"),
    Remedy.ADJUST: _("adjust it by the maker's instruction"),
    Remedy.TIGHTEN: _("tighten the straps"),
    Remedy.THICKER_PAD: _("a thicker pad where it is loose"),
    Remedy.THINNER_PAD: _("a thinner pad where it is tight"),
    Remedy.OTHER_SIZE: _("another size"),
    Remedy.OTHER_MODEL: _("another model"),
    BodyChange.HAIRCUT: _("The hair was cut, or is worn otherwise"),
    BodyChange.WEIGHT: _("The weight has changed"),
    MeasurementKind.HEAD_CIRCUMFERENCE: _("round the head"),
    MeasurementKind.CHEST_CIRCUMFERENCE: _("round the chest"),
    MeasurementKind.SHOULDER_WIDTH: _("across the shoulders"),
    ChartMeasure.WEIGHT: _("weight"),
    Protocol.FINGER_ABOVE_BROWS: _("an inch above the eyebrows, level all round"),
    Protocol.BROWS_AND_EARS: _("just above eyebrows and ears"),
    Protocol.LARGEST_GIRTH: _("where the head is largest, over the bulge at the back"),
    Protocol.FULLEST_CHEST: _("where the chest is fullest, arms hanging"),
    Protocol.HIGH_UNDER_ARMS: _("high under the arms"),
    Protocol.TIP_TO_TIP: _("shoulder tip to shoulder tip, along the back's contour"),
    Protocol.JOINT_TO_JOINT: _("from the joint at one collarbone's end to the other, along the contour"),
    Tape.CLOTH: _("cloth, does not stretch"),
    Tape.STEEL: _("steel"),
    Tape.PAPER: _("paper"),
    Tape.STRETCHING: _("stretches"),
    Agreement.ONE: _("One reading: try both sizes."),
    Agreement.THIRD_WANTED: _("Two readings too far apart: a third is wanted."),
    Agreement.DISAGREE: _("The readings disagree: measure again."),
}
