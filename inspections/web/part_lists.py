"""What the makers say of the parts of their models, and what an unapproved part does: pages of the settings."""

from dataclasses import replace
from functools import cached_property
from typing import Any, ClassVar
from uuid import UUID

from django.urls import reverse
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import ADMINISTRATORS, WRITERS, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Role
from gearlife.models import GearModel
from gearlife.web.pages import Context
from gearlife.web.settings.setting import Setting
from gearlife.web.typed import Typed
from inspections.domain.parts import MOST_IN_A_POSITION, PartSort
from inspections.models import ApprovedPart, PadPosition, PartPolicy
from inspections.operations import part_lists
from inspections.operations.part_lists import NewApproved, NewPosition
from inspections.queries.parts import holds_unapproved, positions_of
from inspections.web.part_forms import thickness_of
from inspections.web.parts import listed_in_words

MOST_DECISIONS = 20
INCOMPLETE = gettext_lazy("This form is incomplete; open the page again.")


class ModelParts(Setting):
    """`/settings/models/MODEL/parts/`: where parts go on a model, and which of them its maker approves."""

    template = "inspections/model_parts.html"
    title = gettext_lazy("Pads and parts of a model")

    @cached_property
    def model(self) -> GearModel:
        """The model of the address."""
        found: GearModel = self.found(GearModel.objects.select_related("manufacturer"), self.kwargs["model"])
        return found

    def context(self) -> Context:
        """Each position with its list, and what an unapproved part does."""
        positions = [
            {"position": each, "parts": [(part, listed_in_words(part)) for part in each.approved_parts.all()]}
            for each in positions_of(self.model.id)
        ]
        return {
            "model": self.model,
            "positions": positions,
            "sorts": list(PartSort),
            "holds": holds_unapproved(self.model.organisation_id),
            "may_act": self.actor.may_be(*WRITERS) and not self.actor.is_device,
            "may_decide": self.actor.may_be(*ADMINISTRATORS),
        }

    def act(self) -> str:
        """Add or remove a position or a part."""
        stamp = self.permit(None)
        match self.text("what"):
            case "position":
                self._add_position(stamp)
            case "part":
                self._add_part(stamp)
            case "strike":
                self._strike(stamp)
            case "remove":
                self._remove(stamp)
            case _unknown:
                raise InvalidInputError(str(INCOMPLETE))
        return reverse("inspections:model-parts", args=[self.model.id])

    def _add_position(self, stamp: Stamp) -> None:
        typed = Typed(self.typed.dict())
        label = typed.text("label", _("The name"), most=80, needed=True)
        sort = typed.word("sort", _("What goes there"), PartSort, default=PartSort.PAD)
        count = typed.number("count", _("How many"), least=1, most=MOST_IN_A_POSITION) or 1
        code = slugify(label)[:40].replace("-", "_")
        if label and not code:
            typed.fault("label", _("The name needs a letter or a figure."))
        typed.done()
        new = NewPosition(self.model, code, label, sort, count, required=bool(self.text("required")))
        self.once("pad-positions", stamp, lambda id_: part_lists.add_position(new=replace(new, id=id_), stamp=stamp))
        self.told(
            _("%(position)s is entered. Now enter the parts that the maker approves for it.") % {"position": label}
        )

    def _add_part(self, stamp: Stamp) -> None:
        typed = Typed(self.typed.dict())
        part = typed.text("part", _("The part"), most=80, needed=True)
        facts: dict[str, Any] = {
            "maker": typed.text("maker", _("Who makes it"), most=80),
            "size": typed.text("size", _("Its size"), most=24),
            "stated_in": typed.text("stated_in", _("Where the maker says it"), most=120),
            "thickness_mm": thickness_of(typed, self.text("thickness_mm")),
        }
        typed.done()
        position = self._position()
        self.once(
            "approved-parts",
            stamp,
            lambda id_: part_lists.approve_part(new=NewApproved(position, part, id=id_, **facts), stamp=stamp),
        )
        self.told(_("%(part)s is on the maker's list now.") % {"part": part})

    def _strike(self, stamp: Stamp) -> None:
        part: ApprovedPart = self.found(
            ApprovedPart.objects.filter(position__model=self.model), self.id_named("struck")
        )
        part_lists.strike_part(part=part, stamp=stamp)
        self.told(_("%(part)s is struck. What was put in before stays as it was recorded.") % {"part": part.part})

    def _remove(self, stamp: Stamp) -> None:
        position = self._position()
        part_lists.remove_position(position=position, stamp=stamp)
        self.told(_("%(position)s is removed.") % {"position": position.label})

    def _position(self) -> PadPosition:
        rows = PadPosition.objects.filter(model=self.model)
        found: PadPosition = self.found(rows, self.id_named("position"))
        return found


class UnapprovedParts(Setting):
    """`/settings/unapproved-parts/`: whether a part that no maker approves holds its item."""

    template = "inspections/unapproved_parts.html"
    title = gettext_lazy("Parts that the maker does not approve")
    change: ClassVar[frozenset[Role]] = ADMINISTRATORS

    def context(self) -> Context:
        """How it is, and what was decided when."""
        decided = PartPolicy.objects.visible_to(self.actor).select_related("decided_by")
        return {
            "holds": holds_unapproved(self.actor.organisation_id),
            "decided": list(decided.order_by("-decided_at", "-id")[:MOST_DECISIONS]),
            "may_decide": self.actor.may_be(*ADMINISTRATORS) and not self.actor.is_device,
        }

    def act(self) -> str:
        """Decide."""
        stamp = self.permit(None)
        typed = Typed(self.typed.dict())
        reason = typed.text("reason", _("The reason"), most=200, needed=True)
        if (does := self.text("does")) not in {"hold", "note"}:
            typed.fault("does", _("Choose what it does."))
        typed.done()

        def decide(id_: UUID) -> object:
            return part_lists.decide_on_unapproved(hold_unapproved=does == "hold", reason=reason, stamp=stamp, id_=id_)

        self.once("part-policies", stamp, decide)
        self.told(_("Decided, from now on. Holds that are open stay open."))
        return reverse("inspections:unapproved-parts")
