"""The players file: known by name and birth year within the club; measurements are kept, never overwritten."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from fitting.domain.intake import PLAYERS, Named, PlayerRow, read_players
from fitting.domain.plausibility import UNUSUAL, age_on, is_usual
from fitting.domain.players import label
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Measurement, Player
from fitting.operations.fits import measured_anew
from fitting.operations.players import NewPlayer, add_players, change_players
from gearlife.domain.access import Stamp
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.nearest import nearest_words
from gearlife.domain.intake.outlines import Change, Deed, RowPlan
from gearlife.domain.intake.table import Table
from gearlife.domain.normal_form import normal_form
from gearlife.models import Club, Item, Team
from gearlife.operations.intake import FileKind, Plan
from gearlife.operations.ledger import Entry
from gearlife.operations.organisations import add_team

CHUNK = 500
MeasurementKey = tuple[UUID, str, date]


@dataclass
class Decisions:
    """Players to add and to change, each with the row that says so, and measurements not recorded yet."""

    additions: list[PlayerRow] = field(default_factory=list)
    changes: list[tuple[Player, PlayerRow]] = field(default_factory=list)
    measured: list[tuple[Player, PlayerRow]] = field(default_factory=list)
    unchanged: list[int] = field(default_factory=list)
    # What was measured anew, by row: for whoever looks before it is taken in.
    lengths: dict[int, dict[MeasurementKind, int]] = field(default_factory=dict)

    @property
    def touched(self) -> set[UUID]:
        """Known players of whom something is new."""
        return {player.id for player, _ in (*self.changes, *self.measured)}


class PlayersFile(FileKind):
    """Players with their measurements."""

    sheet = PLAYERS

    def read(self, table: Table, findings: Findings, today: date) -> Sequence[PlayerRow]:
        """Cells to values."""
        return read_players(table, findings, today)

    def plan(self, rows: Sequence[PlayerRow], club: Club, findings: Findings, stamp: Stamp) -> Plan:
        """Which players are new, which change, which were measured anew."""
        players = players_of(club)
        teams = {normal_form(team.name): team for team in Team.objects.filter(club=club).order_by("id")}
        decisions = _decide(rows, players, teams, findings)
        new_teams = _new_teams(rows, teams, findings)
        findings.notes += _doubts(decisions)
        return Plan(
            added=len(decisions.additions),
            changed=len(decisions.touched),
            unchanged=len(decisions.unchanged),
            write=lambda _: _write(decisions, teams, new_teams, club, stamp),
            rows=lambda: _row_plans(decisions),
        )

    def name_of(self, row: PlayerRow) -> str:
        """Number and name."""
        return label(row.given_name, row.family_name, row.jersey_number)


def _row_plans(decisions: Decisions) -> Mapping[int, RowPlan]:
    """By row: new, changed from what to what, or as it is recorded."""
    plans = {row.number: RowPlan(Deed.NEW) for row in decisions.additions}
    for player, row in (*decisions.changes, *decisions.measured):
        plans[row.number] = RowPlan(Deed.CHANGES, _differences(player, row, decisions.lengths[row.number]))
    return plans | {number: RowPlan(Deed.UNCHANGED) for number in decisions.unchanged}


def _differences(player: Player, row: PlayerRow, lengths: Mapping[MeasurementKind, int]) -> list[Change]:
    team = player.team.name if player.team else ""
    said = {
        "jersey_number": (player.jersey_number, row.jersey_number),
        "birth_year": (player.birth_year, row.birth_year),
        "position": (player.position, row.position),
        "team": (team, row.team),
    }
    changes = [
        Change(column, "" if before is None else str(before), str(after))
        for column, (before, after) in said.items()
        if after not in (None, "") and normal_form(str(after)) != normal_form(str(before))
    ]
    measured = [Change(f"{kind}_mm", "", f"{length} ({row.measured_on})") for kind, length in lengths.items()]
    return changes + measured


def players_of(club: Club) -> Mapping[str, Sequence[Player]]:
    """The club's players by the normal form of their names."""
    players: dict[str, list[Player]] = defaultdict(list)
    for player in Player.objects.filter(club=club).select_related("team").order_by("id"):
        players[player.name_key].append(player)
    return players


def find_player(row: Named, players: Mapping[str, Sequence[Player]], findings: Findings) -> tuple[Player | None, bool]:
    """The recorded player whom a row names, and whether that is settled; an ambiguous one is a fault."""
    known = players.get(row.key, ())
    if not row.key or not known:
        return None, bool(row.key)
    same_year = [player for player in known if player.birth_year == row.birth_year]
    no_year = [player for player in known if player.birth_year is None]
    if row.birth_year is None:
        same_year = list(known)
    elif not same_year and len(known) == len(no_year):
        same_year = no_year
    if len(same_year) == 1:
        return same_year[0], True
    if not same_year and not no_year:
        return None, True
    words = "more than one recorded player has this name" if len(known) > 1 else "a player of this name is recorded"
    findings.fault(row.number, "family_name", row.family_name, f"{words}: give the birth year, here and in the record")
    return None, False


def _decide(
    rows: Iterable[PlayerRow], players: Mapping[str, Sequence[Player]], teams: Mapping[str, Team], findings: Findings
) -> Decisions:
    decisions = Decisions()
    known = _measured([player for same_name in players.values() for player in same_name])
    first: dict[UUID, int] = {}
    for row in rows:
        player, settled = find_player(row, players, findings)
        if player is None:
            decisions.additions += [row] if settled else []
            continue
        if first.setdefault(player.id, row.number) != row.number:
            words = (
                f"the one recorded player of this name is on row {first[player.id]} too; record the birth year first"
            )
            findings.fault(row.number, "family_name", row.family_name, words)
        changes, lengths = _changes(player, row, teams), _new_lengths(player, row, known)
        decisions.changes += [(player, row)] if changes else []
        decisions.measured += [(player, row)] if lengths else []
        decisions.lengths[row.number] = lengths
        decisions.unchanged += [] if changes or lengths else [row.number]
    return decisions


