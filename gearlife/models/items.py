"""Items: each helmet and pad set by serial number, with the anchors that its clocks count from."""

from collections.abc import Iterable
from datetime import date
from typing import Self
from uuid import UUID

from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, Value, When

from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Evidence, Kind, Standing, Whereabouts
from gearlife.models import compiled as given
from gearlife.models.base import Owned, OwnedQuerySet
from gearlife.models.catalogue import GearModel, Manufacturer
from gearlife.models.clocks import stop_clocks
from gearlife.models.compiled import compiled
from gearlife.models.enums import one_of, word_field
from gearlife.models.holds import Hold
from gearlife.models.organisations import Club, Team


class ItemQuerySet(OwnedQuerySet):
    """Items; standing is an expression here and nowhere a column."""

    def visible_to(self, actor: Actor) -> Self:
        """Items of the officer's clubs; a coach's team's."""
        items = super().visible_to(actor)
        if actor.sees_every_club:
            return items
        return items.filter(Q(club_id__in=actor.club_ids) | Q(team_id__in=actor.team_ids))

    def reportable_by(self, actor: Actor) -> Self:
        """Items of which the actor may report damage: those in sight, and every one of a reporter's clubs."""
        items = super().visible_to(actor)
        if actor.sees_every_club or actor.reports_everywhere:
            return items
        seen = Q(club_id__in=actor.club_ids) | Q(team_id__in=actor.team_ids)
        return items.filter(seen | Q(club_id__in=actor.reporting_club_ids))

    def in_use(self) -> Self:
        """Neither retired nor disposed of; what is missing counts, for it may turn up."""
        return self.filter(retired_on__isnull=True).exclude(whereabouts=Whereabouts.DISPOSED.value)

    def locked(self, item_ids: Iterable[UUID]) -> list["Item"]:
        """Lock these rows in id order: whoever stops, hands out or takes back begins here."""
        return _locked().instances(ids=list(item_ids))

    def lock(self, item_ids: Iterable[UUID]) -> None:
        """The same lock for whoever reads what it needs by itself."""
        rows = self.filter(id__in=set(item_ids)).order_by("id").select_for_update()
        list(rows.values_list("id"))

    def with_standing(self, day: date) -> Self:
        """Annotate `standing`: retired wins, else stopped by a hold in force or a fallen stop clock, else no stop."""
        held = Exists(Hold.objects.in_force(day).filter(item=OuterRef("pk")))
        fallen = Exists(stop_clocks(day).filter(item=OuterRef("pk")))
        return self.annotate(
            standing=Case(
                When(retired_on__isnull=False, then=Value(Standing.RETIRED.value)),
                When(Q(held) | Q(fallen), then=Value(Standing.STOPPED.value)),
                default=Value(Standing.NO_STOP.value),
                output_field=models.CharField(),
            )
        )

    def with_stale_clocks(self) -> Self:
        """Items whose stored clocks were reckoned before the policy last changed; a retired one has none."""
        older = Q(clocks_revision__lt=F("club__policy_revision"))
        return self.filter(older, retired_on__isnull=True)

    def worn_but_stopped(self, day: date) -> Self:
        """Items that a player holds and must not wear, from rows alone."""
        worn = self.filter(whereabouts=Whereabouts.PLAYER.value).with_standing(day)
        return worn.exclude(standing=Standing.NO_STOP.value)


@compiled
def _locked() -> ItemQuerySet:
    rows = Item.objects.filter(id__in=given.ids("ids")).order_by("id")
    return rows.select_for_update(of=("self",)).select_related("club", "model", "manufacturer")


class Item(Owned):
    """One helmet or pad set. Whereabouts is a column; standing is a question asked of the database."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="items")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    manufacturer = models.ForeignKey(Manufacturer, on_delete=models.PROTECT, related_name="+")
    model = models.ForeignKey(GearModel, on_delete=models.PROTECT, related_name="items")
    kind = word_field(Kind)
    # As on the item; empty when no serial of the maker can be read. The key is its normal form.
    serial = models.CharField(max_length=64, blank=True, default="")
    serial_key = models.CharField(max_length=64, blank=True, default="")
    tag = models.CharField(max_length=32, blank=True, default="")
    tag_key = models.CharField(max_length=32, blank=True, default="")
    size = models.CharField(max_length=24, blank=True, default="")
    colour = models.CharField(max_length=40, blank=True, default="")
    notes = models.CharField(max_length=500, blank=True, default="")
    made_on = models.CharField(max_length=10, blank=True, default="")
    made_earliest = models.DateField(null=True, blank=True)
    made_latest = models.DateField(null=True, blank=True)
    made_on_evidence = word_field(Evidence, default=Evidence.UNKNOWN)
    acquired_on = models.DateField(null=True, blank=True)
    taken_in_on = models.DateField()
    add_ons = models.JSONField(default=list, blank=True)
    made_for_one_player = models.BooleanField(default=False)
    whereabouts = word_field(Whereabouts, default=Whereabouts.STOCK)
    retired_on = models.DateField(null=True, blank=True)
    retired_reason = models.CharField(max_length=500, blank=True, default="")
    # Anchors of the clocks: the latest of each recorded event.
    certified_on = models.DateField(null=True, blank=True)
    last_look_at = models.DateTimeField(null=True, blank=True)
    last_full_inspection_at = models.DateTimeField(null=True, blank=True)
    last_air_check_at = models.DateTimeField(null=True, blank=True)
    last_refit_at = models.DateTimeField(null=True, blank=True)
    came_back_at = models.DateTimeField(null=True, blank=True)
    # The club's policy revision under which the stored clocks were reckoned; an older one makes them stale.
    clocks_revision = models.PositiveIntegerField(default=0)

    objects = ItemQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="item"),
            one_of("whereabouts", Whereabouts, table="item"),
            one_of("made_on_evidence", Evidence, table="item"),
            models.UniqueConstraint(
                fields=["manufacturer", "serial_key"], condition=~Q(serial_key=""), name="item_serial_once_per_maker"
            ),
            models.UniqueConstraint(fields=["organisation", "tag_key"], condition=~Q(tag_key=""), name="item_tag_once"),
            models.CheckConstraint(condition=~Q(serial_key="") | ~Q(tag_key=""), name="item_has_serial_or_tag"),
        ]
        indexes = [
            models.Index(fields=["organisation", "serial_key"], name="item_by_serial"),
            models.Index(fields=["club", "whereabouts", "kind"], name="item_in_club"),
            # Whose clocks are to be reckoned anew, what is worn before the rest.
            models.Index(
                fields=["club", "whereabouts", "clocks_revision", "id"],
                condition=Q(retired_on__isnull=True),
                name="item_clocks_stale",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """What people call it: its serial, or its tag, marked so."""
        return self.serial or f"tag {self.tag} (no maker serial)"
