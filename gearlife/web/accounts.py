"""Whose session it is: people alone, and only while their account is active."""

from typing import Any
from uuid import UUID

from django.contrib.auth.backends import BaseBackend
from django.http import HttpRequest

from gearlife.domain.days import local_day
from gearlife.domain.sessions import ends_soon
from gearlife.models import User
from gearlife.web import clock
from gearlife.web.sessions import began_at


class PeoplesAccounts(BaseBackend):
    """Finds the user of a session; the password is looked at by `operations.sign_in` alone."""

    def get_user(self, user_id: UUID) -> User | None:
        """The account, with its organisation; None once it has ended, and never a device's."""
        people = User.objects.select_related("organisation").filter(is_active=True, is_device=False)
        return people.filter(id=user_id).first()


def session_end(request: HttpRequest) -> dict[str, Any]:
    """For every template: the day on which this session comes to its longest time, if that is near."""
    if not hasattr(request, "session") or not request.user.is_authenticated:
        return {}
    now = clock.now()
    end = ends_soon(began_at(request.session, now), now)
    return {"session_ends": local_day(end, request.user.organisation.timezone) if end else None}
