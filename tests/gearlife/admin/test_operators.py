"""The operators' pages: who may open them, and that nobody writes there, for every address that there is."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.contrib.admin import autodiscover
from django.db.models import Model
from django.test import Client
from django.urls import NoReverseMatch, clear_url_caches, reverse

from gearlife.admin import site
from gearlife.models import AccessToken, Item, User
from gearlife.operations import access
from tests.factories import ClubFactory, ItemFactory
from tests.gearlife.api.league import League, everything_written
from tests.pages import seen

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

autodiscover()
SHOWN = sorted(site._registry, key=lambda model: model._meta.label)
ACTS = ("changelist", "add", "change", "delete", "history")
HIDDEN = {
    *("Measurement", "MeasurementRead", "FileInHand", "Creation", "LedgerHead", "LedgerWords", "FailedSignIn"),
    "CodeToSignIn",
    "SignInSession",
}


@pytest.fixture(autouse=True)
def switched_on(settings: Any) -> Iterator[None]:
    settings.ROOT_URLCONF = "gearlife.config.operator_urls"
    clear_url_caches()
    yield
    clear_url_caches()


@pytest.fixture
def league() -> League:
    return League()


@pytest.fixture
def operator(league: League) -> Client:
    user = access.add_user(organisation=league.organisation, username="root", is_operator=True)
    client = signed_in(user)
    client.get(reverse("admin:index"))  # its session is written down
    return client


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def address(model: type[Model], act: str) -> str:
    row = model._default_manager.order_by("pk").first()
    arguments = [] if act in {"changelist", "add"} else [row.pk if row else "none"]
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{act}", args=arguments)


def addresses() -> list[str]:
    return [reverse("admin:index"), *(address(model, act) for model in SHOWN for act in ACTS)]


def test_every_table_is_shown_or_named_as_hidden() -> None:
    ours = {
        model for name in ("gearlife", "fitting", "inspections") for model in apps.get_app_config(name).get_models()
    }
    assert {model.__name__ for model in ours - set(SHOWN)} == HIDDEN
    assert len(SHOWN) == 50


def test_a_stranger_is_sent_to_the_one_sign_in_page(league: League) -> None:
    client = Client()
    for path in addresses():
        answer = client.get(path, follow=True)
        assert answer.redirect_chain[-1][0].startswith("/sign-in/?next=%2Foperators%2F"), path
        assert client.post(path).status_code == 403, path


@pytest.mark.parametrize("letter", ["A", "O"])
def test_for_whoever_has_a_role_there_is_nothing(league: League, letter: str) -> None:
    client = signed_in(league.users[letter])
    assert {client.get(path).status_code for path in addresses()} == {404}
    assert {client.post(path).status_code for path in addresses()} == {403}
    assert client.get("/operators/login/").status_code == 302


def test_an_operator_reads_every_table_and_every_row(operator: Client) -> None:
    assert operator.get(reverse("admin:index")).status_code == 200
    for model in SHOWN:
        assert operator.get(address(model, "changelist")).status_code == 200, model
        if model._default_manager.exists():
            assert operator.get(address(model, "change")).status_code == 200, model
            assert operator.get(address(model, "history")).status_code == 200, model


def test_an_operator_changes_nothing_anywhere(operator: Client) -> None:
    before = everything_written()
    rows = {model: model._default_manager.order_by("pk").values().first() for model in SHOWN}
    for model in SHOWN:
        for act in ACTS:
            body = {"action": "delete_selected", "_selected_action": "1", "post": "yes", "_save": "Save", "name": "x"}
            assert operator.post(address(model, act), body).status_code == 403, (model, act)
        assert {operator.get(address(model, act)).status_code for act in ("add", "delete")} <= {302, 403}, model
    assert everything_written() == before
    assert rows == {model: model._default_manager.order_by("pk").values().first() for model in SHOWN}


def test_no_secret_no_name_of_a_player_and_no_measurement_is_shown(operator: Client, league: League) -> None:
    player = league.player
    league.users["A"].set_password("rodaki-tumeso")
    league.users["A"].save()
    secrets = {token.digest for token in AccessToken.objects.all()} | {league.users["A"].password}
    assert secrets
    for model in SHOWN:
        for act in ("changelist", "change"):
            content = operator.get(address(model, act), follow=True).content.decode()
            assert not [secret for secret in secrets if secret in content], model
            assert player.family_name not in content, model
            assert "readings" not in content, model


def test_a_list_asks_no_more_for_many_rows_than_for_few(operator: Client, django_assert_max_num_queries: Any) -> None:
    club = ClubFactory.create()
    ItemFactory.create_batch(3, club=club)
    path = reverse("admin:gearlife_item_changelist")
    for _ in range(2):
        with django_assert_max_num_queries(6):
            assert operator.get(path).status_code == 200
        ItemFactory.create_batch(60, club=club)
    assert len(seen(operator.get(path)).split("SN-")) - 1 == 50 <= Item.objects.count()


def test_every_list_asks_a_bounded_number(operator: Client, django_assert_max_num_queries: Any) -> None:
    for model in SHOWN:
        with django_assert_max_num_queries(7):
            operator.get(address(model, "changelist"))


def test_an_item_is_found_by_the_beginning_of_its_serial(operator: Client, league: League) -> None:
    path = reverse("admin:gearlife_item_changelist")
    assert league.item.serial in seen(operator.get(path, {"q": league.item.serial[:6].lower()}))
    assert "0 items" in seen(operator.get(path, {"q": "no such serial"}))


def test_an_operator_holds_no_role_and_opens_no_page_of_a_club(operator: Client) -> None:
    assert operator.get("/settings/you/").status_code == 200
    assert operator.get(reverse("admin:password_change"))["Location"] == "/settings/you/password/"
    assert operator.get("/players/").status_code == 403
    assert operator.get("/api/v1/items/").status_code == 403


def test_an_operator_signs_out_by_the_button_alone(operator: Client) -> None:
    assert operator.get(reverse("admin:logout")).status_code == 404
    assert operator.get(reverse("admin:index")).status_code == 200
    assert operator.post(reverse("admin:logout"))["Location"] == "/sign-in/"
    assert operator.get(reverse("admin:index")).status_code == 302


def test_switched_off_there_is_nothing_there(operator: Client, settings: Any) -> None:
    settings.ROOT_URLCONF = "gearlife.config.urls"
    clear_url_caches()
    assert operator.get("/operators/").status_code == 404
    with pytest.raises(NoReverseMatch):
        reverse("admin:index")
