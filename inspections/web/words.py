"""The words on the pages for the codes of inspections."""

from django.utils.translation import gettext_lazy as _

from gearlife.web.words import Words
from inspections.domain.air_records import Said
from inspections.domain.choices import Consequence
from inspections.domain.part_stock import StockAct
from inspections.domain.parts import PartSort
from inspections.domain.vocabulary import Depth, EnteredBy, Grade, LooksLike, ReportState

WORDS: Words = {
    Grade.NOTHING_FOUND: _("nothing found"),
    Grade.WEAR: _("wear, noted"),
    Grade.REPAIR: _("to be repaired"),
    Grade.STOP: _("comes off"),
    Grade.SCRAP: _("comes off, for good"),
    Depth.LOOK: _("a look"),
    Depth.FULL: _("a full inspection"),
    LooksLike.MINOR: _("minor"),
    LooksLike.UNSURE: _("not sure"),
    LooksLike.DANGEROUS: _("dangerous"),
    ReportState.NEW: _("new"),
    ReportState.UNDER_REVIEW: _("somebody is on it"),
    ReportState.CONFIRMED: _("confirmed"),
    ReportState.DISMISSED: _("dismissed"),
    EnteredBy.FROM_PAPER: _("from paper"),
    Said.FIRM: _("firm"),
    Said.WILL_NOT_HOLD: _("will not hold"),
    Said.READ: _("read by a gauge"),
    Said.ADDED: _("air added"),
    Said.RELEASED: _("air released"),
    Consequence.OFF_AS_CRACKED: _(
        "It comes off at once. Only two people, with a photograph, may say that it was no crack."
    ),
    Consequence.OFF_FOR_GOOD: _("It comes off at once, for good."),
    Consequence.OFF: _("It comes off at once, until it has been dealt with."),
    Consequence.REPAIR: _("To be repaired, within a week where no day is given; until then it may be worn."),
    PartSort.PAD: _("a pad"),
    PartSort.JAW_PAD: _("a jaw pad"),
    PartSort.LINER: _("a liner"),
    PartSort.FACEGUARD: _("a faceguard"),
    PartSort.CHIN_STRAP: _("a chin strap"),
    PartSort.STRAP: _("a strap or belt"),
    PartSort.CLIP: _("a clip"),
    PartSort.SNAP: _("a snap"),
    StockAct.DELIVERED: _("delivered"),
    StockAct.COUNTED: _("counted"),
    StockAct.USED: _("put into"),
    Consequence.WEAR: _("Wear: noted, and nothing more comes of it."),
}
