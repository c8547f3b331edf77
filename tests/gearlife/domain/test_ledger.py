"""The ledger's hashes, against published test vectors and an independent spelling."""

import hashlib
import json
from enum import StrEnum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.ledger import BEGINNING, canonical_text, leaf_hash, link_hash


class Word(StrEnum):
    """A word of some list."""

    HELMET = "helmet"


# Test vectors of Certificate Transparency's Merkle trees (RFC 6962, whose hashes RFC 9162 section 2.1.1 keeps).
def test_nothing_recorded_has_the_hash_of_the_empty_tree() -> None:
    assert BEGINNING == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


@pytest.mark.parametrize(
    ("text", "digest"),
    [
        ("", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"),
        ("\x00", "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"),
        ("L123456", "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"),
    ],
)
def test_a_leaf_has_its_published_hash(text: str, digest: str) -> None:
    assert leaf_hash(text) == digest


@pytest.mark.parametrize(
    ("left", "right", "digest"),
    [
        # "N123" and "N456", the reference implementations' node vector
        (b"N123".hex(), b"N456".hex(), "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"),
        # the tree of the first two leaves: an empty one, and a zero byte
        (leaf_hash(""), leaf_hash("\x00"), "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"),
    ],
)
def test_two_hashes_join_to_their_published_node(left: str, right: str, digest: str) -> None:
    assert link_hash(left, right) == digest


@given(text=st.text())
def test_a_leaf_is_hashed_over_a_zero_byte_and_the_text(text: str) -> None:
    spelled = hashlib.new("sha256")
    spelled.update(bytes([0]))
    spelled.update(text.encode("utf-8"))

    assert leaf_hash(text) == spelled.hexdigest()


def test_an_entry_is_written_in_one_way_whatever_its_order() -> None:
    entry = {"b": [1, "é"], "a": {"y": None, "x": True}}

    assert canonical_text(entry) == '{"a":{"x":true,"y":null},"b":[1,"é"]}'
    assert canonical_text(dict(reversed(entry.items()))) == canonical_text(entry)


def test_a_word_of_a_list_is_written_as_plain_text() -> None:
    assert canonical_text({"kind": Word.HELMET}) == '{"kind":"helmet"}'


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@given(entry=st.dictionaries(st.text(max_size=8), json_values, max_size=4))
def test_canonical_text_reads_back_as_what_was_written(entry: dict[str, object]) -> None:
    assert json.loads(canonical_text(entry)) == entry


@pytest.mark.parametrize("value", [1.5, b"bytes", {1, 2}, object()])
def test_what_has_no_one_spelling_is_refused(value: object) -> None:
    with pytest.raises(TypeError):
        canonical_text({"value": value})
