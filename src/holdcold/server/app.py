"""The application: routes that check the form of a request, call the store, and answer."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path as FolderPath
from typing import Annotated, Any, Final

from fastapi import FastAPI, Path, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, PlainTextResponse
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.staticfiles import StaticFiles

from holdcold import __version__
from holdcold.calls.entries import is_moment
from holdcold.cards import read_card
from holdcold.errors import InputError, InputErrors, StoreError
from holdcold.server.guard import Guard
from holdcold.server.models import (
    CallModel,
    CardAnswer,
    CardModel,
    CardRequest,
    ErrorModel,
    HealthModel,
    SyncAnswer,
    SyncRequest,
    UnitModel,
    UnitRequest,
    UploadModel,
    cursor_of,
    problem_models,
    sync_answer,
)
from holdcold.store import (
    MOST_PARTS,
    PART_BYTES,
    Store,
    Upload,
    calls,
    card_text,
    put_card,
    put_part,
    put_unit,
    read_photo,
    sync,
    units,
    upload_state,
)

_MOST_DEPTH: Final = 60
_UNUSABLE: Final = 422
_NOT_HERE: Final = 404
_TROUBLE: Final = 503
_ERRORS: Final[dict[int | str, dict[str, Any]]] = {
    _UNUSABLE: {"model": ErrorModel, "description": "What is wrong, all of it"}
}
_BYTES: Final[dict[str, Any]] = {
    "required": True,
    "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
}
Hash = Annotated[str, Path(pattern="^[0-9a-f]{64}$")]
Id = Annotated[str, Path(pattern="^[0-9a-f-]{36}$")]
Count = Annotated[int, Query(ge=1, le=MOST_PARTS)]


def make_app(store: Store, shop: str, web: FolderPath | None = None) -> FastAPI:
    """Return the application for one person: no login, one shop.

    shop: id of the shop that every request is for. web: folder of the app's static files, if there are any.
    """
    app = FastAPI(
        title="Holdcold", version=__version__, docs_url=None, redoc_url=None, openapi_url="/api/openapi.json",
        responses=_ERRORS,
    )  # fmt: skip
    app.add_middleware(Guard)
    _answer_errors(app)
    _sync_routes(app, store, shop)
    _photo_routes(app, store, shop)
    _unit_routes(app, store, shop)
    if web is not None:
        app.mount("/", StaticFiles(directory=web, html=True), name="web")
    return app


def _sync_routes(app: FastAPI, store: Store, shop: str) -> None:
    @app.get("/api/health")
    def health() -> HealthModel:
        """Say that the server answers."""
        return HealthModel(holdcold=__version__)

    @app.post("/api/sync")
    def exchange(request: SyncRequest) -> SyncAnswer:
        """Take entries in and give those the device has not seen; sending the same again changes nothing."""
        if not is_moment(request.clock):
            allowed = "local date and time with offset, like 2026-11-25T14:03:22-06:00"
            raise InputError("clock", request.clock, allowed, "Send the device's clock.")
        if _is_deep(request.entries):
            raise InputError("entries", "nested deeply", f"{_MOST_DEPTH} levels", "Send entries.")
        clock = datetime.fromisoformat(request.clock)
        answer = sync(store, shop, request.entries, cursor_of(request.since), request.device, clock)
        return sync_answer(answer)

    @app.get("/api/calls")
    def list_calls(unit: str = "") -> list[CallModel]:
        """Return the calls, or those on one unit, the newest first."""
        return [
            CallModel(id=row.id, unit=row.unit, name=row.name, state=row.state, opened_s=row.opened_s)
            for row in calls(store, shop, unit)
        ]


def _is_deep(value: object) -> bool:
    """Say whether a document is nested deeper than can be kept, without recursion."""
    waiting: list[tuple[object, int]] = [(value, 0)]
    while waiting:
        one, depth = waiting.pop()
        if depth > _MOST_DEPTH:
            return True
        inner = list(one.values()) if isinstance(one, dict) else one if isinstance(one, list) else []
        waiting.extend((item, depth + 1) for item in inner)
    return False


def _photo_routes(app: FastAPI, store: Store, shop: str) -> None:
    @app.put("/api/photos/{sha256}/parts/{number}", openapi_extra={"requestBody": _BYTES})
    async def part(
        request: Request,
        sha256: Hash,
        number: Annotated[int, Path(ge=0, lt=MOST_PARTS)],
        count: Count,
    ) -> UploadModel:
        """Keep one part of 256 KiB; the answer says ``whole`` once the file is checked and on disk."""
        content = b""
        async for piece in request.stream():
            content += piece
            if len(content) > PART_BYTES:
                break
        return _upload(await run_in_threadpool(put_part, store, shop, sha256, number, count, content))

    @app.get("/api/photos/{sha256}/parts")
    def parts(sha256: Hash, count: Count) -> UploadModel:
        """Say which parts are here."""
        return _upload(upload_state(store, shop, sha256, count))

    @app.get("/api/photos/{sha256}", response_class=Response)
    def photo(sha256: Hash) -> Response:
        """Return a file as it was received."""
        content = read_photo(store, shop, sha256)
        if content is None:
            raise HTTPException(_NOT_HERE)
        return Response(content, media_type="application/octet-stream")


def _upload(state: Upload) -> UploadModel:
    return UploadModel(whole=state.whole, dropped=state.dropped, parts=list(state.parts))


def _unit_routes(app: FastAPI, store: Store, shop: str) -> None:
    @app.get("/api/units")
    def list_units() -> list[UnitModel]:
        """Return the units and the versions of their cards."""
        return [
            UnitModel(
                id=row.id,
                name=row.name,
                cards=[CardModel(sha256=one.sha256, author=one.author, at=one.at) for one in row.cards],
            )
            for row in units(store, shop)
        ]

    @app.put("/api/units/{unit}", status_code=204)
    def name_unit(unit: Id, request: UnitRequest) -> None:
        """Add a unit or give it a new name."""
        put_unit(store, shop, unit, request.name)

    @app.post("/api/units/{unit}/cards")
    def add_card(unit: Id, request: CardRequest) -> CardAnswer:
        """Keep a version of a unit's card, a half-filled one too, and say what is wrong with it."""
        sha256 = put_card(store, shop, unit, request.text, request.author, request.at)
        return CardAnswer(sha256=sha256, problems=problem_models(_card_problems(request.text)))

    @app.get("/api/units/{unit}/cards/{sha256}", response_class=PlainTextResponse)
    def card(unit: Id, sha256: Hash) -> PlainTextResponse:
        """Return one version of a card, as it was written."""
        text = card_text(store, shop, unit, sha256)
        if text is None:
            raise HTTPException(_NOT_HERE)
        return PlainTextResponse(text)


