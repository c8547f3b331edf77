"""Identifiers: UUID version 7 (RFC 9562, section 5.7), in order of making, never a secret."""

import secrets
import threading
import time
from datetime import UTC, datetime
from hashlib import sha256
from uuid import UUID

VERSION = 7
_lock = threading.Lock()
_last = 0


def uuid7() -> UUID:
    """Make the next id; ids of one process never step back (RFC 9562, section 6.2, method 3)."""
    global _last  # noqa: PLW0603 - the one counter of the process, under its lock
    with _lock:
        # 48 bits of milliseconds and 12 bits of their fraction, as one growing number.
        now = (time.time_ns() << 12) // 1_000_000
        _last = max(now, _last + 1)
        ticks = _last
    value = (ticks >> 12) << 80 | 0x7 << 76 | (ticks & 0xFFF) << 64 | 0b10 << 62 | secrets.randbits(62)
    return UUID(int=value)


def derived_uuid7(key: UUID, number: int) -> UUID:
    """The id of the `number`-th thing that a client sent under one key: the same for ever, at the key's own time."""
    digest = int.from_bytes(sha256(key.bytes + number.to_bytes(4, "big")).digest()[:10], "big")
    time_bits = key.int >> 80 << 80
    return UUID(int=time_bits | 0x7 << 76 | (digest >> 62 & 0xFFF) << 64 | 0b10 << 62 | digest & (1 << 62) - 1)


def is_uuid7(value: UUID) -> bool:
    """Whether an id that a client made is of version 7."""
    return value.version == VERSION


def made_at(value: UUID) -> datetime:
    """When an id of version 7 was made, to the millisecond."""
    return datetime.fromtimestamp((value.int >> 80) / 1000, UTC)
