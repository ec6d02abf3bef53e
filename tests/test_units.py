"""Units at the edge: the whole list against an independent library, the traps, the crank angles."""

import math
from typing import Any

import pint
import pytest
from hotside.sim import angles, showing, units
from hypothesis import given
from hypothesis import strategies as st

REFERENCE: Any = pint.UnitRegistry()
SPELLED = {  # how the independent library spells what it reads differently or not at all
    '"': "inch", "mm²": "mm**2", "cm²": "cm**2", "m²": "m**2", "in²": "in**2", "sq in": "in**2", "mm2": "mm**2",
    "cm2": "cm**2", "m2": "m**2", "in2": "in**2", "cm3": "cm**3", "cm³": "cm**3", "m3": "m**3", "m³": "m**3",
    "in3": "in**3", "cu in": "in**3", "°": "degree", "deg": "degree", "degrees": "degree", "PSI": "psi", "inHg": "inch_Hg",
    "lbf/in2": "lbf/in**2", "kgf/cm2": "kgf/cm**2", "cc/min": "cm**3/min", "l/hr": "l/h", "kg/hr": "kg/h", "lb/hr": "lb/h",
    "m3/s": "m**3/s", "m3/h": "m**3/h", "m3/min": "m**3/min", "cfm": "ft**3/min", "ft3/min": "ft**3/min",
    "cc": "cm**3", "RPM": "rpm", "1/min": "rpm", "rev/min": "rpm", "Nm": "N*m", "N m": "N*m", "kgf m": "kgf*m",
    "lb ft": "lbf*ft", "lbf ft": "lbf*ft", "ft lb": "lbf*ft", "lb-ft": "lbf*ft", "ft-lb": "lbf*ft", "lb in": "lbf*in",
    "HP": "hp", "PS": "metric_horsepower", "g/kWh": "g/(kW*h)", "kg/kWh": "kg/(kW*h)", "lb/hp h": "lb/(hp*h)",
    "lb/hp/hr": "lb/(hp*h)", "W/m2/K": "W/m**2/K", "W/m2K": "W/m**2/K", "W/(m2 K)": "W/m**2/K", "kPa s/m": "kPa*s/m",
    "Pa s/m": "Pa*s/m", "bar s/m": "bar*s/m", "Pa s2/m2": "Pa*s**2/m**2", "kPa s2/m2": "kPa*s**2/m**2",
    "bar s2/m2": "bar*s**2/m**2", "kg m2": "kg*m**2", "kg mm2": "kg*mm**2", "g cm2": "g*cm**2", "kg cm2": "kg*cm**2",
}  # fmt: skip
BASE = units.DIMENSIONS | {"angle": "degree"}
LISTED = [(kind, unit) for kind, table in units.UNITS.items() for unit in table]
PRESSURES = ("pressure", "pressure_gauge", "pressure_absolute")


@pytest.mark.parametrize(("kind", "unit"), LISTED)
def test_every_listed_unit_agrees_with_an_independent_library(kind: str, unit: str) -> None:
    if kind == "fuel_flow" and unit.startswith("lb"):
        expected = REFERENCE.Quantity(1.0, "lb/h").to("kg/s").magnitude / units.PETROL_DENSITY
    else:
        expected = REFERENCE.Quantity(1.0, SPELLED.get(unit, unit)).to(BASE[kind]).magnitude
    assert units.parse(f"1 {unit}", kind) == pytest.approx(expected, rel=2e-6)  # conventional mercury, 1.4e-6


@pytest.mark.parametrize(("kind", "unit"), LISTED)
def test_a_unit_of_another_kind_is_refused(kind: str, unit: str) -> None:
    for other, table in units.UNITS.items():
        if unit not in table:
            with pytest.raises(units.UnitError, match="unit"):
                units.parse(f"1 {unit}", other)
    with pytest.raises(units.UnitError):
        units.parse(f"1 {unit}", "temperature")


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("870 degC", 1143.15),
        ("1650 degF", 1172.0388888888889),
        ("300 K", 300.0),
        ("-40 degF", 233.15),
        ("20 °C", 293.15),
    ],
)
def test_temperatures_carry_their_offset(text: str, kelvin: float) -> None:
    assert units.parse(text, "temperature") == pytest.approx(kelvin, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("18 psi", "pressure_gauge", 124105.63),
        ("18 psig", "pressure_gauge", 124105.63),
        ("18 psi gauge", "pressure_gauge", 124105.63),
        ("1.2 bar gauge", "pressure_gauge", 1.2e5),
        ("30 psia", "pressure_absolute", 206842.72),
        ("2 bar abs", "pressure_absolute", 2e5),
        ("2 bar", "pressure_absolute", 2e5),
        ("29.92 inHg", "pressure_absolute", 101320.75),
        ("0.63 in", "length", 0.016002),
        ("45 lb/min", "mass_flow", 0.340194),
        ("500 cfm", "volume_flow", 0.2359737),
        ("52.5 lb/hr", "fuel_flow", 552e-6 / 60.0),
        ("3 %", "fraction", 0.03),
        ("86mm", "length", 0.086),
        ("  86   mm ", "length", 0.086),
        ("8.6e1 mm", "length", 0.086),
        ("2 kg/m^2*m^2/min", "mass_flow", 2.0 / 60.0),
    ],
)
def test_the_trade_reads_as_it_writes(text: str, kind: str, si: float) -> None:
    assert units.parse(text, kind) == pytest.approx(si, rel=1.5e-3 if kind == "fuel_flow" else 1e-6)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("86", "length", "no unit"),
        ("86 cfm", "length", "no length unit"),
        ("0.63", "length", "no unit"),
        ("1,2 bar", "pressure_gauge", "decimal comma"),
        ("1.2 bar abs", "pressure_gauge", "absolute"),
        ("5 psig", "pressure_absolute", "gauge"),
        ("5 psig", "pressure", "gauge"),
        ("18 psii", "pressure_gauge", "not one of"),
        ("2 mPa", "pressure_absolute", "not one of"),
        ("18 psi + 2 bar", "pressure_gauge", "not one of"),
        ("nan bar", "pressure_gauge", "not a number"),
        ("inf mm", "length", "not a number"),
        ("1e999 mm", "length", "not a finite"),
        ("bar", "pressure", "not a number"),
        ("", "length", "not a number"),
        ("3 % mm", "fraction", "number"),
        ("0.8 lambda", "number", "no unit"),
        ("20 degC/s", "temperature", "not one of"),
        ("4 __import__('os')/m", "length", "not one of"),
    ],
)
def test_what_is_no_quantity_is_refused_in_words(text: str, kind: str, says: str) -> None:
    with pytest.raises(units.UnitError, match=says):
        units.parse(text, kind)


