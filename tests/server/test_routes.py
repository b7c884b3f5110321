"""Routes are thin: what the store promises arrives over HTTP, and what is wrong is said in one form."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from calls.entry_samples import CALL, UNIT, Device
from holdcold.calls.entries import entry_of
from holdcold.server import make_app
from holdcold.server.guard import MOST_BYTES
from holdcold.store import Store, log_of_call, verify
from store.samples import CARD, PART, PARTS, PHOTO, PHOTO_SHA, photo_body, visit

Sync = Callable[..., dict[str, Any]]
CLOCK = "2026-11-25T08:00:00-06:00"


def test_entries_go_both_ways_byte_by_byte(sync_over: Sync, store: Store, shop: str) -> None:
    entries = visit()
    first = sync_over(*(entry.wire() for entry in entries))
    assert [item["outcome"] for item in first["taken"]] == ["kept"] * (len(entries) - 1) + ["quarantined"]
    second = sync_over(device="ben-phone")
    received = {entry.id: entry for entry in (entry_of(row["entry"]) for row in second["entries"])}
    redacted = {entry.redacts for entry in entries}
    for entry in entries[:-1]:
        assert received[entry.id].body == (None if entry.id in redacted else entry.body)
        assert received[entry.id].sha256 == entry.sha256
    assert entry_of(json.loads(second["quarantine"][0]["document"])) == entries[-1]
    assert second["cursor"] == second["head"] == first["head"]
    assert verify(store).damage == ()
    assert len(log_of_call(store, shop, CALL).everything) == len(entries)


def test_sending_again_changes_nothing(sync_over: Sync) -> None:
    wires = [entry.wire() for entry in visit()]
    assert sync_over(*wires)["head"] == sync_over(*wires)["head"]


def test_a_cursor_gives_only_what_is_new(sync_over: Sync) -> None:
    ana = Device()
    cursor = sync_over(ana.read("box_k", "38 F").wire())["cursor"]
    later = ana.read("box_k", "39 F", 1)
    answer = sync_over(later.wire(), since=cursor)
    assert [row["entry"]["id"] for row in answer["entries"]] == [later.id]
    assert not answer["restart"]
    assert sync_over(since={**cursor, "sha256": "f" * 64})["restart"]


def test_everything_that_came_is_answered(sync_over: Sync) -> None:
    good, odd = Device().read("box_k", "38 F"), Device("b", "B", 2).enter("reading", {"place": "nowhere"})
    answer = sync_over(good.wire(), {"id": 5}, odd.wire())
    assert [item["outcome"] for item in answer["taken"]] == ["kept", "quarantined", "kept"]
    assert {one["field"] for one in answer["taken"][1]["problems"]} >= {"id", "call", "body"}
    assert {one["field"] for one in answer["unreadable"][odd.id]} == {"place", "value"}
    assert all(one["allowed"] and one["advice"] for one in answer["unreadable"][odd.id])


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"clock": "noon"}, "clock"), ({"device": ""}, "body.device"),
        ({"since": {"sequence": -1}}, "body.since"),
        ({"entries": 5}, "body.entries"), ({"entries": [0] * 501}, "body.entries"),
        ({"colour": 1}, "body.colour"),
        ({"entries": [[[]] * 2, json.loads("[" * 90 + "]" * 90)]}, "entries"),
    ],
)  # fmt: skip
def test_a_request_that_is_none_says_why(ask: TestClient, change: dict[str, Any], field: str) -> None:
    answer = ask.post("/api/sync", json={"device": "x", "clock": CLOCK, "entries": [], **change})
    assert answer.status_code == 422
    assert answer.json()["error"][0]["field"].startswith(field)


@pytest.mark.parametrize("body", [b"", b"{", b"[" * 100_000, b'"\\ud800"', b"\xff\xfe"])
def test_what_is_no_json_is_refused(ask: TestClient, body: bytes) -> None:
    answer = ask.post("/api/sync", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in {400, 422}
    assert answer.json()["error"]


def test_json_that_only_python_reads_is_kept_in_quarantine(ask: TestClient, store: Store) -> None:
    body = json.dumps({"device": "x", "clock": CLOCK, "entries": [{"x": float("nan"), "y": "\ud800"}]})
    answer = ask.post("/api/sync", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 200
    assert answer.json()["taken"][0]["outcome"] == "quarantined"
    assert verify(store).damage == ()


def put_parts(ask: TestClient, content: bytes = PHOTO) -> list[dict[str, Any]]:
    """Send a photo in parts; return the answers."""
    url = f"/api/photos/{PHOTO_SHA}/parts"
    pieces = [content[start : start + PART] for start in range(0, len(content), PART)]
    answers = [
        ask.put(f"{url}/{number}", params={"count": PARTS}, content=piece)
        for number, piece in enumerate(pieces)
    ]
    return [answer.json() for answer in answers]


def test_photos_come_in_parts(ask: TestClient, sync_over: Sync) -> None:
    entry = Device().enter("photo", photo_body(PHOTO))
    assert sync_over(entry.wire())["missing_photos"] == [PHOTO_SHA]
    assert [answer["whole"] for answer in put_parts(ask)] == [False] * (PARTS - 1) + [True]
    assert [answer["whole"] for answer in put_parts(ask)] == [True] * PARTS
    assert sync_over(entry.wire())["missing_photos"] == []
    assert ask.get(f"/api/photos/{PHOTO_SHA}").content == PHOTO
    assert ask.get(f"/api/photos/{PHOTO_SHA}/parts", params={"count": PARTS}).json()["whole"]
    assert ask.get(f"/api/photos/{'0' * 64}").status_code == 404


def test_a_photo_that_changed_on_its_way_is_refused(ask: TestClient) -> None:
    answers = put_parts(ask, PHOTO[:-1] + b"x")
    assert answers[-1]["error"][0]["field"] == "sha256"
    assert put_parts(ask)[-1]["whole"]


@pytest.mark.parametrize("content", [b"", b"x" * (PART + 1), b"x" * (4 * PART)])
def test_a_part_of_the_wrong_size_is_refused(ask: TestClient, content: bytes) -> None:
    url = f"/api/photos/{PHOTO_SHA}/parts/0"
    assert ask.put(url, params={"count": 1}, content=content).status_code == 422


@pytest.mark.parametrize("path", ["../x", "%2e%2e%2fx", "A" * 64, "0" * 63])
def test_only_hashes_are_photos(ask: TestClient, path: str) -> None:
    assert ask.get(f"/api/photos/{path}").status_code in {404, 422}


def test_units_and_cards(ask: TestClient) -> None:
    assert ask.put(f"/api/units/{UNIT}", json={"name": "Cheese cooler"}).status_code == 204
    url = f"/api/units/{UNIT}/cards"
    kept = ask.post(url, json={"text": CARD, "author": "Ana", "at": CLOCK}).json()
    assert kept["problems"] == []
    half = ask.post(url, json={"text": "schema = 1\n", "author": "Ana", "at": CLOCK}).json()
    assert half["problems"]
    (unit,) = ask.get("/api/units").json()
    assert {one["sha256"] for one in unit["cards"]} == {kept["sha256"], half["sha256"]}
    assert ask.get(f"{url}/{kept['sha256']}").text == CARD
    assert ask.get(f"{url}/{'0' * 64}").status_code == 404
    other = UNIT.replace("0", "1")
    assert (
        ask.post(f"/api/units/{other}/cards", json={"text": "", "author": "A", "at": CLOCK}).status_code
        == 422
    )
    assert ask.put("/api/units/" + "-" * 36, json={"name": "x"}).status_code == 422


def test_the_list_of_calls(ask: TestClient, sync_over: Sync) -> None:
    sync_over(*(entry.wire() for entry in visit()))
    (row,) = ask.get("/api/calls", params={"unit": UNIT}).json()
    assert (row["id"], row["name"], row["state"]) == (CALL, "Cheese cooler, warm", "open")
    assert ask.get("/api/calls", params={"unit": CALL}).json() == []


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost.evil.example", "10.0.0.5:8765", "", "[::2]", "["]
)
def test_only_names_of_this_machine_are_answered(ask: TestClient, host: str) -> None:
    answer = ask.get("/api/health", headers={"host": host})
    assert (answer.status_code, answer.json()["error"][0]["field"]) == (421, "request")


@pytest.mark.parametrize(
    "origin", ["https://evil.example", "http://localhost:9", "null", "http://localhost:8765.x"]
)
def test_pages_of_others_cannot_ask(ask: TestClient, origin: str) -> None:
    answer = ask.post("/api/sync", json={}, headers={"origin": origin})
    assert answer.status_code == 403


def test_the_apps_own_pages_can_ask(ask: TestClient) -> None:
    answer = ask.get("/api/health", headers={"origin": "http://localhost:8765"})
    assert answer.status_code == 200
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
    assert answer.headers["cache-control"] == "no-store"


def test_too_much_at_once_is_refused(ask: TestClient) -> None:
    answer = ask.post("/api/sync", content=b"x", headers={"content-length": str(MOST_BYTES + 1)})
    assert answer.status_code == 413

    odd = ask.post("/api/sync", content=b"x", headers={"content-length": b"\xb2"})  # type: ignore[dict-item]
    assert odd.status_code == 413

    def endless() -> Any:
        for _ in range(MOST_BYTES // (1 << 20) + 2):
            yield b" " * (1 << 20)

    assert ask.post("/api/sync", content=endless()).status_code in {400, 413, 422}


def test_the_description_is_published(ask: TestClient) -> None:
    paths = ask.get("/api/openapi.json").json()["paths"]
    assert {"/api/sync", "/api/photos/{sha256}/parts/{number}", "/api/units/{unit}/cards"} <= set(paths)
    assert all("422" in method["responses"] for path in paths.values() for method in path.values())
    assert ask.get("/docs").status_code == ask.get("/nowhere").status_code == 404
    assert ask.get("/nowhere").json()["error"]


def test_trouble_with_the_store_is_said_in_the_same_form(ask: TestClient, store: Store) -> None:
    with store.database.reading() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 50")
    wire = Device().enter("note", {"text": "x" * 500_000}).wire()
    answer = ask.post("/api/sync", json={"device": "x", "clock": CLOCK, "entries": [wire]})
    assert (answer.status_code, answer.json()["error"][0]["field"]) == (503, "store")


def test_a_folder_of_pages_can_be_served(store: Store, shop: str, tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("<h1>Hello</h1>", encoding="utf-8")
    with TestClient(make_app(store, shop, tmp_path), base_url="http://localhost") as client:
        assert "Hello" in client.get("/").text
        assert client.get("/api/health").status_code == 200
