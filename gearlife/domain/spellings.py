"""Whether two serials may be one: dashes, blanks, case and zeros before a number make no difference."""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence

from gearlife.domain.normal_form import normal_form

_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")


class Spellings:
    """Known serials, asked for those that another may be a spelling of."""

    def __init__(self, serials: Iterable[str] = ()) -> None:
        """Take serials as they are written."""
        self._known: dict[tuple[int, str], list[str]] = defaultdict(list)
        for serial in dict.fromkeys(map(normal_form, serials)):
            for form in enumerate(_forms(serial)):
                self._known[form].append(serial)

    def of(self, serial: str) -> Sequence[str]:
        """The normal forms of the known ones that may be the same serial."""
        alike = (known for form in enumerate(_forms(serial)) for known in self._known.get(form, ()))
        return list(dict.fromkeys(alike))


def _forms(serial: str) -> tuple[str, str]:
    """Letters and numbers, joined before zeros are dropped and after; serials alike in either may be one.

    Joined first, `AK-9-01` is `AK901`; joined last it is `AK-9-1`. What drops a dash between two numbers and adds a
    zero there at once is not seen: to see it, `R1-000001` would be taken for `R0-000011`.
    """
    key = normal_form(serial)
    return _ZEROS.sub("", _plain(key)), _plain(_ZEROS.sub("", key))


def _plain(key: str) -> str:
    return "".join(filter(str.isalnum, key))
