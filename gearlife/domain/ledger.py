"""The ledger's arithmetic: canonical text, the RFC 9162 leaf hash over it, and the link from event to event."""

import json
from collections.abc import Mapping
from hashlib import sha256

# RFC 9162, section 2.1.1: the hash of an empty list is the hash of an empty string.
BEGINNING = sha256(b"").hexdigest()
# Nearly every value is one of these as it is; a word of an enum is text too, and is written as text.
PLAIN = (str, int, bool, type(None))
# Facts that somebody typed. They may name a person, so they stand beside the ledger, which keeps a commitment to them:
# who is removed leaves the words, and no event is touched.
TYPED = frozenset(
    {"reason", "release_reason", "proposed_reason", "agreed_reason", "retired_reason", "condition", "notes", "firm"}
)
COMMITTED = "words"


def canonical_text(entry: Mapping[str, object]) -> str:
    """Write an entry the one way: sorted keys, no blanks, text as it is; TypeError on a float or a foreign type."""
    return json.dumps(_plain(entry), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _plain(value: object) -> object:
    if type(value) in PLAIN:
        return value
    match value:
        case None | bool() | int() | str():
            return value if not hasattr(value, "value") else str(value)
        case list() | tuple():
            return [_plain(part) for part in value]
        case dict():
            return {str(key): _plain(part) for key, part in value.items()}
    raise TypeError(f"a {type(value).__name__} has no canonical text; write it as text or whole number")


def leaf_hash(text: str) -> str:
    """The hash of one event (RFC 9162, section 2.1.1: SHA-256 over 0x00 and the entry)."""
    return sha256(b"\x00" + text.encode()).hexdigest()


def commitment(salt: str, words: object) -> str:
    """What the ledger keeps of typed words: without the salt, which goes with the words, nobody can guess them."""
    return sha256(f"{salt} {canonical_text({COMMITTED: words})}".encode()).hexdigest()


def link_hash(before: str, leaf: str) -> str:
    """The hash that seals all events so far (the node hash of RFC 9162: SHA-256 over 0x01, left, right)."""
    return sha256(b"\x01" + bytes.fromhex(before) + bytes.fromhex(leaf)).hexdigest()
