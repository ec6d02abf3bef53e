"""Where the pressure tap belongs, what range its gauge needs, and whether it may share a runner with a probe."""

import math
from collections.abc import Mapping
from typing import Any

from ...case import Case
from ...probes import rating, thermocouple
from .engine import Engine

WORK_SHARE = 0.65  # of full scale a pulsing pressure may use, EN 837-2; from memory, confidence med
RANGES_BAR = (0.6, 1.0, 1.6, 2.5, 4.0, 6.0, 10.0, 16.0)  # EN 837-1; from memory, confidence high
RANGES_PSI = (15.0, 30.0, 60.0, 100.0, 160.0, 200.0)  # common practice, no source
CLASS = 0.016  # error of a usual gauge, of its full scale: class 1.6 of EN 837-1; from memory, confidence high
PSI = 6894.757
DRAG = 1.2  # of a cylinder across a stream; from memory, confidence high
AIR_LIKE = 290.0  # gas constant of exhaust, good to 2 % [J/(kg K)]
WAKE = 10  # sheath diameters between probe and tap; common practice, no source


def taps(engine: Engine) -> list[dict[str, Any]]:
    """The case's tap tried at every place: what its needle would be off and swing by, the best first.

    Off is counted from the mean before the turbine, which is what backpressure means. What is off by less than the gauge's
    class counts as right; then the calmer needle wins. An orifice calms a needle, nothing mends one that is off.
    """
    case, rows = engine.case, []
    made = {k: v for k, v in (case.to_dict().get("pressure_tap") or {}).items() if k != "cylinder"}
    more = {f"pressure_tap.{k}": v for k, v in made.items()}
    for place in engine.places:
        p = engine.predict(engine.mean, more | {"pressure_tap.cylinder": place})
        tap = p.pressure_tap
        assert tap is not None
        off = tap["reading_pa"] - p.backpressure_pa
        swing = tap["pulsation_at_gauge_pa"]
        rows.append(
            {
                "place": tap["location"],
                "reading_pa": tap["reading_pa"],
                "off_pa": off,
                "pulsation_pa": tap["pulsation_pa"],
                "pulsation_at_gauge_pa": swing,
                "gauge_end_k": tap["gauge_end_warm_side_k"],
                "gauge_survives": tap["gauge_survives"],
                "length_needed_m": tap["length_needed_m"],
            }
        )
    finest = CLASS * min(row["reading_pa"] for row in rows) / WORK_SHARE
    return sorted(rows, key=lambda row: (max(abs(row["off_pa"]), finest), row["pulsation_at_gauge_pa"] or 0.0))


def gauge(tap: Mapping[str, Any]) -> dict[str, Any]:
    """The full scale to buy for a tap's reading: its mean within WORK_SHARE of it, its peak on the scale."""
    peak = tap["reading_pa"] + 0.5 * (tap["pulsation_at_gauge_pa"] or 0.0)
    least = max(tap["reading_pa"] / WORK_SHARE, peak)
    bar = next((r for r in RANGES_BAR if r * 1e5 >= least), None)
    psi = next((r for r in RANGES_PSI if r * PSI >= least), None)
    return {"mean_pa": tap["reading_pa"], "peak_pa": peak, "least_full_scale_pa": least, "full_scale_bar": bar,
            "full_scale_psi": psi, "class_error_pa": None if bar is None else CLASS * bar * 1e5}  # fmt: skip


def display(case: Case, hottest: float) -> dict[str, Any]:
    """What the probes' gauge must be able to show, and what their sheath stands [K]."""
    limit = rating(case.probe[0])
    return {
        "shows_up_to_k": hottest,
        "probe_stands_k": limit.continuous,
        "probe_stands_minutes_k": limit.brief,
    }


def shared(case: Case, probe: Mapping[str, Any], pressure: float, bought: Mapping[str, Any]) -> dict[str, Any]:
    """Whether probe and tap may share a runner: what the probe's drag takes off the pressure against the gauge's class.

    probe : a row of a prediction's probes, in a runner
    pressure : absolute there [Pa]
    """
    made = thermocouple(case.probe[0])
    bore = case.exhaust.runner_diameter
    blocked = made.junction_diameter * min(made.immersion, bore) / (0.25 * math.pi * bore**2)
    density = pressure / (AIR_LIKE * probe["gas_temperature_k"])
    mean, peak = (DRAG * blocked * 0.5 * density * probe[k] ** 2 for k in ("velocity_mean_m_s", "velocity_peak_m_s"))
    return {
        "blocked_fraction": blocked,
        "loss_mean_pa": mean,
        "loss_peak_pa": peak,
        "gauge_class_pa": bought["class_error_pa"],
        "may_share": bought["class_error_pa"] is not None and peak < bought["class_error_pa"],
        "apart_m": WAKE * made.junction_diameter,
    }
