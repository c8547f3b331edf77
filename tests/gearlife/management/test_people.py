"""The commands that found an organisation and make a device's token."""

import io

import pytest
from django.core.management import CommandError, call_command

from gearlife.domain.errors import ConflictError
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Membership, Organisation, User
from gearlife.operations import access
from tests.factories import ClubFactory, OrganisationFactory, TeamFactory, UserFactory, stamp
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db

FOUNDING = ("organisation", "Silt Valley Union", "--club", "SV", "--club-name", "Silt Valley", "--officer", "jo")
ZONE = ("--timezone", "America/Denver")


def said(*words: str) -> list[str]:
    """The lines that a command prints."""
    out = io.StringIO()
    call_command(*words, stdout=out)
    return out.getvalue().splitlines()


def tokens(lines: list[str]) -> list[str]:
    return [line.removeprefix("token: ") for line in lines if line.startswith("token: ")]


class TestOrganisation:
    def test_the_officer_is_administrator_as_well_where_none_is_named(self) -> None:
        lines = said(*FOUNDING, *ZONE)
        [secret] = tokens(lines)

        assert lines[:2] == ["club: SV", "jo: officer, administrator"]
        assert Caller(secret)("GET", "clubs/").json()["results"][0]["code"] == "SV"
        assert Caller(secret)("POST", "memberships/", {"username": "al", "role": "auditor"}).status_code == 201

    def test_an_administrator_of_another_name_has_a_token_of_the_own(self) -> None:
        officer, administrator = tokens(said(*FOUNDING, *ZONE, "--administrator", "bo"))
        body = {"username": "al", "role": "auditor"}

        assert Caller(officer)("POST", "memberships/", body).status_code == 403
        assert Caller(administrator)("POST", "memberships/", body).status_code == 201

    def test_each_is_told_what_to_sign_in_with(self) -> None:
        lines = said(*FOUNDING, *ZONE, "--administrator", "bo")
        told = [line.removeprefix("sign in: ").split(" / ") for line in lines if line.startswith("sign in: ")]

        assert [name for name, _ in told] == ["jo", "bo"]
        assert all(User.objects.get(username=name).check_password(words) for name, words in told)

    def test_addresses_for_alerts_are_kept(self) -> None:
        said(*FOUNDING, *ZONE, "--administrator", "bo", "--officer-email", "jo@sv.example")
        assert dict(User.objects.values_list("username", "email")) == {"jo": "jo@sv.example", "bo": ""}

    def test_a_name_that_is_there_is_refused_and_nothing_is_founded(self) -> None:
        said(*FOUNDING, *ZONE)
        with pytest.raises(CommandError, match="There is an organisation Silt Valley Union already"):
            said(*FOUNDING, *ZONE)
        assert Organisation.objects.filter(name="Silt Valley Union").count() == 1

    @pytest.mark.parametrize(
        ("words", "says"),
        [
            (("--timezone", "Mars/Base"), "time zone"),
            ((*ZONE, "--officer", "taken"), "taken"),
            ((*ZONE, "--club", "no code"), "code"),
            ((*ZONE, "--officer-email", "jo at home"), "no e-mail address"),
        ],
    )
    def test_what_cannot_be_taken_founds_nothing_at_all(self, words: tuple[str, ...], says: str) -> None:
        User.objects.create(username="taken", organisation=ClubFactory.create().organisation)
        with pytest.raises(CommandError, match=says):
            said(*FOUNDING, *words)
        assert not Organisation.objects.filter(name="Silt Valley Union").exists()


class TestDeviceToken:
    def test_the_token_stands_alone_and_is_of_a_device(self) -> None:
        club = ClubFactory.create(code="OB")
        [secret] = said("device_token", "--club", "ob", "--role", "officer", "--label", "gear room")

        role = Membership.objects.get(club=club)
        assert (role.role, role.user.is_device, role.user.has_usable_password()) == ("officer", True, False)
        assert Caller(secret)("GET", "items/").status_code == 200

    @pytest.mark.parametrize("role", list(Role))
    def test_every_role_can_be_given(self, role: Role) -> None:
        team = TeamFactory.create()
        [secret] = said("device_token", "--club", team.club.code, "--role", role.value)
        assert Caller(secret)("GET", "checklists/").status_code == 200

    def test_a_coachs_device_needs_the_team_where_the_club_has_several(self) -> None:
        club = ClubFactory.create()
        teams = [TeamFactory.create(club=club, name=name) for name in ("Herons", "Otters")]
        with pytest.raises(CommandError, match=r'Name the team by --team\. Teams of .*: "Herons", "Otters"'):
            said("device_token", "--club", club.code, "--role", "coach")
        with pytest.raises(CommandError, match="has no team Newts"):
            said("device_token", "--club", club.code, "--role", "coach", "--team", "Newts")

        said("device_token", "--club", club.code, "--role", "coach", "--team", "otters")
        assert Membership.objects.get(role="coach").team == teams[1]

    def test_a_code_of_two_organisations_asks_which(self) -> None:
        clubs = [ClubFactory.create(code="OB") for _ in range(2)]
        with pytest.raises(CommandError, match="name one by --organisation"):
            said("device_token", "--club", "OB", "--role", "officer")

        said("device_token", "--club", "OB", "--role", "officer", "--organisation", clubs[1].organisation.name)
        assert Membership.objects.get().club == clubs[1]

    def test_an_unknown_code_names_those_that_there_are(self) -> None:
        ClubFactory.create(code="OB")
        with pytest.raises(CommandError, match=r"There is no club XX\. Known clubs: OB"):
            said("device_token", "--club", "XX", "--role", "officer")
        assert Club.objects.count() == 1


class TestPassword:
    def test_a_new_one_is_printed_alone_and_counts(self) -> None:
        user = UserFactory.create()
        [words] = said("password", user.username)
        user.refresh_from_db()
        assert user.check_password(words)

    def test_an_unknown_name_and_a_device_get_none(self) -> None:
        with pytest.raises(CommandError, match="There is no account rowan"):
            said("password", "rowan")
        tablet = UserFactory.create(is_device=True)
        with pytest.raises(CommandError, match="it has a token, and no password"):
            said("password", tablet.username)


class TestOperator:
    def test_an_account_is_made_and_the_same_name_gets_a_new_password(self) -> None:
        OrganisationFactory.create()
        first, second = (said("operator", "root")[0].removeprefix("sign in: root / ") for _ in range(2))
        user = User.objects.get(username="root")
        assert (user.is_operator, user.check_password(second), user.check_password(first)) == (True, True, False)
        assert not Membership.objects.filter(user=user).exists()

    def test_nobody_who_has_an_account_becomes_an_operator(self) -> None:
        user = UserFactory.create()
        with pytest.raises(CommandError, match="an operator has one of the own"):
            said("operator", user.username)
        user.refresh_from_db()
        assert not user.is_operator

    def test_an_operator_is_given_no_role_and_no_password_by_an_administrator(self) -> None:
        club = ClubFactory.create(in_season=False)
        said("operator", "root", "--organisation", club.organisation.name)
        new = access.NewRole("root", Role.OFFICER, club)
        with pytest.raises(ConflictError):
            access.give_role(new=new, stamp=stamp(club.organisation))
        with pytest.raises(CommandError, match=r"`manage\.py operator root`"):
            said("password", "root")

    def test_it_is_ended(self) -> None:
        OrganisationFactory.create()
        said("operator", "root")
        said("operator", "root", "--end")
        assert not User.objects.get(username="root").is_active

    def test_it_needs_an_organisation(self) -> None:
        with pytest.raises(CommandError, match="no such organisation"):
            said("operator", "root")
