"""Logs as people bring them: read in full, in part with what was left out named, or refused in one sentence."""

import math
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import CaseError, load
from hotside.sim.verbs.diagnose import columns, points, text

FOLDER = Path(__file__).resolve().parent.parent / "examples"
SIX = load(FOLDER / "tractor_six.toml")  # alcohol, one probe, no spark column below
AMBIENT = 99e3
HEAD = "time [s],speed [rpm],boost [kPa],lambda [lambda],spark advance [deg],backpressure [kPa],probe.1 [degC]"


def row(t, speed=4500.0, boost=120.0, lam=0.80, spark=20.0, back=150.0, probe=750.0):
    return ",".join(f"{v:.3f}" for v in (t, speed, boost, lam, spark, back, probe))


def steady(n=60, step=0.1, **said):
    rng = np.random.default_rng(4)
    return [row(k * step, speed=4500 + 5 * rng.normal(), boost=120 + 0.3 * rng.normal(), **said) for k in range(n)]


def read(tmp_path, lines, case=SIX):
    path = tmp_path / "log.csv"
    path.write_bytes(("\n".join(lines) + "\n").encode() if isinstance(lines, list) else lines)
    sheet = text.read_sheet(path)
    found = columns.figures(sheet, case, AMBIENT)
    return found, points.points(found, case, sheet.ragged, AMBIENT)


def test_a_steady_stretch_is_averaged_with_its_scatter(tmp_path):
    _, found = read(tmp_path, [HEAD, *steady()])
    assert found.used == found.total == 60
    assert sum(found.rows) == 60
    first = found.values.iloc[0]
    assert first["speed"] == pytest.approx(4500 * math.pi / 30, rel=2e-3)
    assert first["boost"] == pytest.approx(120e3, rel=5e-3)
    assert first["probe.1"] == pytest.approx(1023.15)
    # 1 % of the gauge, and the scatter of a mean of some ten rows beside it
    assert 1200.0 < found.errors["boost"].iloc[0] < 1500.0


