"""What needs no token."""

from rest_framework.views import APIView


class OpenView(APIView):
    """A view that anybody may read."""

    authentication_classes = ()
    permission_classes = ()