def _card_problems(text: str) -> list[InputError]:
    try:
        read_card(text)
    except InputError as problem:
        return [problem]
    except InputErrors as several:
        return list(several.problems)
    return []


def _answer_errors(app: FastAPI) -> None:
    """Answer everything that is wrong in one form."""

    @app.exception_handler(InputError)
    def one(_request: Request, problem: InputError) -> JSONResponse:
        return _errors(_UNUSABLE, [problem])

    @app.exception_handler(InputErrors)
    def several(_request: Request, problems: InputErrors) -> JSONResponse:
        return _errors(_UNUSABLE, list(problems.problems))

    @app.exception_handler(StoreError)
    def trouble(_request: Request, problem: StoreError) -> JSONResponse:
        return _errors(_TROUBLE, [InputError("store", "", "", str(problem))])

    @app.exception_handler(OSError)
    def disk(_request: Request, problem: OSError) -> JSONResponse:
        advice = f"A file could not be written: {problem.strerror}. Keep what you sent, and send it again."
        return _errors(_TROUBLE, [InputError("store", "", "", advice)])

    @app.exception_handler(RequestValidationError)
    def form(_request: Request, found: RequestValidationError) -> JSONResponse:
        return _errors(_UNUSABLE, [_form_problem(problem) for problem in found.errors()])

    @app.exception_handler(HTTPException)
    def plain(_request: Request, found: HTTPException) -> JSONResponse:
        return _errors(found.status_code, [InputError("request", "", "", found.detail)])

    @app.exception_handler(ClientDisconnect)
    def gone(_request: Request, _found: ClientDisconnect) -> JSONResponse:
        advice = "The request was cut off or too large: send it again in smaller pieces."
        return _errors(_UNUSABLE, [InputError("request", "", "", advice)])


def _form_problem(problem: dict[str, Any]) -> InputError:
    where = ".".join(str(part) for part in problem["loc"])
    return InputError(where, problem.get("input", ""), str(problem["type"]), str(problem["msg"]))


def _errors(status: int, problems: list[InputError]) -> JSONResponse:
    answer = ErrorModel(error=problem_models(problems))
    return JSONResponse(answer.model_dump(), status_code=status)
