"""The acts of the demo club's history, each by the operation that a user's act goes through."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from fitting.domain.counted_gear import CountedKind
from fitting.domain.receipts import SignedAs
from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, Return, issue_all, record_already_worn, return_all
from fitting.operations.counted_gear import NewCounted, hand_out_counted
from fitting.operations.players import change_players
from fitting.operations.receipts import NewReceipt, Signature, make_acknowledged
from gearlife.domain.access import Stamp
from gearlife.domain.normal_form import normal_form
from gearlife.domain.recorded import WITH_AIR
from gearlife.domain.vocabulary import CertificationKind, Evidence, Kind, Liner, Whereabouts
from gearlife.models import Club, Item
from gearlife.operations import certifications, holds, items
from inspections.domain.air_records import Felt
from inspections.operations.air import NewAirRecord, record_all_air
from inspections.operations.inspect import NewFinding, NewInspection, record_inspections


@dataclass(frozen=True)
class Acting:
    """The rows of one act on one day, and the stamp they are done under."""

    club: Club
    rows: list[dict[str, str]]
    stamp: Stamp

    def item(self, row: dict[str, str]) -> Item:
        """The item that a row names by serial, or by its tag where it has none."""
        name = normal_form(row["serial"])
        return Item.objects.get(Q(serial_key=name) | Q(tag_key=name, serial_key=""), club=self.club)

    def items(self) -> dict[str, Item]:
        """The items of all rows by the serial or tag that names them."""
        names = [normal_form(row["serial"]) for row in self.rows]
        found = Item.objects.filter(Q(serial_key__in=names) | Q(tag_key__in=names), club=self.club)
        return {key: item for item in found for key in (item.serial_key, item.tag_key) if key}

    def players(self) -> dict[tuple[str, int | None], Player]:
        """The club's players by normal form of the name and birth year."""
        return {(player.name_key, player.birth_year): player for player in Player.objects.filter(club=self.club)}


def _worn_by(row: dict[str, str], players: dict[tuple[str, int | None], Player]) -> Player:
    return players[normal_form(f"{row['given_name']} {row['family_name']}"), int(row["birth_year"])]


def _assignments(acting: Acting) -> list[NewAssignment]:
    known, players = acting.items(), acting.players()
    return [
        NewAssignment(
            item_id=known[normal_form(row["serial"])].id,
            player=_worn_by(row, players),
            condition_at_issue=row["note"],
        )
        for row in acting.rows
    ]


def _issue(acting: Acting) -> None:
    issue_all(_assignments(acting), acting.stamp)


def _already_worn(acting: Acting) -> None:
    record_already_worn(_assignments(acting), acting.stamp)


def _return(acting: Acting) -> None:
    items_by_name = acting.items()
    known = {items_by_name[normal_form(row["serial"])].id: row for row in acting.rows}
    out = Assignment.objects.open().filter(item_id__in=known).order_by("id")
    return_all([Return(assignment, condition=known[assignment.item_id]["note"]) for assignment in out], acting.stamp)


def _inspect(acting: Acting) -> None:
    record_inspections([_inspection(acting, row) for row in acting.rows], acting.stamp)


def _inspection(acting: Acting, row: dict[str, str]) -> NewInspection:
    finding = NewFinding(
        point=row["point"],
        defect=row["defect"],
        grade=row["grade"],
        note=row["note"],
        deal_with_by=date.fromisoformat(row["deal_with_by"]) if row["deal_with_by"] else None,
    )
    return NewInspection(
        item=acting.item(row),
        depth=row["depth"] or "look",
        inspected_at=acting.stamp.at,
        findings=[finding] if row["point"] else [],
    )


def _nothing_found(found: QuerySet[Item], depth: str, acting: Acting) -> list[NewInspection]:
    rows = found.select_related("model").order_by("id")
    return [NewInspection(item=item, depth=depth, inspected_at=acting.stamp.at) for item in rows]


