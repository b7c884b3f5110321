"""An entry keeps its exact bytes, and its envelope is checked as a whole."""

from __future__ import annotations

import hashlib
import json
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calls.entry_samples import CALL, Device
from holdcold.calls.entries import entry_of, make_entry, sha256_text, uuid7_text
from holdcold.errors import InputError, InputErrors


def test_id_of_the_standard() -> None:
    # RFC 9562, appendix A.6: the example of version 7, 2022-02-22T14:22:22-05:00.
    assert (
        uuid7_text(0x017F22E279B0, 0xCC3 << 62 | 0x18C4DC0C0C07398F) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    )


@given(st.integers(0, 2**48 - 1), st.integers(0, 2**74 - 1))
def test_ids_are_uuids_of_version_7(unix_ms: int, chance: int) -> None:
    made = uuid.UUID(uuid7_text(unix_ms, chance))
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert made.int >> 80 == unix_ms


@pytest.mark.parametrize(("unix_ms", "chance"), [(-1, 0), (2**48, 0), (0, -1), (0, 2**74)])
def test_ids_out_of_range_are_refused(unix_ms: int, chance: int) -> None:
    with pytest.raises(InputError):
        uuid7_text(unix_ms, chance)


@pytest.mark.parametrize(
    "text",
    ['{"place": "box_k",\n "value":"38 F"}', '{"value":"38 \\u00b0F","place":"box_k"}', "{}", "no JSON", ""],
)
def test_bytes_come_back_as_they_were(text: str) -> None:
    entry = Device().enter("reading", text)
    again = entry_of(json.loads(json.dumps(entry.wire())))
    assert again == entry
    assert again.body == text.encode("utf-8")
    assert again.body_sha256 == hashlib.sha256(text.encode("utf-8")).hexdigest()


def test_the_hash_covers_the_envelope_and_survives_redaction() -> None:
    entry = Device().read("box_k", "38 F")
    assert entry.without_body().sha256 == entry.sha256
    for key, value in {
        "author": "Ben",
        "counter": 9,
        "kind": "note",
        "seen": {"x": 1},
        "corrects": CALL,
    }.items():
        changed = entry_of({**entry.wire(), key: value})
        assert changed.sha256 != entry.sha256, key


def test_the_hash_is_the_documented_one() -> None:
    entry = Device().read("box_k", "38 F")
    envelope = {key: value for key, value in entry.wire().items() if key != "body"}
    text = json.dumps(envelope, sort_keys=True, separators=(",", ":"))
    assert entry.sha256 == sha256_text(text.encode("ascii"))


def test_everything_wrong_is_told_at_once() -> None:
    wire = {**Device().read("box_k", "38 F").wire(), "id": "17", "counter": 0, "at": "noon", "colour": "red"}
    del wire["author"]
    with pytest.raises(InputErrors) as caught:
        entry_of(wire)
    assert {problem.field for problem in caught.value.problems} == {"entry", "id", "counter", "at", "author"}
    assert all(problem.allowed and problem.advice for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("id", "01936A2E-7B3C-7DEF-8123-456789ABCDEF"), ("id", str(uuid.UUID(int=5))), ("call", None),
        ("kind", "two words"), ("kind", ""), ("schema", True), ("schema", 1.0), ("schema", 0),
        ("author", " Ana"),
        ("author", "a\nb"), ("author", "x" * 201), ("device", "\ud800"), ("counter", 2**53), ("seen", []),
        ("seen", {"x": -1}), ("seen", {"": 1}), ("at", "2026-11-25T14:03:22"), ("at", "2026-11-25"),
        ("at", "2026-13-25T14:03:22-06:00"), ("at", "2026-11-25T14:03:22Z"), ("sha256", "00"),
        ("sha256", "0" * 64), ("body", 5), ("body", "\ud800"), ("body", "x" * (1 << 20) + "y"),
        ("corrects", ""),
        ("redacts", "x"),
    ],
)  # fmt: skip
def test_a_wrong_part_is_refused(key: str, value: object) -> None:
    with pytest.raises(InputErrors):
        entry_of({**Device().read("box_k", "38 F").wire(), key: value})


@pytest.mark.parametrize("key", list(Device().read("box_k", "38 F").wire()))
def test_a_part_that_is_missing_is_told(key: str) -> None:
    wire = Device().read("box_k", "38 F").wire()
    del wire[key]
    with pytest.raises(InputErrors) as caught:
        entry_of(wire)
    assert [problem.field for problem in caught.value.problems] == [key]


@pytest.mark.parametrize("document", [None, [], "x", 5, {}])
def test_what_is_no_entry_is_refused(document: object) -> None:
    with pytest.raises(InputErrors):
        entry_of(document)


def test_a_body_that_changed_on_its_way_is_refused() -> None:
    wire = {**Device().read("box_k", "38 F").wire(), "body": '{"place":"box_k","value":"88 F"}'}
    with pytest.raises(InputErrors, match="changed on its way"):
        entry_of(wire)


@given(
    st.dictionaries(
        st.sampled_from(["id", "call", "seen", "body", "at", "x"]), st.none() | st.integers() | st.text()
    )
)
def test_refusals_are_always_ours(document: dict[str, object]) -> None:
    with pytest.raises(InputErrors):
        entry_of(document)


def test_unknown_kinds_travel_verbatim() -> None:
    wire = {**Device().enter("from_the_future", '{"a": 1e400}').wire(), "schema": 7}
    assert entry_of(wire).wire() == wire


def test_make_entry_hashes_the_bytes() -> None:
    wire = Device().read("box_k", "38 F").wire()
    envelope = {key: value for key, value in wire.items() if key not in {"sha256", "body"}}
    assert make_entry(envelope, str(wire["body"]).encode()).wire() == wire
