"""A code says what it says in its own list, though another list has the same code."""

from gearlife.domain.vocabulary import HoldCause, Role
from gearlife.web.words import words_for


def test_an_officer_is_a_role_unless_the_list_is_named() -> None:
    assert words_for(Role.OFFICER) == "equipment manager"
    assert words_for(HoldCause.OFFICER, "cause") == "decided by who is responsible"


def test_a_limit_is_not_told_as_whose_act_ends_a_hold() -> None:
    assert words_for("full_inspection") == "full inspection"
