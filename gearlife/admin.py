"""The operators' pages: for whoever runs the machine, a reading room of the records. Nothing can be changed there.

They are served only with GEARLIFE_OPERATORS=1, to accounts that `manage.py operator` made. Each table names what is
shown of it; what it does not name (secrets, names of players, measurements) is not there.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.contrib.auth import REDIRECT_FIELD_NAME, logout
from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext_lazy as _

from gearlife import models

READING = {"GET", "HEAD"}

if TYPE_CHECKING:
    _Admin = admin.ModelAdmin[Any]
else:
    _Admin = admin.ModelAdmin


class OperatorSite(admin.AdminSite):
    """Django's admin for operators alone: who is signed in as anybody else finds nothing here."""

    site_header = _("Gearlife: records, for operators")
    site_title = _("Gearlife")
    index_title = _("All organisations. Nothing can be changed here.")
    site_url = None
    enable_nav_sidebar = False

    def has_permission(self, request: HttpRequest) -> bool:
        """Whether an operator asks; Http404 for anybody else who is signed in."""
        if not request.user.is_authenticated:
            return False
        if not getattr(request.user, "is_operator", False):
            raise Http404
        return True

    def admin_view(  # type: ignore[override] # the stubs ask for one of their own types
        self,
        view: Callable[..., Any],
        cacheable: bool = False,  # noqa: FBT001, FBT002 - Django's own
    ) -> Callable[..., Any]:
        """Only reading, whatever the view would do; but whoever is signed in may sign out."""
        if view == self.logout:
            return view
        inner = super().admin_view(view, cacheable)

        def reading(request: HttpRequest, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401 - whatever the view gives
            if request.method not in READING:
                raise PermissionDenied
            return inner(request, *args, **kwargs)

        return reading

    def login(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:
        """One way to sign in for all, with one lock-out."""
        going = {"next": request.GET.get(REDIRECT_FIELD_NAME) or reverse("admin:index")}
        return HttpResponseRedirect(f"{reverse('gearlife:sign-in')}?{urlencode(going)}")

    def logout(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:  # type: ignore[override] # a redirect
        """End the session, by POST alone."""
        if request.method != "POST":
            raise Http404
        logout(request)
        return HttpResponseRedirect(reverse("gearlife:sign-in"))

    def password_change(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:  # type: ignore[override] # a redirect
        """Where everybody changes it."""
        return HttpResponseRedirect(reverse("gearlife:new-password"))


site = OperatorSite(name="admin")


class Reading(_Admin):
    """A table that is read; `show` says what of it."""

    actions = None
    sortable_by = ()  # to order a million rows by any column is for nobody's browser
    list_per_page = 50
    list_max_show_all = 50
    show_full_result_count = False
    ordering = ("-pk",)

    def has_module_permission(self, request: HttpRequest) -> bool:
        """The site has asked already who it is."""
        return True

    def has_view_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Operators read."""
        return True

    def has_add_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Nobody."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Nobody."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Nobody."""
        return False


def show(model: type[Model], *columns: str, more: tuple[str, ...] = (), search: tuple[str, ...] = ()) -> None:
    """Let operators read a table: these columns in its list, `more` on a row's page, found by `search`."""
    related = [name for name in columns if model._meta.get_field(name).is_relation]
    named = {
        "list_display": columns,
        "list_select_related": related,
        "fields": (*columns, *more),
        "search_fields": search,
    }
    site.register(model, type(f"Reading{model.__name__}", (Reading,), named))


show(models.Organisation, "name", "timezone", search=("name__istartswith",))
show(models.Club, "organisation", "code", "name", "timezone", search=("code__istartswith", "name__istartswith"))
show(models.Team, "club", "name", "level")
show(models.Season, "club", "year", "starts_on", "ends_on", more=("first_contact_on", "off_season_windows"))
show(
    models.User,
    *("username", "organisation", "is_active", "is_device", "is_operator", "last_login"),
    more=("email",),
    search=("username__istartswith",),
)
show(models.Membership, "user", "role", "club", "team", search=("user__username__istartswith",))
show(models.AccessToken, "user", "label", "created_at", "expires_at", "revoked_at")
show(models.Manufacturer, "organisation", "name")
show(
    models.GearModel,
    *("manufacturer", "name", "kind", "liner", "certification_interval_months"),
    more=("interval_stated_in", "sizes", "parts"),
)
show(
    models.Item,
    *("serial", "tag", "kind", "model", "club", "whereabouts", "retired_on"),
    more=(
        *("team", "size", "made_on", "made_on_evidence", "certified_on", "acquired_on", "taken_in_on", "last_look_at"),
        *("last_full_inspection_at", "came_back_at", "retired_reason", "clocks_revision"),
    ),
    search=("serial__istartswith", "tag__istartswith"),
)
show(
    models.Certification,
    *("item", "kind", "certified_on", "firm", "recorded_at"),
    more=("label_year", "label_year_means", "counts_from", "evidence"),
)
show(
    models.Clock,
    "item",
    "code",
    "anchor",
    "anchor_on",
    "falls_on",
    "effect",
    more=("rule", "counts", "amount", "until"),
)
show(
    models.Hold,
    *("item", "cause", "starts_on", "opened_at", "ends_by", "released_at"),
    more=("reason", "reference", "opened_by", "proposed_by", "released_by", "release_basis", "release_reason"),
)
show(
    models.RetirementCorrection,
    *("item", "retired_on", "proposed_at", "proposed_by", "agreed_at", "agreed_by"),
    more=("retired_reason", "right_serial", "proposed_reason", "agreed_reason"),
)
show(
    models.Alert,
    *("kind", "severity", "item", "falls_on", "opened_at", "acknowledged_at", "closed_at"),
    more=("because", "advice", "stage", "acknowledged_by", "put_off_until", "put_off_by"),
)
show(
    models.PolicyRule,
    *("organisation", "code", "anchor", "amount", "counts", "effect", "in_force_from", "in_force_to"),
    more=("kind", "model", "comparator", "in_season_only", "whereabouts", "lead_days", "source", "mark"),
)
show(
    models.Sweep,
    *("organisation", "day", "started_at", "finished_at", "complete", "whole", "items_examined"),
    more=("items_expected", "opened", "changed", "closed", "faults", "skipped", "unforeseen"),
)
show(models.LedgerEvent, "organisation", "seq", "at", "action", "item_id", more=("text", "leaf", "link"))
show(
    models.OutboxMessage,
    *("organisation", "kind", "recipient", "created_at", "attempts", "done_at", "outcome", "dead_at"),
    more=("level", "payload", "not_before", "lease_until", "last_error"),
)
show(
    models.Intake,
    *("club", "of", "filename", "received_at", "received_by", "rows", "state"),
    more=("added", "changed", "unchanged", "stopped", "checked_only", "attempts", "lease_until"),
)
show(models.Photo, "club", "received_at", "received_by", "width", "height", more=("original_sha256", "stored_sha256"))
