"""What requests and answers hold; OpenAPI is made from it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from holdcold.calls.entries import GENESIS
from holdcold.errors import InputError
from holdcold.store import Answer, Cursor, Taken

MOST_SENT = 500
"""Entries in one request."""

Name = Annotated[str, Field(min_length=1, max_length=200)]
Sha256 = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]


class _Strict(BaseModel):
    """Refuses fields that nobody knows."""

    model_config = ConfigDict(extra="forbid")


class ProblemModel(BaseModel):
    """One thing wrong: where, what was given, what is allowed, what to do."""

    field: str
    value: str
    allowed: str
    advice: str


class ErrorModel(BaseModel):
    """Everything wrong with a request."""

    error: list[ProblemModel]


class CursorModel(_Strict):
    """How far a device has read: sequence and hash of a receipt; 0 and zeros for nothing."""

    sequence: int = Field(default=0, ge=0, lt=1 << 53)
    sha256: Sha256 = GENESIS


class SyncRequest(_Strict):
    """Entries of a device, and how far it has read."""

    device: Name
    clock: str = Field(description="The device's clock now, local date and time with offset.")
    since: CursorModel = CursorModel()
    entries: list[Any] = Field(
        default=[], max_length=MOST_SENT, description="Entries; docs/schemas/entries/entry.json."
    )


class TakenModel(BaseModel):
    """What became of one entry: kept, known, or quarantined with the reasons."""

    id: str
    sha256: str
    sequence: int
    outcome: str
    problems: list[ProblemModel]


class EntryModel(BaseModel):
    """One entry with the sequence of its receipt."""

    sequence: int
    entry: dict[str, Any]


class QuarantineModel(BaseModel):
    """One thing in quarantine: as it came (a text that holds JSON), why, and the sequence of its receipt."""

    sequence: int
    reason: str
    document: str


class OffsetModel(BaseModel):
    """How far a device's clock is behind the shop's [s], and the receipt it was estimated at."""

    sequence: int
    seconds: float


class SyncAnswer(BaseModel):
    """What came of it, and what the device has not seen; ``more``: ask again at once from ``cursor``.

    restart: the store does not know the cursor (it was set back): forget receipts, send everything again.
    """

    taken: list[TakenModel]
    missing_photos: list[str]
    unreadable: dict[str, list[ProblemModel]]
    entries: list[EntryModel]
    quarantine: list[QuarantineModel]
    cursor: CursorModel
    more: bool
    restart: bool
    head: CursorModel
    offsets: dict[str, OffsetModel]


class UploadModel(BaseModel):
    """How far a file has come: whole and on disk, dropped by a redaction, or these parts are here."""

    whole: bool
    dropped: bool
    parts: list[int]


class UnitRequest(_Strict):
    """Name of a unit."""

    name: Name


class CardRequest(_Strict):
    """One version of a card: its text, who wrote it, when."""

    text: str = Field(max_length=256 * 1024)
    author: Name
    at: Name


class CardAnswer(BaseModel):
    """Hash of the version kept, and what is wrong with the card as it reads now."""

    sha256: str
    problems: list[ProblemModel]


class CardModel(BaseModel):
    """One version of a card."""

    sha256: str
    author: str
    at: str


class UnitModel(BaseModel):
    """A unit and the versions of its card, the newest last."""

    id: str
    name: str
    cards: list[CardModel]


class CallModel(BaseModel):
    """A call in a list."""

    id: str
    unit: str
    name: str
    state: str
    opened_s: float


class HealthModel(BaseModel):
    """That the server answers, and its release."""

    holdcold: str


def problem_models(problems: tuple[InputError, ...] | list[InputError]) -> list[ProblemModel]:
    """Return problems as they are answered; problems: what is wrong."""
    return [
        ProblemModel(field=one.field, value=_plain(one.value), allowed=one.allowed, advice=one.advice)
        for one in problems
    ]


def _plain(value: object) -> str:
    """Return a value as text that can travel: at most 200 characters, no halves of characters."""
    return str(value)[:200].encode("utf-8", "replace").decode("utf-8")


def cursor_of(model: CursorModel) -> Cursor:
    """Return a cursor as the store knows it."""
    return Cursor(model.sequence, model.sha256)


def _cursor_model(cursor: Cursor) -> CursorModel:
    return CursorModel(sequence=cursor.sequence, sha256=cursor.sha256)


def _taken_model(taken: Taken) -> TakenModel:
    return TakenModel(
        id=taken.id,
        sha256=taken.sha256,
        sequence=taken.sequence,
        outcome=taken.outcome,
        problems=problem_models(taken.problems),
    )


def sync_answer(answer: Answer) -> SyncAnswer:
    """Return the answer to a sync as it travels."""
    return SyncAnswer(
        taken=[_taken_model(item) for item in answer.taken],
        missing_photos=answer.missing_photos,
        unreadable={id_: problem_models(found) for id_, found in answer.unreadable.items()},
        entries=[
            EntryModel(sequence=sequence, entry=entry.wire()) for entry, sequence in answer.news.entries
        ],
        quarantine=[
            QuarantineModel(sequence=sequence, reason=reason, document=raw.decode("ascii"))
            for raw, reason, sequence in answer.news.quarantine
        ],
        cursor=_cursor_model(answer.news.cursor),
        more=answer.news.more,
        restart=answer.news.restart,
        head=_cursor_model(answer.head),
        offsets={
            device: OffsetModel(sequence=offset.sequence, seconds=offset.seconds)
            for device, offset in answer.news.offsets.items()
        },
    )
