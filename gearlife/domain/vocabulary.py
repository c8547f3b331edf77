"""The words that the database, the API and the rules share. One enum per word list."""

from enum import StrEnum


class Kind(StrEnum):
    """Kind of gear."""

    HELMET = "helmet"
    SHOULDER_PADS = "shoulder_pads"


class Liner(StrEnum):
    """What lines a helmet."""

    AIR = "air"
    FOAM = "foam"
    MIXED = "mixed"
    OTHER = "other"


class Whereabouts(StrEnum):
    """Where an item is; a column, moved only by recorded acts."""

    STOCK = "stock"
    PLAYER = "player"
    RECONDITIONER = "reconditioner"
    MISSING = "missing"
    DISPOSED = "disposed"


class Standing(StrEnum):
    """What the records say against use. `no_stop` means no recorded reason to stop, and never more than that."""

    RETIRED = "retired"
    STOPPED = "stopped"
    NO_STOP = "no_stop"


class Effect(StrEnum):
    """What a concern or a fallen clock does: forbids wearing, forbids issuing, or only warns."""

    STOP = "stop"
    NO_ISSUE = "no_issue"
    WARN = "warn"


class Severity(StrEnum):
    """How soon a hand is needed."""

    STOP = "stop"
    ACT = "act"
    PLAN = "plan"


class Advice(StrEnum):
    """What to do about it."""

    RETIRE = "retire"
    RECONDITION = "recondition"
    REPLACE = "replace"
    INSPECT = "inspect"
    REFIT = "refit"
    TOP_UP_AIR = "top_up_air"
    RETURN = "return"
    CHECK_RECORDS = "check_records"


class Stage(StrEnum):
    """How far an alert has come."""

    AHEAD = "ahead"
    DUE = "due"
    PAST = "past"


class Evidence(StrEnum):
    """How a day or a certification is known."""

    LABEL = "label"
    INVOICE = "invoice"
    MAKERS_LETTER = "makers_letter"
    RECONDITIONERS_FILE = "reconditioners_file"
    DEDUCED = "deduced"
    CLUBS_FILE = "clubs_file"
    UNKNOWN = "unknown"


class CertificationKind(StrEnum):
    """What was done. Reconditioned is not recertified: it is recorded and moves no clock."""

    ORIGINAL = "original"
    RECERTIFICATION = "recertification"
    RECONDITIONING = "reconditioning"


class LabelYearMeans(StrEnum):
    """What the year on a recertification label stands for; unknown counts as the earlier of the two."""

    WORK = "work"
    SEASON = "season"
    UNKNOWN = "unknown"


class Anchor(StrEnum):
    """The recorded event from which a clock counts."""

    MADE = "made"
    CERTIFIED = "certified"
    LOOK = "last_look"
    FULL_INSPECTION = "last_full_inspection"
    AIR_CHECK = "last_air_check"
    REFIT = "last_refit"
    CAME_BACK = "last_return"


class Counts(StrEnum):
    """The unit that a policy rule counts in."""

    MONTHS = "months"
    DAYS = "days"
    SEASONS = "seasons"
    SEASON_YEARS = "season_years"


class Comparator(StrEnum):
    """Whether the limit binds when the amount is reached, or only when it is passed."""

    REACHED = ">="
    PASSED = ">"


class HoldCause(StrEnum):
    """The recorded fact that opened a hold."""

    FINDING = "finding"
    DAMAGE_REPORT = "damage_report"
    NOTICE = "notice"
    INCIDENT = "incident"
    PARTS = "parts"
    OFFICER = "officer"


class HoldEndsBy(StrEnum):
    """Whose act ends a hold, or what must have been recorded before anybody's does."""

    OFFICER = "officer"
    NAMED_PERSON = "named_person"
    CRACK_RULE = "crack_rule"
    FULL_INSPECTION = "full_inspection"


class ReleaseBasis(StrEnum):
    """On what ground a hold is ended."""

    DEALT_WITH = "dealt_with"
    NOT_A_CRACK = "not_a_crack"
    RECONDITIONER_ACCEPTED = "reconditioner_accepted"
    RETIRED = "retired"


class Mark(StrEnum):
    """How well the source of a rule is known."""

    READ = "V"
    SECOND_HAND = "V2"
    FROM_MEMORY = "M"
    PRACTICE = "P"
    COMPUTED = "C"


class Role(StrEnum):
    """What a person or device may do."""

    ADMINISTRATOR = "administrator"
    AUDITOR = "auditor"
    OFFICER = "officer"
    COACH = "coach"
    DAMAGE_REPORTER = "damage_reporter"


class Units(StrEnum):
    """In what a person wants lengths to be shown; they are kept in millimetres."""

    INCHES = "inches"
    CENTIMETRES = "centimetres"


class MessageOutcome(StrEnum):
    """How a message ended: sent, its cause gone before it was, or handed on to others."""

    SENT = "sent"
    NOTHING_TO_SAY = "nothing_to_say"
    PASSED_ON = "passed_on"


class IntakeState(StrEnum):
    """How far a file has come; a large one waits for a worker."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    REFUSED = "refused"
