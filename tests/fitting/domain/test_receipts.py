"""The digest of what was shown, and the seal of an acknowledgement."""

from hashlib import sha256
from typing import Any

from fitting.domain.receipts import digest, hidden, seal

PARTS: dict[str, Any] = {
    "shown": "0" * 64,
    "names": "1" * 64,
    "signed_as": "parent",
    "at": "2026-10-14T16:00:00.000000+00:00",
    "account": "an id",
    "meaning": "Received.",
}


def test_the_digest_is_sha256_over_sorted_json_without_blanks() -> None:
    """RFC 8785 writes objects of text and whole numbers so; the hash is the standard library's."""
    assert digest({"b": [1, True], "a": "é"}) == sha256('{"a":"é","b":[1,true]}'.encode()).hexdigest()


def test_every_part_of_an_acknowledgement_is_bound() -> None:
    sealed = seal(**PARTS)
    assert all(seal(**PARTS | {name: value + "."}) != sealed for name, value in PARTS.items())
    assert seal(**PARTS) == sealed


def test_names_cannot_be_guessed_without_the_salt_nor_moved_between_places() -> None:
    assert hidden("salt", "Ada", "Bo") != hidden("other", "Ada", "Bo")
    assert hidden("salt", "Ada", "Bo") != hidden("salt", "AdaBo", "")
