"""Addresses: PUT creates, PATCH changes, and what a resource does not offer is 405."""

from collections.abc import Mapping
from typing import Any

from rest_framework.routers import DynamicRoute, Route, SimpleRouter

from gearlife.api.resources import Resource

LIST = Route(
    url="{prefix}{trailing_slash}",
    mapping={"get": "list", "post": "create"},
    name="{basename}-list",
    detail=False,
    initkwargs={},
)
DETAIL = Route(
    url="{prefix}/{lookup}{trailing_slash}",
    mapping={"get": "retrieve", "put": "create_named", "patch": "partial_update", "delete": "destroy"},
    name="{basename}-detail",
    detail=True,
    initkwargs={},
)
BELOW_LIST, BELOW_DETAIL = (route for route in SimpleRouter.routes if isinstance(route, DynamicRoute))


class Router(SimpleRouter):
    """Mounts resources under their own names."""

    routes = [LIST, BELOW_LIST, DETAIL, BELOW_DETAIL]

    def __init__(self, *resources: type[Resource]) -> None:
        """Mount these."""
        super().__init__(use_regex_path=False)
        for each in resources:
            self.register(each.resource, each, basename=each.resource)

    def get_method_map(self, viewset: type[Any], method_map: Mapping[str, str]) -> dict[str, str]:
        """Methods that the resource offers."""
        return {method: name for method, name in method_map.items() if viewset.offers(name)}
