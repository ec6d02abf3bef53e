"""The unknowns a log can speak about: dotted names of the case and offsets of gauges, each with its prior and bounds."""

import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from ....models import typek
from ... import efficiencies
from ...case import Case
from ...errors import CaseError
from ...schema import Spec
from ...sections import SPECS

NORMAL_90 = 1.6449  # half-width of the middle 90 % over the standard deviation
ALL_PROBES = "probes"
SHARED = f"sensor.{ALL_PROBES}"  # offset that they share
WORDS = {
    "turbine.flow_scale": "what the turbine swallows, over what its size implies",
    "turbine.efficiency_scale": "turbo efficiency, over the case's",
    "compressor.efficiency_scale": "compressor efficiency, over the case's",
    "engine.breathing": "charge, over the model's",
    "wall_heat.scale": "wall heat factor",
    "burn.duration_scale": "burn duration, over the model's",
    "engine.spark_offset": "timing at the crank less that logged",
    "exhaust.loss_coefficient": "loss after the turbine",
    "wastegate.leak_area": "gap of the wastegate where it should be shut",
    "cooler.effectiveness": "cooler effectiveness",
    "sensor.lambda": "offset of the lambda probe",
    SHARED: "what all probes read above the model's gas",
}
ALWAYS = (
    "turbine.flow_scale", "turbine.efficiency_scale", "engine.breathing", "wall_heat.scale", "burn.duration_scale",
    "engine.spark_offset", "exhaust.loss_coefficient",
)  # fmt: skip
# Where the schema states no band; the second figures from memory, confidence medium.
PRIORS = {
    "engine.spark_offset": 2.0 / NORMAL_90,
    "cylinder.N.fuel": 0.03,
    "cylinder.N.air": 0.02,
    "cylinder.N.spark": 0.5,
    "wastegate.leak_area": 10e-6,
}
# Gas where a probe stands less the model's there: a runner's gas is not all alike, and submodels exchanged move it as much. All
# probes of an engine share most of it. Judgement, no source [K]
PLACE = 15.0
LAMBDA_OFFSET = 0.01  # of a wideband probe in use; common practice, no source
STRIDE = 0.8  # half-width of differences in prior standard deviations: wide beside the jumps of the march's steps


class Unknown(NamedTuple):
    """One unknown: the value is `middle + sigma x`, x standard normal before the log is seen."""

    name: str
    words: str
    middle: float  # [SI]
    sigma: float
    low: float
    high: float
    usual: float = 0.0  # how far it usually strays [SI]; 0 means sigma, which is more where its prior was let go

    @property
    def stride(self) -> float:
        """Half-width of differences, in units of x."""
        return STRIDE * (self.usual or self.sigma) / self.sigma

    def at(self, x: float) -> float:
        """The value at x [SI], within the bounds to the last bit."""
        return min(max(self.middle + self.sigma * x, self.low), self.high)

    @property
    def sensor(self) -> str | None:
        """The channel whose gauge is off; None for an input of the case."""
        return self.name.removeprefix("sensor.") if self.name.startswith("sensor.") else None


def unknowns(case: Case, logged: Iterable[str], wanted: Iterable[str] | None = None) -> list[Unknown]:
    """The unknowns for a log with these channels, or those asked for; raises CaseError for a name that is none."""
    logged = set(logged)
    names = list(wanted) if wanted else _chosen(case, logged)
    found = [unknown(case, name) for name in dict.fromkeys(names)]
    probes = [u.name for u in found if u.name.startswith("sensor.probe.")]
    if len(probes) == 1 and SHARED not in names:  # its own class and what all would share are one offset
        return [u._replace(sigma=math.hypot(u.sigma, PLACE)) if u.name in probes else u for u in found]
    return found


