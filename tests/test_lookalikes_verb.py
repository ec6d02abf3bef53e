"""`hotside lookalikes`: each setting replayed reads the same, the trends behind it, sentences, print, picture."""

import io
import json
import shlex
from itertools import pairwise
from pathlib import Path

import pytest
from hotside.sim import CaseError, load, lookalikes, predict
from hotside.sim.options import changed
from hotside.sim.verbs.lookalikes.table import print_lookalikes
from rich.console import Console

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
DIVIDED = load(EXAMPLES / "divided_four.toml")
SIX = load(EXAMPLES / "tractor_six.toml")


@pytest.fixture(scope="module")
def divided():
    return lookalikes(DIVIDED)


def replay(case, words):
    return predict(changed(case, [w for w in shlex.split(words) if w != "--set"]))


def test_every_lookalike_reads_the_same_when_it_is_predicted(divided):
    here = predict(DIVIDED).probes[0]["reading_k"]
    assert divided.reading_k == here
    assert len(divided.alike) >= 5
    for row in divided.alike:
        p = replay(DIVIDED, row["set"])
        assert p.probes[0]["reading_k"] == pytest.approx(here, abs=0.3)
        assert p.boost_pa == pytest.approx(divided.boost_pa, abs=1.0)
        assert p.knock_margin_deg == row["knock_margin_deg"]


def test_rich_and_late_reads_like_lean_and_early(divided):
    """A richer mixture burns less of its heat and cools the gas, a later spark leaves more heat to the exhaust: they cancel."""
    rich_side = [row for row in divided.alike if row["lambda_ratio"] < 1.0]
    assert all(a["spark_advance_deg"] < b["spark_advance_deg"] for a, b in pairwise(rich_side))
    assert rich_side[0]["spark_advance_deg"] < DIVIDED.run.spark_advance < rich_side[-1]["spark_advance_deg"]
    assert divided.kelvin_per_lambda > 0.0
    assert divided.kelvin_per_degree < 0.0


def test_the_same_reading_hides_knock(divided):
    """The earlier of two lookalikes is nearer to knock, or past it, at the same reading."""
    margins = [
        row["knock_margin_deg"]
        for row in divided.alike
        if row["lambda_ratio"] < 1.0 and row["knock_margin_deg"] is not None
    ]
    assert margins == sorted(margins, reverse=True)
    assert margins[0] > 0.0 > margins[-1]
    assert any("past knock" in line for line in divided.sentences)


def test_slopes_by_hand(divided):
    def at(lam, spark):
        return predict(DIVIDED.set_all({"run.lambda": lam, "run.spark_advance": f"{spark} deg"})).probes[0]["reading_k"]

    assert divided.kelvin_per_lambda == pytest.approx((at(0.83, 19.0) - at(0.81, 19.0)) / 0.02, rel=1e-6)
    assert divided.kelvin_per_degree == pytest.approx((at(0.82, 20.0) - at(0.82, 18.0)) / 2.0, rel=1e-6)


def test_the_probe_asked_for_and_the_one_that_reads_highest():
    uneven = load(EXAMPLES / "uneven.toml")
    readings = [p["reading_k"] for p in predict(uneven).probes]
    with pytest.raises(CaseError, match=r"3 .*numbered from 1"):
        lookalikes(uneven, probe=4)
    with pytest.raises(CaseError, match="no spark to turn"):
        lookalikes(load(EXAMPLES / "bench.toml"))
    from hotside.sim.verbs.lookalikes.run import _chosen

    assert _chosen(predict(uneven).probes, None) == readings.index(max(readings)) + 1
    assert _chosen(predict(uneven).probes, 1) == 1


def test_other_mixtures_at_the_same_spark():
    """Leaner than the hottest mixture the reading falls again, since the excess air is heated too: a lean twin exists.

    Far too rich the flame is so slow that it burns into the exhaust, which is another way to the same reading.
    """
    case = SIX.set_all({"run.lambda": 0.92, "run.boost": "8 psi"})
    result = lookalikes(case)
    assert any(row["lambda_ratio"] > 1.0 for row in result.same_spark)
    for row in result.same_spark:
        assert row["spark_advance_deg"] == pytest.approx(20.0)
        assert replay(case, row["set"]).probes[0]["reading_k"] == pytest.approx(result.reading_k, abs=0.3)


def printed(result, family):
    console = Console(width=80, record=True, highlight=False, file=io.StringIO())
    print_lookalikes(result, family, console)
    return console.export_text()


def test_print_data_and_picture(divided, tmp_path):
    from hotside.sim.pictures import save_picture
    from hotside.sim.verbs.lookalikes.plot import draw

    text = printed(divided, "us")
    assert max(map(len, text.splitlines())) <= 80
    assert "degF" in text
    assert "rich and late reads like lean and early" in " ".join(text.split())
    assert "safe" not in text.lower()
    json.dumps(divided.to_dict(), allow_nan=False)
    save_picture(draw(divided, "metric"), tmp_path / "alike.png")
    assert (tmp_path / "alike.png").stat().st_size > 10_000
