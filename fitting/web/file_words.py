"""The columns of the files of players and of who wears what, in words."""

from django.utils.translation import gettext_lazy as _

from gearlife.web.columns import FileWords

PLAYERS = FileWords(
    title=_("Players"),
    purpose=_("who plays, one row each"),
    columns={
        "jersey_number": _("0 to 99. Empty where none is given yet."),
        "given_name": _("The given name."),
        "family_name": _("The family name."),
        "birth_year": _("The year of birth: it tells two players of one name apart."),
        "team": _("The team's name. A team that is not known yet is made, and listed before."),
        "position": _("The position, as you write it."),
        "head_circumference_mm": _("The head, in millimetres: 574."),
        "chest_circumference_mm": _("The chest, in millimetres."),
        "shoulder_width_mm": _("Shoulder tip to shoulder tip, in millimetres."),
        "measured_on": _("The day on which this was measured."),
    },
)
WORN = FileWords(
    title=_("Who wears what"),
    purpose=_("what players have already, one item a row: recorded as it is, whatever speaks against it"),
    columns={
        "serial": _("The item's serial, as the records have it."),
        "tag": _("The club's tag, where it has no serial."),
        "given_name": _("The player's given name."),
        "family_name": _("The player's family name."),
        "birth_year": _("Only where two players have this name."),
        "since": _("The day since when it is worn. Empty: from now on."),
    },
)
