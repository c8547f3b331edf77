"""What every column says of a person, and what becomes of it when the person is removed: data, one word a column.

A column that holds text or hangs on a player and has no word here fails a test, so that a new one is decided upon.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from uuid import UUID


class About(StrEnum):
    """What a column says."""

    NAME = "name"  # who it is
    PERSON = "person"  # a fact of the person
    MEASUREMENT = "measurement"
    FIT = "fit"  # how the person wore it
    CHANGE = "change"  # what was reported of the body
    READ = "read"  # who was shown measurements
    HISTORY = "history"  # which gear, from when to when, in what state
    WORDS = "words"  # somebody typed it, or it was told in words: it may name a person
    GEAR = "gear"
    ACCOUNT = "account"  # of those who sign in
    SETTING = "setting"
    MACHINE = "machine"  # states, digests, keys: no words of people


class Then(StrEnum):
    """What removing a person does with a column."""

    LABEL = "label"
    CLEAR = "clear"
    DELETE_ROW = "delete_row"
    REWORD = "reword"
    KEEP = "keep"


THEN: Mapping[About, Then] = {
    About.NAME: Then.LABEL,
    About.PERSON: Then.CLEAR,
    About.MEASUREMENT: Then.DELETE_ROW,
    About.FIT: Then.CLEAR,
    About.CHANGE: Then.DELETE_ROW,
    About.READ: Then.DELETE_ROW,
    About.WORDS: Then.REWORD,
}


@dataclass(frozen=True)
class Table:
    """One table's columns. `item` and `player` are the paths to the gear and the person that its words are about.

    `names_apart`: a given or a family name by itself means the person there, whatever the row is about.
    """

    columns: Mapping[str, About]
    item: str = ""
    player: str = ""
    organisation: str = "organisation_id"
    names_apart: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """The columns in which a name is replaced."""
        return tuple(name for name, about in self.columns.items() if about is About.WORDS)


@dataclass(frozen=True)
class Removal:
    """Who is removed, as far as words go: `name` puts a label in the place of the name, `apart` of each part of it."""

    player_id: UUID
    items: frozenset[UUID]
    name: Callable[[str], str]
    apart: Callable[[str], str]
    counts: dict[str, int] = field(default_factory=dict)

    def words(self, value: object, *, is_own: bool) -> object:
        """A text, or every text inside a value of JSON, without the name."""
        match value:
            case str():
                return self.apart(value) if is_own else self.name(value)
            case list():
                return [self.words(part, is_own=is_own) for part in value]
            case dict():
                return {key: self.words(part, is_own=is_own) for key, part in value.items()}
        return value


def then(about: About) -> Then:
    """What becomes of such a column."""
    return THEN.get(about, Then.KEEP)


def table(*, item: str = "", player: str = "", organisation: str = "organisation_id", **columns: str) -> Table:
    """A table from its columns by what they say: `table(words="reason reference", gear="serial tag")`."""
    names_apart = bool(columns.pop("names_apart", ""))
    told = {name: About(about) for about, names in columns.items() for name in names.split()}
    return Table(told, item, player, organisation, names_apart)


def unclassified(known: Iterable[str], of: Table) -> list[str]:
    """Columns without a word."""
    return sorted(set(known) - set(of.columns))


TABLES: Mapping[str, Table] = {
    "gearlife.Hold": table(
        item="item_id",
        words="reason reference told_whom release_reason proposed_reason",
        machine="cause advice ends_by release_basis",
    ),
    "gearlife.RetirementCorrection": table(
        item="item_id", words="retired_reason agreed_reason proposed_reason", gear="right_serial"
    ),
    "gearlife.Item": table(
        item="id",
        words="notes retired_reason",
        gear="kind serial serial_key tag tag_key size colour made_on made_on_evidence add_ons whereabouts",
    ),
    "gearlife.Certification": table(item="item_id", gear="kind label_year_means evidence", words="firm"),
    "gearlife.Alert": table(
        item="item_id",
        player="player_id",
        words="because acknowledged_note told_whom put_off_reason",
        machine="key kind advice severity stage",
    ),
    "gearlife.Intake": table(names_apart="yes", words="filename notes refusal", machine="of sha256 state expected"),
    "gearlife.FileInHand": table(names_apart="yes", words="filename", machine="of sha256 outline"),
    "gearlife.OutboxMessage": table(names_apart="yes", words="last_error", machine="kind payload dedupe_key outcome"),
    "gearlife.Clock": table(machine="code anchor counts effect"),
    "gearlife.Club": table(setting="name code timezone"),
    "gearlife.Team": table(setting="name level"),
    "gearlife.Organisation": table(setting="name timezone"),
    "gearlife.Season": table(setting="off_season_windows"),
    "gearlife.Manufacturer": table(gear="name name_key"),
    "gearlife.GearModel": table(gear="name name_key kind liner interval_stated_in sizes parts levels"),
    "gearlife.PolicyRule": table(setting="code kind anchor counts comparator whereabouts effect source mark"),
    "gearlife.Photo": table(machine="path original_sha256 stored_sha256"),
    "gearlife.Creation": table(machine="resource digest"),
    "gearlife.LedgerHead": table(machine="link"),
    "gearlife.LedgerEvent": table(machine="action text leaf link"),
    "gearlife.LedgerWords": table(machine="name salt words"),
    "gearlife.Sweep": table(machine="faults skipped"),
    "gearlife.User": table(account="username email password units"),
    "gearlife.Membership": table(account="role"),
    "gearlife.AccessToken": table(account="digest label"),
    "gearlife.FailedSignIn": table(machine="counter"),
    "gearlife.CodeToSignIn": table(machine="digest"),
    "gearlife.SignInSession": table(machine="session_key session_data"),
}
