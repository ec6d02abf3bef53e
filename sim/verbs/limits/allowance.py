"""How far to stay from each limit by what the numbers may be wrong: judgement, no source, stated so that it can be argued with.

A limit is an edge. What is printed beside it stands back by the error of the gauge and the spread of the model, added
as independent errors are.
"""

import math
from collections.abc import Mapping
from typing import Any

from ....models import gauges

TIMING = 2.0  # crank timing until checked with a timing light [deg]
OCTANE = 1.0  # pump fuel of one octane less, in spark; about a degree for a number [deg]
MODEL_TEMPERATURE = 20.0  # exhaust temperature of the model where it was fitted to nothing [K]
MODEL_PRESSURE = 0.10  # cylinder and manifold pressures, as a share
OTHERS = 0.05  # of a limit: speeds, flows, ratios, duty; of the flow where the limit is a line on a map
SURGE = 0.10  # of the flow, from the surge line; common practice, no source
BOOST_GAUGE = 3e3  # [Pa]
PROBE_CLASS = gauges.IEC_CLASS_2


def probe_error(reading: float) -> float:
    """Error of the thermocouple alone, by the class of an ordinary one [K]."""
    return gauges.class_tolerance(reading, PROBE_CLASS)


def allowance(row: Mapping[str, Any]) -> float:
    """How far to stay from the limit of a margin, in the unit of the margin.

    Of knock it holds what the delay may be shorter by, where a row says it (`knock_band.py`).
    """
    name, limit = str(row["name"]), abs(float(row["limit"]))
    if name == "probe_temperature_k":
        return math.hypot(MODEL_TEMPERATURE, probe_error(limit))
    if name.endswith("temperature_k"):
        return MODEL_TEMPERATURE
    if name.startswith("knock"):
        return math.hypot(TIMING, OCTANE, float(row.get("band_deg", 0.0)))
    if "pressure" in name.split("_") or name.endswith("_n"):
        return MODEL_PRESSURE * limit
    if name.startswith("surge"):
        return SURGE
    return OTHERS * (limit or 1.0)
