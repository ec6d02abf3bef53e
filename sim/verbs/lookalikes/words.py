"""What a set of lookalikes says in sentences."""

from collections.abc import Mapping
from typing import Any

from ...showing import kelvins, shown

APART = 0.015  # lambda from which another mixture is worth a sentence
FAR = 0.15  # lambda from which it lies on the other side of the hottest mixture
TURN = 10.0  # spark that a person might be off by and not know, for a sentence [deg]
MORAL = (
    "One exhaust temperature tells neither the mixture nor the timing: rich and late reads like lean and early. Take the mixture "
    "from a wideband probe, the timing from a light at the crank and knock from a sensor or a trained ear; then the reading checks them."
)


def sentences(v: Mapping[str, Any], family: str) -> list[str]:
    """The reading here, its richest and leanest lookalikes, the lean twin at the same spark, what a reading is worth."""
    found = [
        f"At lambda {v['lambda_ratio']:.3f} and {v['spark_advance_deg']:.1f} deg the probe in the {_place(v)} reads "
        f"{shown(v['reading_k'], 'temperature', family)}, its class +-{kelvins(v['tolerance_k'], family)}."
    ]
    near = [r for r in v["alike"] if abs(r["spark_advance_deg"] - v["spark_advance_deg"]) <= TURN]
    rich = [r for r in near if r["lambda_ratio"] < v["lambda_ratio"] - APART]
    lean = [r for r in near if APART < r["lambda_ratio"] - v["lambda_ratio"] < FAR]
    for rows, pick, name in ((rich, min, "Richer"), (lean, max, "Leaner")):
        if rows:
            row = pick(rows, key=lambda r: r["lambda_ratio"])
            found.append(f"{name} it reads the same at {_setting(row, v)}: {_what(row, family)}.")
    beyond = [r for r in v["alike"] if r["lambda_ratio"] - v["lambda_ratio"] >= FAR]
    if beyond:
        row = min(beyond, key=lambda r: abs(r["spark_advance_deg"] - v["spark_advance_deg"]))
        found.append(f"And far leaner, past the hottest mixture, at {_setting(row, v)}: {_what(row, family)}.")
    if len(found) == 1:
        found.append("Within the map no other setting reads the same.")
    return [*found, *_worth(v, family), MORAL]


def _place(v: Mapping[str, Any]) -> str:
    return str(v["place"]).replace("runner", "runner of cylinder")


def _setting(row: Mapping[str, Any], v: Mapping[str, Any]) -> str:
    turn = row["spark_advance_deg"] - v["spark_advance_deg"]
    if abs(turn) < 0.05:
        return f"lambda {row['lambda_ratio']:.3f} with the spark left alone"
    side = "earlier" if turn > 0.0 else "later"
    return f"lambda {row['lambda_ratio']:.3f} with the spark {abs(turn):.1f} deg {side}, {row['spark_advance_deg']:.1f} deg"


def _what(row: Mapping[str, Any], family: str) -> str:
    """What such a lookalike is in truth."""
    margin = row["knock_margin_deg"]
    if margin is None:
        knock = "knock far"
    else:
        knock = f"{margin:.1f} deg from knock" if margin >= 0.0 else f"past knock by {-margin:.1f} deg"
    return f"{shown(row['power_w'], 'power', family)}, {knock}"


def _worth(v: Mapping[str, Any], family: str) -> list[str]:
    """The class of the probe in lambda and in spark."""
    per_lambda, per_degree = abs(v["kelvin_per_lambda"]), abs(v["kelvin_per_degree"])
    if not per_lambda > 0.0 or not per_degree > 0.0:
        return []
    return [
        f"Here 0.01 lambda is worth {kelvins(0.01 * per_lambda, family, 1)} and 1 deg of spark {kelvins(per_degree, family, 1)}: the class of the probe alone "
        f"covers +-{v['tolerance_k'] / per_lambda:.3f} lambda, or +-{v['tolerance_k'] / per_degree:.1f} deg."
    ]
