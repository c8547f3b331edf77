"""Fields of words and of people."""

from enum import StrEnum
from typing import Any, ClassVar

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from gearlife.models import User


class WordField(serializers.ChoiceField):
    """One word of an enum; gives its member."""

    def __init__(self, words: type[StrEnum], **kwargs: Any) -> None:
        """Take the words of the enum."""
        self.words = words
        super().__init__(choices=[word.value for word in words], **kwargs)

    def to_internal_value(self, data: Any) -> StrEnum | str:  # noqa: ANN401 - what a client sent
        """Read it; ValidationError when it is none of the words."""
        word: str = super().to_internal_value(data)
        return self.words(word) if word else ""


@extend_schema_field(OpenApiTypes.STR)
class PersonField(serializers.Field[Any, str, str, Any]):
    """The user name of a person of the actor's organisation; gives the user. A foreign one and none read alike."""

    default_error_messages: ClassVar[dict[str, Any]] = {"unknown_person": "there is no such person here"}

    def to_internal_value(self, data: Any) -> Any:  # noqa: ANN401 - what a client sent; a user
        """Find the person; a device's own account is nobody."""
        organisation_id = self.context["actor"].organisation_id
        people = User.objects.filter(organisation_id=organisation_id, is_device=False, is_active=True)
        person = people.filter(username=data).first() if isinstance(data, str) else None
        if person is None:
            self.fail("unknown_person")
        return person

    def to_representation(self, value: User) -> str:
        """Write the user name."""
        return value.username