def _chosen(case: Case, logged: set[str]) -> list[str]:
    names = [n for n in ALWAYS if n != "exhaust.loss_coefficient" or case.exhaust.restriction is None]
    if case.burn.model != "spark":
        names = [n for n in names if n not in ("burn.duration_scale", "engine.spark_offset")]
    if case.engine.volumetric_efficiency_measured is not None:
        names.remove("engine.breathing")
    if logged & {"compressor_temperature", "shaft_speed"}:
        names.append("compressor.efficiency_scale")
    if "intake_temperature" in logged:
        names.append("cooler.effectiveness")
    names.append("sensor.lambda")
    probed = [c for c in sorted(logged) if c.startswith("probe.")]
    runners = {case.probe[int(c[6:]) - 1].cylinder for c in probed} - {"collector", "collector 1", "collector 2"}
    if len(runners) > 1:
        names += [f"cylinder.{n}.fuel" for n in sorted(runners, key=str)]
    return names + [f"sensor.{c}" for c in probed] + [SHARED] * (len(probed) > 1)


def unknown(case: Case, name: str) -> Unknown:
    """One unknown with its prior; raises CaseError for a name that can be none."""
    if name == "sensor.lambda":
        return Unknown(name, WORDS[name], 0.0, LAMBDA_OFFSET, -0.15, 0.15)
    if name == SHARED:
        return Unknown(name, WORDS[name], 0.0, PLACE, -200.0, 200.0)
    if name.startswith("sensor.probe."):
        sigma = probe_class(1100.0)
        return Unknown(name, f"offset of probe {name[13:]}", 0.0, sigma, -400.0, 400.0)
    spec, value = _number(case, name)
    if spec is None or value is None or not isinstance(value, float | int):
        raise CaseError(f"--fit {name} is no number of this case that can be fitted; choose among {', '.join(ALWAYS)}.")
    general = ".".join("N" if part.isdigit() else part for part in name.split("."))
    sigma = PRIORS.get(general, spec.half_width(float(value)) / NORMAL_90)
    if not sigma > 0.0:
        raise CaseError(f"--fit {name} has no stated band to start from; choose among {', '.join(ALWAYS)}.")
    low = spec.low if spec.low is not None else value - 6.0 * sigma
    high = spec.high if spec.high is not None else value + 6.0 * sigma
    if name in efficiencies.SCALES:
        high = min(high, 0.999 * efficiencies.most(case, name))
    return Unknown(
        name, words_of(name, spec), float(value), sigma, max(low, value - 6.0 * sigma), min(high, value + 6.0 * sigma)
    )


def _number(case: Case, name: str) -> tuple[Spec | None, object]:
    general = ".".join("N" if part.isdigit() else part for part in name.split("."))
    return (SPECS[general], case.get(name)) if general in SPECS else (None, None)


def words_of(name: str, spec: Spec) -> str:
    """What the trade calls an unknown."""
    parts = name.split(".")
    if parts[0] == "cylinder":
        return f"{parts[2]} of cylinder {parts[1]} against the mean"
    return WORDS.get(name, spec.meaning)


def probe_class(T: float) -> float:
    """Standard deviation that a probe's class leaves at a temperature [K]: its tolerance read as the middle 95 %."""
    return 0.5 * typek.class_tolerance(T, typek.IEC_CLASS_2)


def values_of(found: list[Unknown], x: Iterable[float]) -> dict[str, float]:
    """Inputs of the case at a place x, by dotted name in SI; offsets of gauges are not among them."""
    return {u.name: u.at(float(v)) for u, v in zip(found, x, strict=True) if u.sensor is None}


def offsets_of(found: list[Unknown], x: Iterable[float]) -> Mapping[str, float]:
    """Offsets of gauges at a place x, by channel in SI; what all probes share under a name of its own."""
    return {u.sensor: u.at(float(v)) for u, v in zip(found, x, strict=True) if u.sensor is not None}


def offset(offsets: Mapping[str, float], channel: str) -> float:
    """What a gauge reads more than it should by these offsets [SI]."""
    return offsets.get(channel, 0.0) + (offsets.get(ALL_PROBES, 0.0) if channel.startswith("probe.") else 0.0)
