"""What a role may ask for. Whatever a view does not allow by name is refused."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Role

if TYPE_CHECKING:
    # The framework's views import this module by name while they are being loaded.
    from rest_framework.views import APIView

EVERYBODY = frozenset(Role)
# The keys of a view's `allow`, by the framework's action; an act goes by the last word of its address.
VERBS: Mapping[str, str] = {
    "list": "read",
    "retrieve": "read",
    "create": "create",
    "create_named": "create",
    "bulk": "create",
    "partial_update": "change",
    "destroy": "delete",
}


class RoleAllows(BasePermission):
    """Grants by `view.allow` (verb to roles), and to people alone what is in `view.people_only`."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Whether the actor holds, somewhere, a role that carries the verb; where, `require_grant` asks."""
        if not isinstance(request.user, Actor):
            return False
        action = getattr(view, "action", None)
        if action in {None, "metadata"}:
            return True  # No such method here: the view itself answers 405, or OPTIONS.
        verb = verb_of(view)
        if request.user.is_device and verb in getattr(view, "people_only", ()):
            return False
        return request.user.may_be(*roles_for(view))


def verb_of(view: object) -> str:
    """The key under which the running action is allowed."""
    action = str(getattr(view, "action", ""))
    return VERBS.get(action, action.strip("_").replace("_", "-"))


def roles_for(view: object) -> frozenset[Role]:
    """The roles that carry the running action; none when the view does not name it."""
    allow: Mapping[str, frozenset[Role]] = getattr(view, "allow", {})
    return allow.get(verb_of(view), frozenset())
