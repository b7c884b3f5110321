"""What people type, read as they mean it; and what cannot be read, refused with words that help."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from holdcold.errors import InputError, UnknownNameError
from holdcold.quantities import DIMENSIONS, parse, parse_noted

ATM = 101_325.0
PSI = 6_894.757293168
F = 5.0 / 9.0
UNDERSTOOD = [
    # temperatures
    ("95F", "temperature", 308.15),
    ("95 °F", "temperature", 308.15),
    ("95 deg F", "temperature", 308.15),
    ("95 degrees F", "temperature", 308.15),
    ("95 Fahrenheit", "temperature", 308.15),
    ("95℉", "temperature", 308.15),
    ("95 ºF", "temperature", 308.15),
    ("35C", "temperature", 308.15),
    ("35 °c", "temperature", 308.15),
    ("-10f", "temperature", 249.8166667),
    ("−10 °F", "temperature", 249.8166667),
    ("–10F", "temperature", 249.8166667),
    ("- 10 F", "temperature", 249.8166667),
    ("minus 10 F", "temperature", 249.8166667),
    ("+10 F", "temperature", 260.9277778),
    ("  95 F  ", "temperature", 308.15),
    ("95\u00a0F", "temperature", 308.15),
    ("3,5 °C", "temperature", 276.65),
    ("554.67 R", "temperature", 308.15),
    ("0 K", "temperature_difference", 0.0),
    # differences
    ("10 F", "temperature_difference", 10 * F),
    ("10F TD", "temperature_difference", 10 * F),
    ("-4 F", "temperature_difference", -4 * F),
    ("5.5 K", "temperature_difference", 5.5),
    ("5.5 C", "temperature_difference", 5.5),
    # pressures
    ("12 psig", "pressure", ATM + 12 * PSI),
    ("12 PSIG", "pressure", ATM + 12 * PSI),
    ("12psi g", "pressure", ATM + 12 * PSI),
    ("12 psi(g)", "pressure", ATM + 12 * PSI),
    ("26.7 psia", "pressure", 26.7 * PSI),
    ("-5 psig", "pressure", ATM - 5 * PSI),
    ("1 bar abs", "pressure", 1e5),
    ("2.4 barg", "pressure", ATM + 2.4e5),
    ("2,4 bar(g)", "pressure", ATM + 2.4e5),
    ("240 kPaa", "pressure", 2.4e5),
    ("240 kPag", "pressure", ATM + 2.4e5),
    ("1.4 MPa abs", "pressure", 1.4e6),
    ("101325 Pa", "pressure", ATM),
    ("1.013,25 mbar", "pressure", ATM),
    ("760 Torr", "pressure", ATM),
    ("18 in.Hg", "pressure", ATM - 18 * 3_386.388640),
    ("18 inHg", "pressure", ATM - 18 * 3_386.388640),
    ('18" Hg vac', "pressure", ATM - 18 * 3_386.388640),
    ("18 inches of mercury", "pressure", ATM - 18 * 3_386.388640),
    ("18″Hg", "pressure", ATM - 18 * 3_386.388640),
    ("29.92 inHg abs", "pressure", 29.92 * 3_386.388640),
    ("500 micron", "pressure", 66.66119),
    ("500 microns", "pressure", 66.66119),
    ("500 µm", "pressure", 66.66119),
    ("500 µmHg", "pressure", 66.66119),
    ("5 psi", "pressure_difference", 5 * PSI),
    ("0.4 in. w.c.", "pressure_difference", 99.63556),
    # masses
    ("1 lb 6 oz", "mass", 0.62368951),
    ("1lb6oz", "mass", 0.62368951),
    ("1 lb. 6 oz.", "mass", 0.62368951),
    ("22 oz", "mass", 0.62368951),
    ("1.5 lbs", "mass", 0.68038856),
    ("620 g", "mass", 0.62),
    ("0,62 kg", "mass", 0.62),
    # lengths, areas, volumes
    ("10 ft 6 in", "length", 3.2004),
    ("7'6\"", "length", 2.286),
    ("7’ 6”", "length", 2.286),
    ("7' 6 1/2''", "length", 2.2987),
    ("1-1/8 in", "length", 0.028575),
    ("1 1/8 in", "length", 0.028575),
    ('1⅛"', "length", 0.028575),
    ("7/8 in", "length", 0.022225),
    ("3.2 m", "length", 3.2),
    ("28 mm", "length", 0.028),
    ("-200 ft", "length", -60.96),
    ("4.5 sq ft", "area", 0.41806368),
    ("0.25 ft³", "volume", 0.0070792116),
    ("0.25 cu.ft.", "volume", 0.0070792116),
    ("7 L", "volume", 0.007),
    ("2 gal", "volume", 0.007570824),
    # powers and flows
    ("7.5 kBtu/h", "power", 2_198.033),
    ("7.5 MBH", "power", 2_198.033),
    ("7500 Btu per hour", "power", 2_198.033),
    ("7500 BTUH", "power", 2_198.033),
    ("0.6 ton", "power", 2_110.1117),
    ("2 tons of refrigeration", "power", 7_033.7057),
    ("2 hp", "electric_power", 1_491.39974),
    ("2.2 kW", "power", 2_200.0),
    ("12,000 Btu/h", "power", 3_516.8528),
    ("1 250 W", "power", 1_250.0),
    ("1200 cfm", "flow", 0.5663369),
    ("0.57 m3/s", "flow", 0.57),
    ("0.57 m^3/s", "flow", 0.57),
    ("450 ft/min", "speed", 2.286),
    ("150 lb/h", "mass_flow", 0.018899682),
    # electrical
    ("208 V", "voltage", 208.0),
    ("208VAC", "voltage", 208.0),
    ("24 mV", "voltage", 0.024),
    ("7.4 A", "current", 7.4),
    ("7.4 amps", "current", 7.4),
    ("4.2 Ω", "resistance", 4.2),
    ("20 MΩ", "resistance", 2e7),
    ("20 Mohm", "resistance", 2e7),
    ("20 mohm", "resistance", 0.02),
    ("35 µF", "capacitance", 35e-6),
    ("35 uF", "capacitance", 35e-6),
    ("35 MFD", "capacitance", 35e-6),
    ("60 Hz", "frequency", 60.0),
    # times, fractions, humidity
    ("1 h 20 min", "time", 4_800.0),
    ("1h20", "time", 4_800.0),
    ("90 s", "time", 90.0),
    ("2 days", "time", 172_800.0),
    ("20 MIN", "time", 1_200.0),
    ("30 %", "fraction", 0.3),
    ("30%", "fraction", 0.3),
    ("0.3", "fraction", 0.3),
    ("1/4", "fraction", 0.25),
    ("140 percent", "fraction", 1.4),
    ("60% RH", "humidity", 0.6),
    ("0.6", "humidity", 0.6),
]


@pytest.mark.parametrize(("text", "dimension", "value_si"), UNDERSTOOD)
def test_what_people_type(text: str, dimension: str, value_si: float) -> None:
    """Factors: NIST SP 811 B.8 (its entries are checked one by one in test_units)."""
    assert parse(text, dimension) == pytest.approx(value_si, rel=3e-7, abs=1e-9)


@pytest.mark.parametrize(
    "text",
    [
        "95",
        "",
        "abc",
        "nan",
        "inf F",
        "F",
        "twenty F",
        "20 to 25 F",
        "~20 F",
        "1.2.3 F",
        "1,25,3 F",
        "1..2 F",
        "5/0 F",
        "1e999 F",
        "95 F 20",
        "95 degrees",
        "95 xF",
    ],
)
def test_not_a_temperature(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, "temperature", field="box")
    assert caught.value.field == "box"
    assert caught.value.value == text
    assert caught.value.allowed
    assert caught.value.advice


def test_missing_unit_is_asked_for_never_guessed() -> None:
    with pytest.raises(InputError, match="Add the unit"):
        parse("95", "temperature")
    assert parse("95", "temperature", default_unit="F") == pytest.approx(308.15)
    assert parse("35 C", "temperature", default_unit="F") == pytest.approx(308.15)


@pytest.mark.parametrize(
    ("text", "wanted", "words"),
    [
        ("95F", "pressure", "This is a temperature; a pressure is needed"),
        ("12 psig", "temperature", "This is a pressure; a temperature is needed"),
        ("1 lb 6 oz", "pressure", "This is a mass; a pressure is needed"),
        ("5 psig", "pressure_difference", "This is a pressure; a pressure difference is needed"),
        ("7'6\"", "mass", "This is a length; a mass is needed"),
        ("9 oz", "volume", "This is a mass; a volume is needed"),
        ("12 V", "current", "This is a voltage; a current is needed"),
        ("20 psi", "power", "This is a pressure; a power or heat flow is needed"),
    ],
)
def test_wrong_dimension_is_named(text: str, wanted: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, wanted)
    assert words in caught.value.advice


@pytest.mark.parametrize(
    ("text", "dimension", "allowed"),
    [
        ("-500 F", "temperature", "-459.67 °F"),
        ("-300 C", "temperature", "-273.15 °C"),
        ("0 K", "temperature", "absolute zero"),
        ("-20 psig", "pressure", "-14.70 psig"),
        ("-1 psia", "pressure", "absolute vacuum"),
        ("35 in.Hg", "pressure", "0 to 29.92 in.Hg"),
        ("-3 lb", "mass", "zero or more"),
        ("-1 lb 6 oz", "mass", "zero or more"),
        ("120 %", "humidity", "0 to 100 %"),
    ],
)
def test_impossible_value_names_the_range(text: str, dimension: str, allowed: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, dimension)
    assert allowed in caught.value.allowed


def test_the_range_moves_with_altitude() -> None:
    """At 5000 ft (84.3 kPa) a needle cannot show more than 24.9 in.Hg of vacuum."""
    with pytest.raises(InputError, match=r"24\.89 in\.Hg"):
        parse("25 in.Hg", "pressure", ambient_pa=84_300.0)
    assert parse("24 in.Hg", "pressure", ambient_pa=84_300.0) == pytest.approx(
        84_300.0 - 24 * 3_386.388640, rel=1e-7
    )


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("12 psi", "pressure", "psi was taken as gauge pressure; write psia"),
        ("2.4 bar", "pressure", "bar was taken as absolute"),
        ("240 kPa", "pressure", "kPa was taken as absolute"),
        ("12,000 Btu/h", "power", "thousands mark: 12000 Btu/h"),
        ("-18 in.Hg", "pressure", "read as vacuum"),
        ("7'6", "length", "in was understood"),
        ("1h20", "time", "min was understood"),
        ("1 lb 6", "mass", "oz was understood"),
    ],
)
def test_doubtful_wording_is_noted(text: str, dimension: str, said: str) -> None:
    assert any(said in note for note in parse_noted(text, dimension).notes)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("12 psig", "pressure"),
        ("12 psia", "pressure"),
        ("2.4 barg", "pressure"),
        ("18 in.Hg", "pressure"),
        ("1.250,5 kg", "mass"),
        ("1,250.5 kg", "mass"),
    ],
)
def test_plain_wording_is_not(text: str, dimension: str) -> None:
    assert parse_noted(text, dimension).notes == ()


@pytest.mark.parametrize(
    ("text", "dimension", "advice"),
    [
        ("1,250 kg", "mass", "Write 1250 or 1.250"),
        ("20 MOHM", "resistance", "capitals matter"),
        ("30", "fraction", "% sign"),
        ("1 lb 18 oz", "mass", "less than one lb"),
        ("6 oz 1 lb", "mass", "not known here"),
        ("10 in 2 ft", "length", "not known here"),
    ],
)
def test_two_meanings_are_refused(text: str, dimension: str, advice: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, dimension)
    assert advice in caught.value.advice


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0,125 m", 0.125),
        ("1250,5 m", 1250.5),
        ("1,25 m", 1.25),
        ("1.250 m", 1.25),
        ("1.250.000 m", 1.25e6),
        ("1,250,000 m", 1.25e6),
        ("12 000 m", 12e3),
        ("12 000,5 m", 12000.5),
        ("1e3 m", 1000.0),
        (".5 m", 0.5),
        ("1\u202f250 m", 1250.0),
    ],
)
def test_numerals(text: str, value: float) -> None:
    assert parse(text, "length") == pytest.approx(value)


def test_unknown_dimension_is_an_input_error_too() -> None:
    with pytest.raises(UnknownNameError, match="pressure"):
        parse("3 psig", "presure")


@given(st.text(max_size=30), st.sampled_from(sorted(DIMENSIONS)))
@example("9" * 400 + " psig", "pressure")
@example("1/" + "0" * 30 + " in", "length")
@example("²³ m", "length")
@example("٣ m", "length")
def test_any_text_is_read_or_refused(text: str, dimension: str) -> None:
    """Whatever is typed, the answer is a possible value or an InputError, never another failure."""
    try:
        value_si = parse(text, dimension)
    except InputError:
        return
    assert DIMENSIONS[dimension].lowest <= value_si <= DIMENSIONS[dimension].highest
    assert abs(value_si) < float("inf")