def _changes(player: Player, row: PlayerRow, teams: Mapping[str, Team]) -> bool:
    """Whether the row says something that the record does not; an empty cell says nothing."""
    team = teams.get(normal_form(row.team))
    moves = bool(row.team) and (team is None or team.id != player.team_id)
    cells = ((row.jersey_number, player.jersey_number), (row.birth_year, player.birth_year))
    differs = any(cell is not None and cell != recorded for cell, recorded in cells)
    return moves or differs or bool(row.position and row.position != player.position)


def _measured(players: Sequence[Player]) -> dict[MeasurementKey, list[list[int]]]:
    known: dict[MeasurementKey, list[list[int]]] = defaultdict(list)
    for start in range(0, len(players), CHUNK):
        ids = [player.id for player in players[start : start + CHUNK]]
        for row in Measurement.objects.filter(player_id__in=ids):
            known[row.player_id, row.kind, row.taken_on].append(row.readings_mm)
    return known


def _new_lengths(
    player: Player, row: PlayerRow, known: Mapping[MeasurementKey, list[list[int]]]
) -> dict[MeasurementKind, int]:
    if row.measured_on is None:
        return {}
    on = row.measured_on
    return {kind: mm for kind, mm in row.lengths_mm.items() if [mm] not in known.get((player.id, kind.value, on), [])}


def _new_teams(rows: Iterable[PlayerRow], teams: Mapping[str, Team], findings: Findings) -> dict[str, str]:
    """Teams to make, by normal form; each listed with the nearest known one."""
    new: dict[str, str] = {}
    first: dict[str, int] = {}
    for row in rows:
        if row.team and (key := normal_form(row.team)) not in teams:
            new.setdefault(key, row.team)
            first.setdefault(key, row.number)
    known = [team.name for team in teams.values()]
    for key, name in new.items():
        findings.notes.append(f"new team '{name}'{nearest_words(name, known)} (row {first[key]})")
    return new


def _doubts(decisions: Decisions) -> list[str]:
    """What is doubtful of measurements that are new, by row and column; what was measured is not said again.

    A file does not tell where the tape lay: its numbers are compared with no earlier ones, only with what is usual.
    """
    measured: list[tuple[int | None, PlayerRow, Mapping[MeasurementKind, int]]] = [
        (None, row, row.lengths_mm) for row in decisions.additions
    ]
    measured += [(player.birth_year, row, decisions.lengths[row.number]) for player, row in decisions.measured]
    return [
        f"row {row.number}, {kind}_mm: {UNUSUAL}"
        for recorded, row, lengths in sorted(measured, key=lambda each: each[1].number)
        for kind, length in lengths.items()
        if row.measured_on and not is_usual(kind, length, age_on(row.measured_on, row.birth_year or recorded))
    ]


def _write(
    decisions: Decisions, teams: Mapping[str, Team], new_teams: Mapping[str, str], club: Club, stamp: Stamp
) -> list[Entry]:
    """Write everything in batches. Names and measurements are personal: the ledger has the file's line alone."""
    # All that is settled below is locked first, in one order: what moves with its player and what is measured anew.
    worn = Assignment.objects.open().filter(player_id__in=decisions.touched)
    Item.objects.lock(worn.values_list("item_id", flat=True))
    made = {key: add_team(stamp=stamp, club=club, name=name) for key, name in new_teams.items()}
    by_name = {**teams, **made}
    new = [_new_player(row, club, by_name) for row in decisions.additions]
    added = list(zip(add_players(new=new, stamp=stamp), decisions.additions, strict=True))
    change_players(changed=[(player, _said(row, by_name)) for player, row in decisions.changes], stamp=stamp)
    known = _measured([player for player, _ in decisions.measured])
    measurements = [
        _measurement(player, row, kind, length, stamp)
        for player, row in (*added, *decisions.measured)
        for kind, length in _new_lengths(player, row, known).items()
    ]
    Measurement.objects.bulk_create(measurements, batch_size=CHUNK)
    # Whoever is new has nothing on: no fit of theirs goes stale.
    measured_anew(player_ids=[player.id for player, _ in decisions.measured], stamp=stamp)
    return []


def _new_player(row: PlayerRow, club: Club, teams: Mapping[str, Team]) -> NewPlayer:
    return NewPlayer(
        club=club,
        given_name=row.given_name,
        family_name=row.family_name,
        team=teams.get(normal_form(row.team)),
        jersey_number=row.jersey_number,
        birth_year=row.birth_year,
        position=row.position,
    )


def _said(row: PlayerRow, teams: Mapping[str, Team]) -> dict[str, object]:
    """The columns that a row says something of."""
    cells: dict[str, object] = {
        "jersey_number": row.jersey_number,
        "birth_year": row.birth_year,
        "position": row.position or None,
        "team": teams.get(normal_form(row.team)),
    }
    return {column: value for column, value in cells.items() if value is not None}


def _measurement(player: Player, row: PlayerRow, kind: MeasurementKind, length: int, stamp: Stamp) -> Measurement:
    return Measurement(
        organisation_id=player.organisation_id,
        player=player,
        kind=kind.value,
        readings_mm=[length],
        taken_on=row.measured_on or stamp.day,
        recorded_at=stamp.at,
    )