@given(st.text(max_size=30), st.sampled_from([*units.UNITS, *PRESSURES, "temperature", "number", "fraction"]))
def test_noise_gives_a_finite_number_or_a_refusal(text: str, kind: str) -> None:
    for written in (text, f"1 {text}"):
        try:
            found: float | str = units.parse(written, kind)
        except units.UnitError as error:
            found = str(error)
        assert "\n" not in found if isinstance(found, str) else math.isfinite(found)


@given(st.floats(1e-9, 1e9), st.sampled_from(sorted(units.SI)))
def test_exact_text_reads_back_to_the_same_float(value: float, kind: str) -> None:
    assert units.parse(units.exact(value, kind), kind) == value


@given(st.sampled_from(LISTED), st.floats(0.1, 1000.0))
def test_shown_values_read_back(pair: tuple[str, str], value: float) -> None:
    kind = pair[0]
    for family in showing.FAMILIES:
        how = showing.FAMILIES[family].get(kind)
        if how is not None:
            si = value * how.factor + how.offset
            text = f"{showing.shown(si, kind, family)}"
            assert units.parse(text, kind) == pytest.approx(si, abs=0.51 * 10.0**-how.decimals * how.factor)


@pytest.mark.parametrize(
    ("text", "side", "angle"),
    [
        ("15 deg BTDC", "intake", 345.0),
        ("5 deg ATDC", "intake", 365.0),
        ("50 deg ABDC", "intake", 590.0),
        ("20 deg BBDC", "intake", 520.0),
        ("50 deg BBDC", "exhaust", 130.0),
        ("12 deg ATDC", "exhaust", 372.0),
        ("8 deg btdc", "exhaust", 352.0),
        ("TDC", "exhaust", 360.0),
        ("BDC", "intake", 540.0),
    ],
)
def test_valve_events_on_our_crank_circle(text: str, side: str, angle: float) -> None:
    assert angles.valve_event(text, side) == angle


@pytest.mark.parametrize("text", ["15 deg", "15 BTDC", "-15 deg BTDC", "345 deg", "15 mm BTDC", "deg BTDC", "BTDC"])
def test_valve_events_need_unit_sign_and_dead_centre(text: str) -> None:
    with pytest.raises(units.UnitError):
        angles.valve_event(text, "intake")


@pytest.mark.parametrize(
    ("text", "advance"), [("18 deg", 18.0), ("18 deg BTDC", 18.0), ("-3 deg", -3.0), ("3 deg ATDC", -3.0)]
)
def test_spark_advance_is_positive_before_top_dead_centre(text: str, advance: float) -> None:
    assert angles.spark_angle(text) == advance
    assert angles.after_tdc_angle(text) == (advance if "TDC" not in text else -advance)


@pytest.mark.parametrize("text", ["-3 deg ATDC", "18", "18 deg ABDC", "18 rpm"])
def test_spark_advance_refuses_what_has_two_meanings(text: str) -> None:
    with pytest.raises(units.UnitError):
        angles.spark_angle(text)


@given(st.floats(200.0, 700.0))
def test_event_text_reads_back(angle: float) -> None:
    assert angles.valve_event(angles.event_text(angle), "intake") == pytest.approx(angle, abs=1e-12)


@given(st.floats(0.0, 720.0), st.sampled_from(["intake", "exhaust"]))
def test_card_text_reads_back_to_hundredths(angle: float, side: str) -> None:
    text = angles.card_text(angle, side)
    assert angles.valve_event(text, side) == pytest.approx(angle, abs=0.0051)
    assert len(text) <= len("180.25 deg ABDC")
