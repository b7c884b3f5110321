"""Fields of each kind of entry, version 1."""

from __future__ import annotations

from typing import Final

from holdcold.calls.entries.body_form import BodyField, BodyKind
from holdcold.diagnosis.evidence import BOX_TRENDS, CHECK_OUTCOMES, COMPLAINTS, REPAIR_OUTCOMES, STATES

_UUID: Final = "01936a2e-7b3c-7def-8123-456789abcdef"
_SHA: Final = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
_MOMENT: Final = "2026-11-25T14:03:22-06:00"
_ANSWERS: Final = ("yes", "no", "not_known")
_PICTURES: Final = ("image/jpeg", "image/png", "image/webp")
_SOUNDS: Final = ("audio/mp4", "audio/mpeg", "audio/ogg", "audio/webm")


def _row(key: str, kind: BodyKind, meaning: str, example: object, *, required: bool = False) -> BodyField:
    return BodyField(key, kind, meaning, example, required=required)


def _text(key: str, meaning: str, example: str, *, required: bool = False, many: bool = False) -> BodyField:
    return BodyField(key, "text", meaning, [example] if many else example, required=required, many=many)


def _choice(key: str, choices: tuple[str, ...], meaning: str, *, required: bool = False) -> BodyField:
    return BodyField(key, "choice", meaning, choices[0], choices=choices, required=required)


def _name(key: str, names: str, meaning: str, example: str, *, required: bool = False) -> BodyField:
    return BodyField(key, "name", meaning, example, names=names, required=required)


def _quantity(key: str, dimension: str, meaning: str, example: str, *, unless: str = "") -> BodyField:
    return BodyField(key, "quantity", meaning, example, dimension=dimension, unless=unless)


def _files(key: str, types: tuple[str, ...], meaning: str, *, required: bool = False) -> BodyField:
    inside = (
        _row("sha256", "sha256", "SHA-256 of the file's bytes, as they were hashed on the device.", _SHA,
             required=True),
        BodyField("bytes", "integer", "Size of the file [bytes].", 184223, low="1", high="33554432",
                  required=True),
        _choice("type", types, "Media type of the file.", required=True),
        _text("caption", "What it shows or says.", "plate of the condensing unit"),
    )  # fmt: skip
    example = [{"sha256": _SHA, "bytes": 184223, "type": types[0]}]
    return BodyField(key, "object", meaning, example, fields=inside, many=True, required=required)


_STAGE: Final = _choice("stage", ("found", "left"), "As the machine was found, or as it was left.")
_NOTE: Final = _text("note", "Anything about it.", "needle swings")
_WHERE: Final = _text("where", "Place, in words.", "behind the barn")
_PHOTOS: Final = _files("photos", _PICTURES, "Photos that belong to it.")
_REVERSES: Final = _row("reverses", "entry", "Entry whose amount is taken back whole.", _UUID)
_REASON: Final = _text("reason", "Why, in your words.", "read the wrong scale")

