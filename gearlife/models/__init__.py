"""The tables of gearlife."""

from gearlife.models.alerts import Alert, Sweep
from gearlife.models.base import Owned, OwnedQuerySet
from gearlife.models.catalogue import GearModel, Manufacturer
from gearlife.models.certifications import Certification
from gearlife.models.clocks import Clock
from gearlife.models.corrections import RetirementCorrection
from gearlife.models.creation import Creation
from gearlife.models.enums import one_of, word_field
from gearlife.models.holds import Hold, OfItemQuerySet
from gearlife.models.intakes import FileInHand, Intake
from gearlife.models.items import Item, ItemQuerySet
from gearlife.models.ledger import LedgerEvent, LedgerHead, LedgerWords
from gearlife.models.organisations import Club, OfClubQuerySet, Organisation, Season, Team
from gearlife.models.outbox import OutboxMessage
from gearlife.models.people import AccessToken, Membership, User
from gearlife.models.photos import Photo
from gearlife.models.policy import PolicyRule
from gearlife.models.proposals import Proposed
from gearlife.models.signing_in import CodeToSignIn, FailedSignIn, SignInSession

__all__ = [
    "AccessToken",
    "Alert",
    "Certification",
    "Clock",
    "Club",
    "CodeToSignIn",
    "Creation",
    "FailedSignIn",
    "FileInHand",
    "GearModel",
    "Hold",
    "Intake",
    "Item",
    "ItemQuerySet",
    "LedgerEvent",
    "LedgerHead",
    "LedgerWords",
    "Manufacturer",
    "Membership",
    "OfClubQuerySet",
    "OfItemQuerySet",
    "Organisation",
    "OutboxMessage",
    "Owned",
    "OwnedQuerySet",
    "Photo",
    "PolicyRule",
    "Proposed",
    "RetirementCorrection",
    "Season",
    "SignInSession",
    "Sweep",
    "Team",
    "User",
    "one_of",
    "word_field",
]