def test_a_step_between_two_steady_stretches_parts_them(tmp_path):
    """Plateaus that follow one another without a pause: a mean over the step would be a point where the engine never was."""
    lines = [row(0.2 * k, speed=3500 + 400 * (k // 12), back=100 + 10 * (k // 12)) for k in range(60)]
    _, found = read(tmp_path, [HEAD, *lines])
    assert found.rows == [12] * 5
    assert np.allclose(found.values["speed"] * 30 / math.pi, [3500, 3900, 4300, 4700, 5100])
    assert np.allclose(found.values["backpressure"], [100e3, 110e3, 120e3, 130e3, 140e3])


def test_a_pull_has_no_steady_stretch_and_its_probes_are_left_out(tmp_path):
    _, found = read(tmp_path, [HEAD, *(row(0.1 * k, speed=3000 + 40 * k, probe=600 + 3 * k) for k in range(60))])
    assert "probe.1" not in found.values
    assert not any(found.steady)
    assert any("which lag behind" in s for s in found.said)


def test_a_steady_stretch_is_found_beside_a_pull(tmp_path):
    lines = [row(0.1 * k, speed=3000 + 40 * k) for k in range(40)] + [row(4 + 0.1 * k, speed=4600) for k in range(40)]
    _, found = read(tmp_path, [HEAD, *lines])
    assert all(found.steady)
    assert 25 <= found.used <= 45
    assert f"{80 - found.used} rows lie in no steady stretch and are left out." in found.said
    assert np.allclose(found.values["speed"], 4600 * math.pi / 30, rtol=0.01)


@pytest.mark.parametrize("mark", [";", "\t", "|"])
def test_any_delimiter_and_decimal_commas(tmp_path, mark):
    lines = [
        line.replace(",", mark).replace(".", ",") if k else line.replace(",", mark)
        for k, line in enumerate([HEAD, *steady()])
    ]
    _, found = read(tmp_path, lines)
    assert found.used == 60
    assert found.values["lambda"].iloc[0] == pytest.approx(0.8)


def test_decimal_commas_between_commas_are_refused(tmp_path):
    rows = [f"{k},1,4500,0,120,0,0,80,20,0,150,0,750,0" for k in range(20)]
    with pytest.raises(CaseError, match="decimal commas"):
        read(tmp_path, [HEAD, *rows])


def test_no_delimiter_at_all(tmp_path):
    with pytest.raises(CaseError, match="no columns that can be told apart"):
        read(tmp_path, ["speed boost", "4500 120", "4600 121"])


def test_no_heading(tmp_path):
    with pytest.raises(CaseError, match="heading"):
        read(tmp_path, steady())


def test_a_row_of_units_below_the_heading(tmp_path):
    lines = ["speed,boost,lambda,spark advance,backpressure,probe 1", "rpm,psi,afr petrol,deg,psi,degF"]
    _, found = read(tmp_path, lines + [f"{4500 + k},17.4,11.76,20,21.8,1382" for k in range(5)])
    one = found.values.iloc[0]
    assert one["boost"] == pytest.approx(17.4 * 6894.757, rel=1e-6)
    assert one["lambda"] == pytest.approx(0.8)
    assert one["probe.1"] == pytest.approx(1023.15)


def test_units_missing_names_the_column_and_what_to_write(tmp_path):
    with pytest.raises(
        CaseError, match=r'"boost".*has no unit.*\[log.columns\].* boost = \{ column = "boost", unit = "kPa" \}'
    ):
        read(tmp_path, [HEAD.replace("boost [kPa]", "boost"), *steady()])


def test_all_columns_without_a_unit_are_named_at_once(tmp_path):
    head = HEAD.replace("boost [kPa]", "boost").replace("probe.1 [degC]", "EGT").replace("speed [rpm]", "RPM")
    with pytest.raises(CaseError) as refused:
        read(tmp_path, [head, *steady()])
    said = str(refused.value)
    assert 'boost = { column = "boost", unit = "kPa" } and "probe.1" = { column = "EGT", unit = "degC" }' in said
    assert '"RPM"' not in said


def test_rpm_lambda_and_egt_are_read_as_people_write_them(tmp_path):
    head = (
        HEAD.replace("speed [rpm]", "RPM").replace("lambda [lambda]", "Lambda").replace("probe.1 [degC]", "EGT (degC)")
    )
    _, found = read(tmp_path, [head, *steady()])
    first = found.values.iloc[0]
    assert first["speed"] == pytest.approx(4500 * math.pi / 30, rel=2e-3)
    assert first["lambda"] == pytest.approx(0.8)
    assert first["probe.1"] == pytest.approx(1023.15)


def test_an_absolute_pressure_is_made_gauge_and_phi_lambda(tmp_path):
    head = HEAD.replace("boost [kPa]", "MAP [kPa absolute]").replace("lambda [lambda]", "lambda [phi]")
    _, found = read(tmp_path, [head, *(row(k * 0.1, boost=219.0, lam=1.25) for k in range(40))])
    assert found.values["boost"].iloc[0] == pytest.approx(120e3)
    assert found.values["lambda"].iloc[0] == pytest.approx(0.8)


def test_swapped_columns_are_named(tmp_path):
    swapped = [",".join([a, c, b, *rest]) for a, b, c, *rest in (line.split(",") for line in steady())]
    with pytest.raises(CaseError, match=r'"speed .*swapped'):
        read(tmp_path, [HEAD, *swapped])


def test_a_ratio_read_as_lambda_says_how_to_write_it(tmp_path):
    with pytest.raises(CaseError, match="afr petrol"):
        read(tmp_path, [HEAD, *steady(lam=11.8)])


def test_forty_per_cent_broken_rows_are_counted_and_named(tmp_path):
    lines = steady(200)
    for k in range(0, 200, 5):
        lines[k] = lines[k].replace(lines[k].split(",")[1], "####")
    for k in range(1, 200, 5):
        lines[k] = lines[k] + ",1,2"
    figures, found = read(tmp_path, [HEAD, *lines])
    assert found.total == 200
    assert found.used >= 100
    assert len(figures.broken["speed"]) == 40
    assert figures.broken["speed"][:3] == [2, 7, 12]
    assert any("40 rows hold too few or too many fields" in s for s in found.said)
    assert any("holds 40 cells that are no likely figure" in s and "lines 2, 7, 12" in s for s in found.said)


def test_time_going_backwards_parts_pulls(tmp_path):
    _, found = read(tmp_path, [HEAD, *steady(), *steady()])
    assert any("2 pulls" in s for s in found.said)
    assert found.used == 120


def test_time_that_jumps_about_is_not_used(tmp_path):
    _, found = read(tmp_path, [HEAD, *(row((7 * k) % 20, speed=3000 + 100 * k) for k in range(20))])
    assert any("not used" in s for s in found.said)
    assert len(found.values) == 20


def test_two_hundred_thousand_rows(tmp_path):
    rng = np.random.default_rng(1)
    n = 200_000
    speed = 3000 + 500 * (np.arange(n) // 25_000) + 5 * rng.normal(size=n)
    table = np.column_stack(
        (np.arange(n) * 0.01, speed, 120 + 0.2 * rng.normal(size=n), np.full(n, 0.8), np.full(n, 20.0))
    )
    lines = [",".join(f"{v:.2f}" for v in r) + f",150.0,{750 + 0.1 * (k % 5):.1f}" for k, r in enumerate(table)]
    _, found = read(tmp_path, [HEAD, *lines])
    assert found.used > 190_000
    assert 8 <= len(found.values) <= points.MOST_POINTS


def test_rows_without_boost_are_left_out_and_said(tmp_path):
    lines = [row(0.1 * k, boost=-40.0) for k in range(40)] + [row(4 + 0.1 * k) for k in range(40)]
    _, found = read(tmp_path, [HEAD, *lines])
    assert any("40 rows without boost" in s for s in found.said)
    assert (found.values["boost"] > 1e5).all()


@pytest.mark.parametrize(
    "content",
    [b"", b"\n\n", b"\x00\x01\x02" * 50, b"speed [rpm],boost [kPa]\n", bytes(range(1, 256)) * 20, "speed [rpm];boost [kPa]\n\xe4;\xf6\n".encode("latin-1")],
)  # fmt: skip
def test_what_is_no_log_gets_one_sentence(tmp_path, content):
    with pytest.raises(CaseError) as refused:
        read(tmp_path, content)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 400


def test_columns_named_in_the_case(tmp_path):
    said = {
        "speed": "N", "boost": {"column": "P2", "unit": "bar", "error": "0.5 kPa"}, "lambda": {"column": "O2", "unit": "lambda"},
        "backpressure": {"column": "P3", "unit": "bar"},
    }  # fmt: skip
    case = load(SIX.to_dict() | {"log": {"columns": said}})
    lines = ["N [rpm],P2,O2,P3,other", *(f"{4500 + k},1.2,0.8,1.5,7" for k in range(6))]
    figures, found = read(tmp_path, lines, case)
    assert figures.ignored == ["other"]
    assert found.errors["boost"].iloc[0] == pytest.approx(500.0)
    assert found.values["backpressure"].iloc[0] == pytest.approx(150e3)


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"sped": "N"}, 'did you mean "speed"'),
        ({"speed": 3}, "does not name the column of speed"),
        ({"speed": {"column": "N", "units": "rpm"}}, "something other"),
        ([], "not a table"),
    ],
)
def test_bad_tables_of_columns(said, says):
    with pytest.raises(CaseError, match=says):
        load(SIX.to_dict() | {"log": {"columns": said}})


