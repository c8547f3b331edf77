"""Identifiers, against the layout of RFC 9562."""

import time
from concurrent.futures import ThreadPoolExecutor
from uuid import RFC_4122, UUID, uuid4

from gearlife.domain.ids import derived_uuid7, is_uuid7, uuid7

# RFC 9562, appendix A.6: an example of version 7, made on 22 February 2022 at 19:22:22 UTC.
EXAMPLE = UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
EXAMPLE_MILLISECONDS = 1_645_557_742_000


def milliseconds_of(value: UUID) -> int:
    """The 48 bits of Unix time in front (RFC 9562, section 5.7)."""
    return value.int >> 80


def test_the_published_example_is_read_as_version_7() -> None:
    assert is_uuid7(EXAMPLE)
    assert milliseconds_of(EXAMPLE) == EXAMPLE_MILLISECONDS


def test_a_random_id_is_not_version_7() -> None:
    assert not is_uuid7(uuid4())


def test_an_id_has_version_and_variant_where_the_rfc_puts_them() -> None:
    made = uuid7()

    assert (made.int >> 76 & 0xF, made.int >> 62 & 0b11) == (7, 0b10)
    assert (made.version, made.variant) == (7, RFC_4122)


def test_an_id_begins_with_the_time_of_its_making() -> None:
    assert abs(milliseconds_of(uuid7()) - time.time_ns() // 1_000_000) < 1000


def test_ids_grow_in_the_order_of_their_making() -> None:
    made = [uuid7() for _ in range(5000)]

    assert made == sorted(made)
    assert len(set(made)) == len(made)


def test_threads_never_make_the_same_id() -> None:
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _: uuid7(), range(5000)))

    assert len(set(made)) == len(made)


def test_a_derived_id_is_of_version_7_and_of_its_keys_time() -> None:
    key = uuid7()
    derived = derived_uuid7(key, 3)

    assert (derived.version, derived.variant) == (7, RFC_4122)
    assert derived.int >> 80 == key.int >> 80


def test_a_derived_id_is_the_same_for_ever_and_another_for_every_place_and_key() -> None:
    keys = [uuid7(), uuid7()]
    derived = [derived_uuid7(key, number) for key in keys for number in range(500)]

    assert derived == [derived_uuid7(key, number) for key in keys for number in range(500)]
    assert len(set(derived)) == len(derived)
