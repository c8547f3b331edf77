"""Reports of damage as they came in: what was typed is kept, whether or not any record has it."""

from typing import Self

from django.db import models
from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.models import Club, Item, Owned, OwnedQuerySet, Photo, Team, one_of, word_field
from inspections.domain.damage import OPEN
from inspections.domain.vocabulary import LooksLike, ReportState
from inspections.models.device_clocks import ByDevice


class DamageReportQuerySet(OwnedQuerySet):
    """Reports: a club's to its officers, to a coach those about the own team's gear and those of the own hand."""

    def visible_to(self, actor: Actor) -> Self:
        """Who may only report reads none, not even the own."""
        rows = super().visible_to(actor)
        if actor.sees_every_club:
            return rows
        own = Q(reported_by_id=actor.user_id, club_id__in=Team.objects.of(actor).values("club_id"))
        return rows.filter(Q(club_id__in=actor.club_ids) | Q(item__team_id__in=actor.team_ids) | own)

    def open(self) -> Self:
        """Those that nobody has confirmed or dismissed."""
        return self.filter(state__in=OPEN)


class DamageReport(Owned, ByDevice):
    """One report: when it was seen, as it counts, and when it arrived."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    # None: no record has what was typed, and nobody has said yet which item it is.
    item = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, related_name="damage_reports")
    serial = models.CharField(max_length=64, blank=True, default="")
    tag = models.CharField(max_length=64, blank=True, default="")
    seen_at = models.DateTimeField()
    received_at = models.DateTimeField()
    reported_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    # It may name somebody, so that it stays here and out of ledger, alerts and mails.
    description = models.CharField(max_length=2000)
    severity = word_field(LooksLike, default=LooksLike.UNSURE)
    counts_as = word_field(LooksLike, default=LooksLike.UNSURE)
    state = word_field(ReportState, default=ReportState.NEW)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    decided_reason = models.CharField(max_length=500, blank=True, default="")

    objects = DamageReportQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("severity", LooksLike, table="damage_report"),
            one_of("counts_as", LooksLike, table="damage_report"),
            one_of("state", ReportState, table="damage_report"),
            models.CheckConstraint(
                condition=~Q(state=ReportState.DISMISSED.value) | ~Q(decided_reason=""),
                name="damage_report_dismissal_says_why",
            ),
        ]
        indexes = [
            models.Index(fields=["item", "-seen_at"], name="damage_report_of_item"),
            # What waits for somebody: asked by the day's page, the concern and the list.
            models.Index(fields=["club", "-seen_at"], condition=Q(state__in=OPEN), name="damage_report_open"),
            # The list, newest first, in the order of its pages.
            models.Index(fields=["organisation", "-seen_at", "id"], name="damage_report_listed"),
        ]

    def __str__(self) -> str:
        return str(self.id)


class ReportPhoto(Owned):
    """A photograph that came with a report."""

    report = models.ForeignKey(DamageReport, on_delete=models.CASCADE, related_name="photos")
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="+")

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["report", "photo"], name="report_photo_once")]

    def __str__(self) -> str:
        return str(self.photo_id)
