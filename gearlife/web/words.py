"""The words on the pages for the codes of the records. Each package adds its own."""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from gearlife.domain.vocabulary import (
    Advice,
    CertificationKind,
    Counts,
    Effect,
    Evidence,
    HoldCause,
    IntakeState,
    Kind,
    LabelYearMeans,
    Liner,
    ReleaseBasis,
    Role,
    Standing,
    Units,
    Whereabouts,
)

Words = Mapping[str, str | Promise]

_known: dict[str, str | Promise] = {
    Kind.HELMET: _("helmet"),
    Kind.SHOULDER_PADS: _("shoulder pads"),
    Liner.AIR: _("air liner"),
    Liner.FOAM: _("foam liner"),
    Liner.MIXED: _("air and foam"),
    Whereabouts.STOCK: _("in the room"),
    Whereabouts.PLAYER: _("on a player"),
    Whereabouts.RECONDITIONER: _("at the reconditioner"),
    Whereabouts.MISSING: _("missing"),
    Whereabouts.DISPOSED: _("disposed of"),
    Standing.RETIRED: _("retired"),
    Standing.STOPPED: _("must not be worn"),
    Standing.NO_STOP: _("no recorded reason to stop"),
    Effect.STOP: _("must not be worn"),
    Effect.NO_ISSUE: _("not to be handed out"),
    Effect.WARN: _("a warning"),
    Advice.RETIRE: _("retire it"),
    Advice.RECONDITION: _("send it to the reconditioner"),
    Advice.REPLACE: _("replace it"),
    Advice.INSPECT: _("look it over"),
    Advice.REFIT: _("fit it again"),
    Advice.TOP_UP_AIR: _("look after the air"),
    Advice.RETURN: _("take it back"),
    Advice.CHECK_RECORDS: _("complete the records"),
    Evidence.LABEL: _("label on the item"),
    Evidence.INVOICE: _("invoice"),
    Evidence.MAKERS_LETTER: _("maker's letter"),
    Evidence.RECONDITIONERS_FILE: _("reconditioner's file"),
    Evidence.DEDUCED: _("deduced"),
    Evidence.CLUBS_FILE: _("the club's own file"),
    Evidence.UNKNOWN: _("not known"),
    CertificationKind.ORIGINAL: _("original certification"),
    CertificationKind.RECERTIFICATION: _("recertification"),
    CertificationKind.RECONDITIONING: _("reconditioning"),
    LabelYearMeans.WORK: _("the year of the work"),
    LabelYearMeans.SEASON: _("the season it is for"),
    ReleaseBasis.DEALT_WITH: _("dealt with"),
    ReleaseBasis.NOT_A_CRACK: _("not a crack"),
    ReleaseBasis.RECONDITIONER_ACCEPTED: _("accepted by a licensed reconditioner"),
    Role.ADMINISTRATOR: _("administrator"),
    Role.AUDITOR: _("auditor"),
    Role.OFFICER: _("equipment manager"),
    Role.COACH: _("coach"),
    Role.DAMAGE_REPORTER: _("damage reporter"),
    ReleaseBasis.RETIRED: _("with the item's retirement"),
    Units.INCHES: _("inches"),
    Units.CENTIMETRES: _("centimetres"),
    IntakeState.WAITING: _("waits for its turn"),
    IntakeState.RUNNING: _("is being taken in"),
    IntakeState.DONE: _("taken in"),
    IntakeState.REFUSED: _("refused"),
    Counts.MONTHS: _("months"),
    Counts.DAYS: _("days"),
    Counts.SEASONS: _("seasons"),
    Counts.SEASON_YEARS: _("season years"),
}

# Codes that say something else in another list: who decided on a hold is an `officer`, like the role.
_of_lists: Mapping[str, Words] = {
    "cause": {
        HoldCause.FINDING: _("found when it was looked over"),
        HoldCause.DAMAGE_REPORT: _("somebody reported damage"),
        HoldCause.NOTICE: _("a maker's notice"),
        HoldCause.INCIDENT: _("a blow or an injury: it is put aside untouched"),
        HoldCause.PARTS: _("a part that is missing, or that the maker does not approve"),
        HoldCause.OFFICER: _("decided by who is responsible"),
    },
}


def register_page_words(words: Words) -> None:
    """Add the words for a package's own codes."""
    _known.update(words)


def words_for(code: str, of: str = "") -> str:
    """What a page says for a code; a code without words of its own is read as it is written.

    `of` names the list for a code that says something else elsewhere: `cause` of a hold.
    """
    return str(_of_lists.get(of, {}).get(code) or _known.get(code, code.replace("_", " ")))