def test_a_column_the_log_does_not_have(tmp_path):
    case = load(SIX.to_dict() | {"log": {"columns": {"speed": "Drehzahl"}}})
    with pytest.raises(CaseError, match=r"log\.columns\.speed names the column"):
        read(tmp_path, [HEAD, *steady()], case)


def test_a_heading_that_counts_cylinders_finds_their_probes(tmp_path):
    """Probes in runners 3 and 1, in that order: a log that numbers them by cylinder is understood, and that is said."""
    case = SIX.set_all({"probe.1.cylinder": 3})
    raw = case.to_dict()
    case = load(raw | {"probe": [*raw["probe"], {"cylinder": 1}]})
    head = HEAD.replace("probe.1", "EGT 3")
    _, found = read(tmp_path, [head, *steady()], case=case)
    assert "probe.1" in found.values
    assert any('"EGT 3' in s and "is probe 1 of the case" in s for s in found.said)


def test_a_probe_the_case_does_not_have(tmp_path):
    """The six's one probe is named, so that a heading that counts cylinders is understood as such."""
    with pytest.raises(
        CaseError, match=r'"probe\.4.*" is read as probe\.4.* are: 1 in .*; head it .* as probe\.1, or add'
    ):
        read(tmp_path, [HEAD.replace("probe.1", "probe.4"), *steady()])