OPENED: Final = (
    _row("unit", "entry", "Id of the unit; left out while there is none.", _UUID),
    _text("name", "What people call this call.", "Cheese cooler, warm again", required=True),
    _row("card", "sha256", "Hash of the card as it stood when the call was opened.", _SHA),
    _row("demo", "flag", "Marks invented demonstration data, used in no check.", True),
)
COMPLAINT: Final = (
    _choice("complaint", COMPLAINTS, "What the customer called about.", required=True),
    _text("words", "In the customer's words.", "warm since the weekend"),
    _text("display", "What the display shows now.", "52 F"),
    _text("last_good", "When it was last in order.", "Friday evening"),
    _choice("set_point_touched", _ANSWERS, "Was the setting changed."),
    _choice("in_defrost", _ANSWERS, "Is it in a defrost."),
    _text("disturbance", "Door left open, delivery, cleaning.", "delivery at seven"),
    _text("running", "What can be heard running.", "fan inside, nothing outside"),
    _choice("breaker_tripped", _ANSWERS, "Is a breaker off."),
    _choice("ice_seen", _ANSWERS, "Is ice seen."),
    _text("contact", "Who is on site.", "the cheesemaker"),
    _text("access", "When and how one gets in.", "side door until six"),
    _text("approval_limit", "What may be spent without asking.", "300"),
    _text("stock", "Stock at risk.", "forty wheels of cheese"),
)
STATE: Final = (
    _choice("state", STATES, "What the machine is doing.", required=True),
    BodyField(
        "minutes_in_state", "number", "How long it has been doing that [min].", 25, low="0", high="100000"
    ),
    _choice("box_trend", BOX_TRENDS, "Which way the box air is moving."),
    _STAGE,
    _NOTE,
)
READING: Final = (
    _name("place", "places", "Id of the place.", "discharge_pa", required=True),
    _text("value", "What was read, as typed, with its unit.", "212 psig", required=True),
    _row("instrument", "instrument", "Class of instrument, and which one of several.", "gauge_digital 2"),
    _STAGE,
    _NOTE,
    _PHOTOS,
)
SIGHTING: Final = (
    _name("id", "sightings", "Id of the sighting.", "evaporator_fans", required=True),
    _text("seen", "A value of that sighting, or not_looked.", "all_turning", required=True),
    _STAGE,
    _NOTE,
    _PHOTOS,
)
CHECK: Final = (
    _name("id", "checks", "Id of the check.", "condenser_air", required=True),
    _choice("outcome", CHECK_OUTCOMES, "Done, or put off.", required=True),
    _text("reason", "Why not now.", "no ladder"),
    _NOTE,
)
OVERRIDE: Final = (
    _name("guard", "guards", "Id of the guard set aside.", "gas_last", required=True),
    _text("reason", "Why; it stays on record.", "ports already fitted", required=True),
)
INSTRUMENT: Final = (
    _row("instrument", "instrument", "The name the readings use.", "clamp_thermocouple 2", required=True),
    BodyField(
        "offset", "text", "How much too high it reads, as typed, with its unit.", "1.5 F", required=True
    ),
    _text("how", "How that was found.", "ice bath"),
)
WORK: Final = (
    _text("what", "What was done.", "washed the condenser from inside", required=True),
    _name("fault", "faults", "Fault it would have removed.", "condenser_dirty"),
    _choice("outcome", REPAIR_OUTCOMES, "What the machine then did."),
    _text("cause", "Cause behind the cause.", "flour from the mill next door"),
    _WHERE,
    _NOTE,
    _PHOTOS,
)
PART: Final = (
    _text("name", "What it is.", "evaporator fan motor", required=True),
    _text("number", "Number on its label.", "ME-16"),
    BodyField("count", "number", "How many.", 1, low="0", high="10000", required=True),
    _choice("from", ("van", "counter", "ordered", "site"), "Where it comes from.", required=True),
    BodyField("days", "number", "Days until it comes.", 3, low="0", high="1000"),
    _text("replaces", "What it replaces, and where that went.", "old motor, kept for the claim"),
    _row("warranty", "flag", "A claim will be made.", True),
    _NOTE,
    _PHOTOS,
)
REFRIGERANT: Final = (
    BodyField(
        "movement", "choice", "Which way it went.", "charged",
        choices=("charged", "recovered", "lost", "removed_for_disposal"), unless="reverses",
    ),
    BodyField("refrigerant", "refrigerant", "What it was.", "R-448A", unless="reverses"),
    _quantity("amount", "mass", "By weight, as typed.", "1 lb 6 oz", unless="reverses"),
    _text("cylinder", "Mark of the cylinder.", "C-17"),
    _choice("method", ("weighed", "estimated"), "How the amount is known."),
    _text("certificate", "Certificate number of who handled it.", "608-12345"),
    _REVERSES,
    _REASON,
    _NOTE,
    _PHOTOS,
)  # fmt: skip
OIL: Final = (
    BodyField(
        "movement", "choice", "Which way it went.", "added", choices=("added", "drained"), unless="reverses"
    ),
    _text("oil", "What it was.", "POE 32"),
    _quantity("amount", "volume", "By volume, as typed.", "250 mL", unless="reverses"),
    _REVERSES,
    _REASON,
    _NOTE,
)
TRACE: Final = (
    _name("place", "places", "Id of the place.", "box_k", required=True),
    _text("unit", "Unit of the values.", "F", required=True),
    _row("started", "moment", "Time of second 0, on the clock of the logger.", _MOMENT, required=True),
    BodyField("seconds", "number", "Time of each point [s].", [0, 60, 120], many=True, required=True),
    BodyField("values", "number", "Value of each point, in the unit.", [41.2, 41.0, 40.7], many=True,
              required=True),
    _row("instrument", "instrument", "Class of instrument, and which one of several.", "air_thermistor 1"),
    _STAGE,
    _NOTE,
)  # fmt: skip
SET_POINT: Final = (
    _text("control", "Which control.", "box controller", required=True),
    _text("setting", "Which of its settings.", "cut-in", required=True),
    _text("found", "As found, with its unit.", "40 F"),
    _text("left", "As left, with its unit.", "38 F"),
    _NOTE,
    _PHOTOS,
)
PHOTO: Final = (
    _files("photos", _PICTURES, "The photos.", required=True),
    _WHERE,
    _row("of", "entry", "Entry they belong to.", _UUID),
    _NOTE,
)
NOTE: Final = (
    _text("text", "The words.", "the delivery door does not close by itself"),
    _files("spoken", _SOUNDS, "Spoken notes."),
    _WHERE,
)
APPROVAL: Final = (
    _text("what", "What was asked.", "new evaporator fan motor, 240", required=True),
    _choice("answer", ("given", "refused", "asked"), "The answer, or that it was only asked.", required=True),
    _text("by", "Who answered.", "the owner, by telephone"),
    _NOTE,
    _PHOTOS,
)
TIME: Final = (
    _choice(
        "what", ("left_for_site", "arrived", "break_started", "break_ended", "left_site", "home"),
        "What happened.", required=True,
    ),
    _row("when", "moment", "When; it may be entered later.", _MOMENT, required=True),
    _NOTE,
)  # fmt: skip
FOLLOW_UP: Final = (
    _text("what", "What is to be done.", "fit the new motor", required=True),
    _row("due", "day", "By which day.", "2026-11-28"),
    _text("who", "By whom.", "Ana"),
    _row("done", "entry", "Earlier follow-up that this one says is done.", _UUID),
    _NOTE,
)
TEMPORARY_MADE: Final = (
    _choice(
        "what",
        (
            "jumper", "lifted_wire", "disabled_heater", "forced_relay", "magnet_on_solenoid",
            "valve_front_seated", "clock_advanced", "safety_moved", "breaker_off", "caps_off", "other",
        ),
        "What was done.", required=True,
    ),
    _text("where", "Exactly where, so that anybody finds it.", "terminals 3 and 4 of the time clock",
          required=True),
    _NOTE,
    _PHOTOS,
)  # fmt: skip
TEMPORARY_RESTORED: Final = (
    _row("made", "entry", "Entry of the temporary state that is undone.", _UUID, required=True),
    _NOTE,
    _PHOTOS,
)
CONCLUSION: Final = (
    _choice("what", ("verdict", "proof", "advice", "report"), "What was issued or acted on.", required=True),
    _text("text", "In words, as it was shown.", "Condenser dirty: likely.", required=True),
    _choice("verdict", ("pass", "fail", "not_shown_yet"), "For a proof."),
    _text("not_seen", "What it could not have seen.", "a leak below 3 g a year", many=True),
    _text("engine", "Version of the engine.", "0.1.0", required=True),
    _row("data", "any", "Versions of the data files, by name.", {"priors.toml": "1"}),
    _row("inputs", "sha256", "Hash of the inputs.", _SHA),
    _row("head", "sha256", "Head of the receipt log when it was issued.", _SHA),
    _row("result", "any", "The result as data, SI.", {"suspects": []}),
)
CLOSE: Final = (
    _choice("outcome", ("mended", "no_fault_found", "made_safe", "waiting", "refused"), "How it ended.",
            required=True),
    _text("ruled_out", "What was ruled out.", "refrigerant side sound", many=True),
    _text("next_time", "What to photograph or read next time.", "the display while it is warm"),
    _NOTE,
)  # fmt: skip
WITHDRAWAL: Final = (_text("reason", "Why it should not have been made.", "wrong unit", required=True),)
REDACTION: Final = (
    _text("reason", "Why, without repeating what is removed.", "a face in the photo", required=True),
    _text("asked_by", "Who asked.", "the person shown"),
)
