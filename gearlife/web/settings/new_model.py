"""Add a model that no file has brought along."""

from typing import Any

from django import forms
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS, Stamp
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models import Manufacturer
from gearlife.operations.catalogue import NewModel, add_manufacturer, add_model
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.models import Lines, ModelForm
from gearlife.web.settings.setting import Asking
from gearlife.web.words import words_for


class NewModelForm(ModelForm):
    """The same of a new one, with its maker, its kind and its sizes."""

    maker = forms.CharField(
        label=gettext_lazy("Maker"),
        max_length=80,
        help_text=gettext_lazy("As the label writes it. A maker of that name is found again, another is added."),
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("What"), choices=lambda: [(each.value, words_for(each)) for each in Kind]
    )
    sizes = Lines(
        label=gettext_lazy("Sizes"),
        most=40,
        longest=24,
        help_text=gettext_lazy("One a line, as they stand on the shell or the label."),
    )
    field_order = ("kind", "maker", "name", "sizes")


class AddModel(Asking):
    """`/settings/models/new/`."""

    allow = WRITERS
    title = gettext_lazy("Add a model")
    button = gettext_lazy("Add this model")

    def form(self) -> forms.Form:
        """Empty, or as it was sent."""
        return NewModelForm(self.sent, initial={"liner": Liner.OTHER.value})

    def context(self) -> Context:
        """The form, and the other way."""
        says = _("Whoever takes in a file need not: its makers and models come along.")
        return super().context() | {"says": says, "back": reverse("gearlife:models")}

    def act(self) -> str:
        """Add it once, its maker too where nobody knew him."""
        stamp = self.permit(None)
        typed = read(self.form())
        self.once("models", stamp, lambda id_: _add(typed, stamp, id_))
        self.told(_("The model was added. Its gear can be taken in now."))
        return reverse("gearlife:models")


@transaction.atomic
def _add(typed: dict[str, Any], stamp: Stamp, id_: Any) -> object:  # noqa: ANN401 - the id that the form carries
    maker = typed.pop("maker")
    key, known = normal_form(maker), Manufacturer.objects.filter(organisation_id=stamp.actor.organisation_id)
    manufacturer = known.filter(name_key=key).first() or add_manufacturer(name=maker, stamp=stamp)
    facts = typed | {"kind": Kind(typed["kind"]), "liner": Liner(typed["liner"])}
    return add_model(new=NewModel(manufacturer=manufacturer, id=id_, **facts), stamp=stamp)
