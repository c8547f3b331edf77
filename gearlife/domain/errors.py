"""What can go wrong, said in the words of the trade. HTTP is unknown here; `api.problems` maps each class."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong: a JSON pointer or column as the place, a stable code, and the way out in words."""

    detail: str
    pointer: str = ""
    code: str = "invalid"


class GearlifeError(Exception):
    """Any refusal of ours: `code` is stable, `detail` is for people, `faults` name the places."""

    code = "error"

    def __init__(self, detail: str, *, code: str | None = None, faults: Sequence[Fault] = ()) -> None:
        """Keep the words and the places; `code` narrows the class's own."""
        super().__init__(detail)
        self.detail = detail
        self.code = code or type(self).code
        self.faults = tuple(faults)


class InvalidInputError(GearlifeError):
    """What was sent cannot be taken as it is."""

    code = "invalid"

    @classmethod
    def at(cls, pointer: str, detail: str, code: str = "invalid") -> "InvalidInputError":
        """One fault at one place; `pointer` is a JSON pointer into the body."""
        return cls(detail, code=code, faults=[Fault(detail, pointer, code)])


class NotPermittedError(GearlifeError):
    """The actor's role does not carry this act."""

    code = "not_permitted"


class NotFoundError(GearlifeError):
    """Absent or foreign: the two look alike on purpose."""

    code = "not_found"


class ConflictError(GearlifeError):
    """The state of things refuses the act; every reason is among the faults."""

    code = "conflict"


class PreconditionFailedError(GearlifeError):
    """The row has changed since it was read."""

    code = "precondition_failed"


class PreconditionRequiredError(GearlifeError):
    """A change of a row must name the version that was read."""

    code = "precondition_required"


class UnsupportedFormatError(GearlifeError):
    """A file of a kind that is not taken."""

    code = "unsupported_media_type"


class TooLargeError(GearlifeError):
    """A file of more bytes than are taken."""

    code = "too_large"


class TooManyTriesError(GearlifeError):
    """Too many wrong passwords: this one was not even looked at."""

    code = "too_many_tries"