def _look_team(acting: Acting) -> None:
    looked_over: list[NewInspection] = []
    for row in acting.rows:
        worn = Item.objects.filter(
            club=acting.club, team__name=row["team"], kind=row["kind"], whereabouts=Whereabouts.PLAYER.value
        )
        unseen = [normal_form(serial) for serial in row["note"].removeprefix("not seen:").split()]
        looked_over += _nothing_found(worn.exclude(serial_key__in=unseen), "look", acting)
    record_inspections(looked_over, acting.stamp)
    holds_air = [new.item for new in looked_over if Liner(new.item.model.liner) in WITH_AIR]
    record_all_air([NewAirRecord(item, felt=Felt.FIRM) for item in holds_air], acting.stamp)


def _air_added(acting: Acting) -> None:
    wanted = [NewAirRecord(acting.item(row), felt=Felt.AIR_ADDED) for row in acting.rows]
    record_all_air(wanted, acting.stamp)


def _inspect_stock(acting: Acting) -> None:
    kinds = [row["kind"] for row in acting.rows]
    room = Item.objects.filter(
        club=acting.club, kind__in=kinds, whereabouts=Whereabouts.STOCK.value, retired_on__isnull=True
    )
    record_inspections(_nothing_found(room, "full", acting), acting.stamp)


def _recertify(acting: Acting) -> None:
    known = acting.items()
    stated = [(known[normal_form(row["serial"])], _recertification(row, acting)) for row in acting.rows]
    certifications.certify_all(stated, acting.stamp)


def _recertification(row: dict[str, str], acting: Acting) -> certifications.NewCertification:
    return certifications.NewCertification(
        kind=CertificationKind.RECERTIFICATION,
        certified_on=acting.stamp.day,
        firm=row["firm"],
        evidence=Evidence.RECONDITIONERS_FILE,
    )


def _hold(acting: Acting) -> None:
    for row in acting.rows:
        holds.hold(new=holds.NewHold(acting.item(row).id, row["note"]), stamp=acting.stamp)


def _retire(acting: Acting) -> None:
    for row in acting.rows:
        items.retire(item=acting.item(row), reason=row["note"], on=None, stamp=acting.stamp)


def _missing(acting: Acting) -> None:
    for row in acting.rows:
        items.mark_missing(item=acting.item(row), stamp=acting.stamp)


def _found(acting: Acting) -> None:
    for row in acting.rows:
        items.found(item=acting.item(row), stamp=acting.stamp)


def _leave_team(acting: Acting) -> None:
    players = acting.players()
    change_players(changed=[(_worn_by(row, players), {"team": None}) for row in acting.rows], stamp=acting.stamp)


def _hand_out_counted(acting: Acting) -> None:
    """All kinds of a row to everybody of a team who has a helmet; the note names who got no mouthguard, by number."""
    for row in acting.rows:
        without = row["note"].removeprefix("no mouthguard:").split()
        dressed = Assignment.objects.open().filter(kind=Kind.HELMET.value).values("player")
        players = Player.objects.filter(club=acting.club, team__name=row["team"], id__in=dressed).order_by("id")
        new = [
            NewCounted(player, kind)
            for player in players
            for kind in map(CountedKind, row["kind"].split())
            if kind is not CountedKind.MOUTHGUARD or str(player.jersey_number) not in without
        ]
        hand_out_counted(new=new, stamp=acting.stamp, places=[f"/{number}" for number in range(len(new))])


def _acknowledge(acting: Acting) -> None:
    """A receipt for each row's player; the note says who acknowledged it, as what."""
    players = acting.players()
    for row in acting.rows:
        signed_as, _, name = row["note"].partition(": ")
        by = Signature(name, SignedAs(signed_as))
        make_acknowledged(new=NewReceipt(_worn_by(row, players)), by=by, stamp=acting.stamp)


ACTS: dict[str, Callable[[Acting], None]] = {
    "issue": _issue,
    "already_worn": _already_worn,
    "return": _return,
    "inspect": _inspect,
    "look_team": _look_team,
    "air_added": _air_added,
    "inspect_stock": _inspect_stock,
    "recertify": _recertify,
    "hold": _hold,
    "retire": _retire,
    "missing": _missing,
    "found": _found,
    "leave_team": _leave_team,
    "hand_out_counted": _hand_out_counted,
    "acknowledge": _acknowledge,
}
