"""Files come in parts, and are acknowledged when they are whole, right and on disk."""

from __future__ import annotations

import pytest

from holdcold.calls.entries import sha256_text
from holdcold.errors import InputError
from holdcold.store import Store, put_part, read_photo, upload_state, verify
from store.samples import PART, PARTS, PHOTO, PHOTO_SHA, upload

PIECES = [PHOTO[start : start + PART] for start in range(0, len(PHOTO), PART)]


def test_sample_has_parts() -> None:
    assert len(PIECES) == PARTS > 1


def test_parts_in_any_order_and_twice(store: Store, shop: str) -> None:
    assert upload_state(store, shop, PHOTO_SHA, PARTS).parts == ()
    last = PARTS - 1
    for _ in range(2):
        state = put_part(store, shop, PHOTO_SHA, last, PARTS, PIECES[last])
        assert (state.whole, state.parts) == (False, (last,))
    for number in range(last):
        state = put_part(store, shop, PHOTO_SHA, number, PARTS, PIECES[number])
    assert state.whole
    assert read_photo(store, shop, PHOTO_SHA) == PHOTO
    assert put_part(store, shop, PHOTO_SHA, 0, PARTS, PIECES[0]).whole
    assert verify(store).damage == ()
    assert [path for path in store.folder.rglob("*") if "incoming" in path.parts and path.is_file()] == []


def test_a_whole_with_another_hash_is_not_taken(store: Store, shop: str) -> None:
    wrong = sha256_text(b"something else")
    with pytest.raises(InputError, match="changed on its way"):
        put_part(store, shop, wrong, 0, 1, b"this")
    assert upload_state(store, shop, wrong, 1).parts == ()
    assert put_part(store, shop, wrong, 0, 1, b"something else").whole


@pytest.mark.parametrize(
    ("sha256", "number", "count", "content"),
    [
        ("../../etc/passwd", 0, 1, b"x"), (PHOTO_SHA.upper(), 0, 1, b"x"), (PHOTO_SHA, 1, 1, b"x"),
        (PHOTO_SHA, -1, 1, b"x"), (PHOTO_SHA, 0, 129, b"x" * PART), (PHOTO_SHA, 0, 0, b"x"),
        (PHOTO_SHA, 0, 1, b""),
        (PHOTO_SHA, 0, 2, b"short"), (PHOTO_SHA, 0, 1, b"x" * (PART + 1)),
    ],
)  # fmt: skip
def test_what_is_no_part_is_refused(
    store: Store, shop: str, sha256: str, number: int, count: int, content: bytes
) -> None:
    with pytest.raises(InputError):
        put_part(store, shop, sha256, number, count, content)


def test_a_photo_of_another_shop_is_not_here(store: Store, shop: str) -> None:
    upload(store, shop)
    assert read_photo(store, "another", PHOTO_SHA) is None
    assert read_photo(store, shop, sha256_text(b"x")) is None
