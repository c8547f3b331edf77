"""A receipt: what was shown to whoever signs, and the seal that binds name, moment and meaning to it.

The seal follows the pattern of 21 CFR 11.50 and 11.70 (from memory): a signature shows the signer's name, when, and
what it means, and is linked to its record. Names go in by a salted hash: taken out of the row, the seal still stands,
and tells nothing.
"""

from collections.abc import Mapping
from enum import StrEnum
from hashlib import sha256
from typing import Any

from gearlife.domain.ledger import canonical_text

MEANING = "Received as listed, and the cautions read."
LONGEST_NAME = 120

Shown = Mapping[str, Any]


class SignedAs(StrEnum):
    """Who acknowledged."""

    PLAYER = "player"
    PARENT = "parent"
    GUARDIAN = "guardian"


def digest(shown: Shown) -> str:
    """The SHA-256 of what was shown, in canonical text, as hexadecimal."""
    return _hash(shown)


def hidden(salt: str, *names: str) -> str:
    """What stands in a seal for names: without the salt nobody finds out whose they were."""
    return _hash({"salt": salt, "names": list(names)})


def seal(*, shown: str, names: str, signed_as: str, at: str, account: str, meaning: str) -> str:
    """The hash that binds an acknowledgement: the digest of what was shown, the hidden names, and the rest of it."""
    parts = {"shown": shown, "names": names, "as": signed_as, "at": at, "account": account, "meaning": meaning}
    return _hash(parts)


def _hash(value: Mapping[str, object]) -> str:
    return sha256(canonical_text(value).encode()).hexdigest()
