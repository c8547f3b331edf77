"""Identifiers: UUID version 7 (RFC 9562, section 5.7), in order of making, never a secret."""

import secrets
import threading
import time
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


def is_uuid7(value: UUID) -> bool:
    """Whether an id that a client made is of version 7."""
    return value.version == VERSION
