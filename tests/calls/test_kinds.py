"""Each kind's table validates, publishes its schema, and reports every problem at once."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calls.entry_samples import UNIT, Device
from holdcold.calls.entries import KINDS, body_schemas, entry_schema, problems_of, validate
from holdcold.diagnosis.catalogue import catalogue
from holdcold.errors import InputErrors

ROOT = Path(__file__).parents[2]
SCHEMAS = body_schemas()
KIND_NAMES = list(KINDS)
FORMS = [
    (kind.name, number, form) for kind in KINDS.values() for number, form in enumerate(kind.versions, start=1)
]
REVERSAL = {"reverses", "reason"}


def example(kind: str, *, full: bool) -> dict[str, Any]:
    """Return a body from the examples of the table: all fields, or only those that are needed."""
    fields = KINDS[kind].versions[-1].fields
    body = {one.key: one.example for one in fields if full or one.required or one.unless}
    if kind in {"refrigerant", "oil"}:
        body = {key: value for key, value in body.items() if key not in REVERSAL}
    return body


def fits_schema(body: object, name: str) -> bool:
    """Say whether an outside validator takes a body."""
    return jsonschema.Draft202012Validator(SCHEMAS[name]).is_valid(body)


def problems(kind: str, body: dict[str, Any] | str, **more: Any) -> list[str]:
    """Return the fields that are wrong with an entry."""
    if kind in {"withdrawal", "redaction"}:
        more = {KINDS[kind].only: UNIT, **more}
    return [one.field for one in problems_of(Device().enter(kind, body, **more), catalogue())]


def test_documents_are_up_to_date() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "write_entries.py"), "--check"],
        capture_output=True, text=True, check=False, env={"PYTHONPATH": str(ROOT / "src"), "PATH": ""},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_kind_of_the_house_plan_is_there() -> None:
    plan = {
        "complaint", "reading", "sighting", "check", "work", "part", "refrigerant", "oil", "trace",
        "set_point", "photo", "note", "approval", "time", "follow_up", "conclusion", "temporary_made",
        "temporary_restored",
    }  # fmt: skip
    assert plan <= set(KINDS)


@pytest.mark.parametrize("name", ["entry", *SCHEMAS])
def test_schemas_are_schemas(name: str) -> None:
    schema = entry_schema() if name == "entry" else SCHEMAS[name]
    jsonschema.Draft202012Validator.check_schema(schema)
    published = ROOT / "docs" / "schemas" / "entries" / f"{name}.json"
    assert json.loads(published.read_text(encoding="utf-8")) == schema


def test_an_entry_fits_its_schema() -> None:
    jsonschema.Draft202012Validator(entry_schema()).validate(Device().read("box_k", "38 F").wire())


@pytest.mark.parametrize("kind", KIND_NAMES)
@pytest.mark.parametrize("full", [True, False], ids=["all fields", "only the needed"])
def test_examples_are_in_order(kind: str, *, full: bool) -> None:
    body = example(kind, full=full)
    assert problems(kind, body) == []
    assert fits_schema(body, f"{kind}.v1")


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_each_field_says_what_it_is(kind: str) -> None:
    for field in KINDS[kind].versions[-1].fields:
        assert re.match(r"[A-Z].*\.$", field.meaning), field.key
        assert field.allowed


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_schema_and_code_refuse_alike(kind: str) -> None:
    """Unknown keys, missing fields and wrong types are refused by both, one by one."""
    good = example(kind, full=True)
    fields = KINDS[kind].versions[-1].fields
    wrong: list[dict[str, Any]] = [{**good, "colour": 1}]
    wrong += [{k: v for k, v in good.items() if k != field.key} for field in fields if field.required]
    wrong += [{**good, field.key: {"x": []}} for field in fields if field.kind != "any"]
    wrong += [{**good, field.key: None} for field in fields if field.kind != "any"]
    for body in wrong:
        assert problems(kind, body), body
        assert not fits_schema(body, f"{kind}.v1"), body


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@given(st.data())
def test_what_the_code_takes_the_schema_takes(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(KIND_NAMES))
    body = example(kind, full=True)
    for field in data.draw(st.lists(st.sampled_from(KINDS[kind].versions[-1].fields), max_size=3)):
        if data.draw(st.booleans()):
            body.pop(field.key, None)
        else:
            body[field.key] = data.draw(JSON)
    if not problems(kind, body):
        assert fits_schema(body, f"{kind}.v1"), body


def test_everything_wrong_is_told_at_once() -> None:
    entry = Device().enter(
        "reading", {"place": "discharge", "valu": 5, "stage": "best", "instrument": "eyes"}
    )
    found = {one.field: one for one in problems_of(entry, catalogue())}
    assert set(found) == {"place", "key", "stage", "instrument", "value"}
    assert "discharge_pa" in found["place"].advice
    assert all(one.allowed and one.advice for one in found.values())


@pytest.mark.parametrize(
    ("kind", "body", "field"),
    [
        ("reading", {"place": "discharge_pa", "value": "212"}, "value"),
        ("reading", {"place": "discharge_pa", "value": "212 F"}, "value"),
        ("sighting", {"id": "evaporator_fans", "seen": "purple"}, "seen"),
        ("check", {"id": "condenser_air", "outcome": "not_now"}, "reason"),
        ("work", {"what": "x", "outcome": "fixed"}, "fault"),
        ("trace", {"place": "box_k", "unit": "F", "started": "2026-11-25T14:03:22-06:00", "seconds": [0, 1],
                   "values": [1]}, "values"),
        ("trace", {"place": "box_k", "unit": "F", "started": "2026-11-25T14:03:22-06:00", "seconds": [1, 1],
                   "values": [1, 2]}, "seconds"),
        ("trace", {"place": "box_k", "unit": "psig", "started": "2026-11-25T14:03:22-06:00", "seconds": [1],
                   "values": [1]}, "unit"),
        ("refrigerant", {"movement": "charged", "refrigerant": "R-448A", "amount": "2"}, "amount"),
        ("refrigerant", {"movement": "charged", "refrigerant": "R-999", "amount": "2 lb"}, "refrigerant"),
        ("refrigerant", {"reverses": UNIT}, "reason"),
        ("refrigerant", {"reverses": UNIT, "reason": "x", "amount": "2 lb"}, "amount"),
        ("instrument", {"instrument": "gauge_digital", "offset": "3 F"}, "offset"),
        ("photo", {"photos": [{"sha256": "0" * 64, "bytes": 0, "type": "image/jpeg"}]}, "photos 1: bytes"),
        ("photo", {"photos": [{"sha256": "0" * 64, "bytes": 5, "type": "text/html"}]}, "photos 1: type"),
        ("note", '{"text": "a", "text": "b"}', "body"),
        ("note", '{"text": NaN}', "body"),
        ("state", '{"state": "off", "minutes_in_state": 1e999}', "body"),
        ("state", '{"state": "off", "minutes_in_state": 123456789012345678901234567890}', "body"),
        ("note", "[]", "body"),
        ("note", "[" * 5000, "body"),
        ("conclusion", '{"what":"report","result":' + "[" * 60 + "]" * 60 + "}", "body"),
    ],
)  # fmt: skip
def test_a_rule_is_kept(kind: str, body: dict[str, Any] | str, field: str) -> None:
    assert field in problems(kind, body)


def test_amounts_are_never_corrected() -> None:
    body = example("refrigerant", full=False)
    assert problems("refrigerant", body, corrects=UNIT) == ["corrects"]


def test_a_withdrawal_names_what_it_withdraws() -> None:
    entry = Device().enter("withdrawal", {"reason": "wrong unit"})
    assert [one.field for one in problems_of(entry, catalogue())] == ["corrects"]


def test_only_known_kinds_and_versions_can_be_made() -> None:
    for entry in (Device().enter("reeding", {}), Device().enter("note", {"text": "x"}, schema=2)):
        assert problems_of(entry, catalogue()) == ()
        with pytest.raises(InputErrors):
            validate(entry, catalogue())
    validate(Device().enter("note", {"text": "x"}), catalogue())
