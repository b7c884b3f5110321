"""Pages and tables in Markdown, made from the catalogue and the reference units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from holdcold.diagnosis.catalogue import RISKS, WORKPLACES, Check, Fault
from holdcold.quantities import US, format_quantity

from . import directions, likeness
from .machines import SCENES

BOOK = likeness.BOOK
_PROOFS = 4
_TOOL = "python -m tools.fault_pages"


def page(fault: Fault) -> str:
    """Return the whole page of one fault."""
    version = BOOK.files["faults.toml"].version
    parts = [
        f"# {fault.title}",
        f"`{fault.id}` · [all faults](../faults.md) · written by `{_TOOL}` from data of {version}",
        _in_short(fault),
        _recognised(fault),
        _readings(fault),
        _confused(fault),
        _proved(fault),
        _done(fault),
        _behind(fault),
        _cautions(fault),
        _sources(fault),
    ]
    return "\n\n".join(parts) + "\n"


def _bullets(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _percent(chance: float) -> str:
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"


def _conditions(asked: Mapping[str, Sequence[str]]) -> str:
    return "; ".join(f"{name} {' or '.join(values)}" for name, values in asked.items())


def _in_short(fault: Fault) -> str:
    told = ", ".join(f"{kind} {_share(share)}" for kind, share in likeness.shares(fault).items())
    lines = [
        f"family {fault.family}, mechanism `{fault.axis}`",
        f"occurs where: {_conditions(fault.applies_to)}" if fault.applies_to else "occurs on any unit",
    ]
    if told:
        lines.append(f"share of calls before anything is seen: {told} (practice estimates, {_band()})")
    else:
        lines.append("no cause of its own: stands beside a cause, with a chance of its own")
    if fault.duty:
        lines.append(
            f"comes and goes: there about {100.0 * fault.mean_duty:.0f} % of the time; {fault.presence}"
        )
    if fault.leads_to:
        lines.append("one cause of an iced coil among several; see its look-alikes")
    return _bullets(lines)


def _share(share: float) -> str:
    return f"{100.0 * share:.1f} %" if share >= 0.0005 else "under 0.1 %"


def _band() -> str:
    return BOOK.prior_data.band_words


def _recognised(fault: Fault) -> str:
    lines = ["## How it is recognised", f"{_sentence(fault.because)}"]
    found = likeness.signs(fault)
    if found:
        rows = ["| asked | answer | mild | bad | nothing wrong |", "|---|---|---|---|---|"]
        rows += [
            f"| {sign.sighting.ask} | {sign.answer} | {_percent(sign.mild)} | {_percent(sign.worst)} "
            f"| {_percent(sign.healthy)} |"
            for sign in found
        ]
        lines.append("\n".join(rows))
    return "\n\n".join(lines)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


_UNMOVED = {
    "not_running": "The machine stands, or starts and stops: what is read at rest says little of the cause. "
    "While it happens to run, it reads as a healthy one.",
    "box_load": "The machine reads as a healthy one on a warm box: suction and head a little up.",
    "sensor_offset": "The machine reads as a healthy one at the box temperature it really keeps.",
    "instrument": "The machine is as it is; what one instrument says of it is not.",
    "none": "The running machine reads as a healthy one in the air and the box it has: what is seen tells.",
}
"""What is said in place of a table, by axis without a prediction of its own."""


def _readings(fault: Fault) -> str:
    if not fault.has_physics:
        free = ""
        if fault.loose:
            places = ", ".join(f"`{place}`" for way in fault.loose for place in way)
            free = f" Under this fault these readings are free, and may be off either way: {places}."
        return f"## What the gauges do\n\n{_UNMOVED[fault.axis]}{free}"
    words = (
        f"Computed from the balances of the [reference units](../faults.md#reference-units) with "
        f"{directions.severity_words(fault)}. {directions.UP} higher, {directions.DOWN} lower, "
        f"{directions.SAME} too little to tell, {directions.NONE} not there; rows that stay are left out."
    )
    lines = ["## What the gauges do", words, directions.table(fault)]
    if fault.unmoved:
        places = ", ".join(f"`{place}`" for place in fault.unmoved)
        lines.append(f"Stays as on a healthy machine although the mechanism would move it: {places}.")
    return "\n\n".join(lines)


def _confused(fault: Fault) -> str:
    found = likeness.look_alikes(fault)
    lines = ["## What it is confused with"]
    if fault.family == likeness.INSTRUMENT:
        lines.append(
            "With any fault that would move the same reading; it stands beside them, never instead of one."
        )
    elif not found:
        lines.append(
            "Nothing on the list: the best check for every other fault is right in over 93 % of cases."
        )
    else:
        rows = ["| looks alike | told apart by | right |", "|---|---|---|"]
        rows += [f"| [{one.fault.title}]({one.fault.id}.md) | {_parting(one)} |" for one in found]
        lines.append("\n".join(rows))
        lines.append(
            f"*Right*: how often the better guess between the two is right after that one check, both "
            f"equally likely before (reference {likeness.home(fault).name}; see "
            f"[separability](../separability.md))."
        )
    group = BOOK.groups.get(fault.group)
    if group is not None:
        lines.append(f"Where {_conditions(group.when)}: shown as one, *{group.title}*. {group.why}")
    return "\n\n".join(lines)


def _parting(one: likeness.Alike) -> str:
    if not one.check:
        return "nothing permitted | 50 %"
    return f"{BOOK.check(one.check).title.lower()} (`{one.check}`) | {100.0 * one.right:.0f} %"


def _proved(fault: Fault) -> str:
    lines = ["## How to prove it", f"It is ruled out by: {fault.kills}."]
    found = likeness.proofs(fault, _PROOFS)
    lines.append(_bullets(_check(check) for check, _ in found))
    guards = [guard.text for guard in BOOK.guards.values() if fault.id in guard.faults]
    if guards:
        lines.append("First: " + " ".join(guards))
    return "\n\n".join(line for line in lines if line)


def _check(check: Check) -> str:
    wait = f" and {check.wait_minutes:g} waiting" if check.wait_minutes else ""
    risk = ", ".join(RISKS[code] for code in check.risk)
    place = ", ".join(WORKPLACES[place] for place in check.places)
    return (
        f"**{check.title}** (`{check.id}`; {place}; {check.minutes:g} min{wait}; risk: {risk}). {check.how}"
    )


def _done(fault: Fault) -> str:
    repair = fault.repair
    band = f"{repair.part_low:g} to {repair.part_high:g}"
    lost = format_quantity(repair.refrigerant_lost_kg, "mass", US)
    lines = [
        f"{repair.title}: about {repair.minutes:g} min, {WORKPLACES[repair.place]}.",
        f"Part worth {band} min of paid time; on the van in {100.0 * repair.on_van:.0f} % of cases."
        if repair.part_high
        else "No part needed.",
        f"Refrigerant usually lost: {lost} ({1e3 * repair.refrigerant_lost_kg:.0f} g), recorded."
        if repair.refrigerant_lost_kg
        else "",
        f"Held when: {BOOK.check(repair.proof).title.lower()} (`{repair.proof}`) shows it.",
    ]
    return "## What to do\n\n" + _bullets(line for line in lines if line)


def _behind(fault: Fault) -> str:
    return "## What lies behind it\n\n" + _bullets(_sentence(one) for one in fault.behind)


def _cautions(fault: Fault) -> str:
    texts = [BOOK.cautions[name].text for name in fault.cautions]
    last = "Codes, the makers' instructions and licensed practice come first."
    return "## Cautions\n\n" + _bullets([*texts, last])


def _sources(fault: Fault) -> str:
    lines = [f"fault, repair: {fault.source}"]
    if likeness.shares(fault):
        lines.append(f"shares: {BOOK.prior_data.tables[0].source}")
    if likeness.signs(fault):
        lines.append(f"answers: {likeness.signs(fault)[0].sighting.source}")
    if fault.has_physics:
        lines.append("directions: computed (mass, energy and charge balances of the cycle)")
    return "## Sources\n\n" + _bullets(lines)


def fault_table() -> str:
    """Return the list of faults for docs/faults.md."""
    rows = [
        "| id | family | fault | mechanism | unit of severity | comes and goes | repair at |",
        "|---|---|---|---|---|---|---|",
    ]
    rows += [
        f"| [`{fault.id}`](faults/{fault.id}.md) | {fault.family} | {fault.title} | `{fault.axis}` "
        f"| {fault.unit} | {'yes' if fault.intermittent else ''} | {WORKPLACES[fault.repair.place]} |"
        for fault in BOOK.faults.values()
    ]
    return "\n".join(rows)


def check_table() -> str:
    """Return the list of checks for docs/checks.md."""
    rows = ["| id | place | minutes | risk | check |", "|---|---|---|---|---|"]
    for check in BOOK.checks.values():
        wait = f" + {check.wait_minutes:g}" if check.wait_minutes else ""
        rows.append(
            f"| `{check.id}` | {' '.join(check.places)} | {check.minutes:g}{wait} | {' '.join(check.risk)} "
            f"| {check.title} |"
        )
    return "\n".join(rows)


def normal_table() -> str:
    """Return what the reference units read without a fault, for docs/faults.md."""
    return directions.normal_table(SCENES)
