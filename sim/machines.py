"""Turbine, compressor and wastegate of a case as the kernels read them."""

import math
from functools import lru_cache
from typing import Any

import numpy as np

from ..models import compressor
from ..models import turbine as swallowing
from ..models.compressor import Compressor
from ..models.turbine import Turbine
from ..models.wastegate import Gate, gate_from_pump
from .records import Array
from .sections_turbo import Compressor as CompressorSection
from .sections_turbo import Turbine as TurbineSection
from .sections_turbo import Wastegate as WastegateSection
from .surroundings import SET_BOOST, SET_OPENING, SPRING

EXHAUST_GAMMA = 1.32  # of burnt gas at turbine temperatures, for the swallowing characteristic [-]


# Made once for all points that share it: the records are only read.


@lru_cache(maxsize=64)
def compressor_of(c: CompressorSection | None) -> tuple[Compressor, Array]:
    """The compressor's numbers, and the packed array of its map (a single zero where there is none)."""
    if c is None:  # a bench has none; the record is not read
        return Compressor(compressor.CONSTANT, 1.0, 1.0, compressor.from_wheel(0.5, 1.0), compressor.NO_CHART), _none()
    wheel = compressor.from_wheel(
        float(c.inducer_diameter),
        float(c.wheel_diameter),
        throat_ratio=float(c.throat_ratio),
        work_coefficient=float(c.work_coefficient),
        efficiency_peak=float(c.efficiency_peak),
    )
    chart, packed = compressor.NO_CHART, _none()
    if c.model == "map":
        assert c.map is not None
        chart, packed = compressor.from_points(c.map[2], c.map[0], c.map[1])
    return Compressor(compressor.MODELS[c.model], float(c.efficiency), float(c.efficiency_scale), wheel, chart), packed


def _none() -> Array:
    return np.zeros((1, 1))


@lru_cache(maxsize=64)
def gate_of(w: WastegateSection | None) -> dict[str, Any]:
    """What moves the wastegate, as fields of the plant."""
    nothing = {
        "gate_model": SET_BOOST,
        "gate_opening": 0.0,
        "gate": Gate(0.0, 1.0, 1.0, 1.0, 0.0),
        "gate_at_compressor": 0,
    }
    if w is None or w.model == "boost":
        return nothing
    if w.model == "opening":
        assert w.opening is not None
        return nothing | {"gate_model": SET_OPENING, "gate_opening": float(w.opening)}
    assert w.crack_pressure is not None
    seat = 2.0 * math.sqrt(w.area / math.pi)
    gate = gate_from_pump(w.crack_pressure, w.full_pressure, w.diaphragm_diameter, w.lever_ratio, seat)
    return nothing | {"gate_model": SPRING, "gate": gate, "gate_at_compressor": int(w.signal == "compressor")}


@lru_cache(maxsize=64)
def turbine_of(t: TurbineSection | None, collectors: int) -> tuple[Turbine, float]:
    """The turbine, as its first entry has it, and its greatest flow parameter for each collector, their mean [m2]."""
    share = 1.0 if collectors == 1 or t is None else float(t.entry_share)
    if t is None:
        return swallowing.from_area(1e-3, EXHAUST_GAMMA, 0.05), 1e-3  # a bench has none; the record is not read
    known: dict[str, Any] = {
        "efficiency_peak": t.efficiency_peak,
        "blade_speed_ratio_peak": t.blade_speed_ratio_peak,
        "share": share,
    }
    if t.model == "area":
        assert t.area is not None
        made = swallowing.from_area(t.area, EXHAUST_GAMMA, t.wheel_inlet_diameter, **known)
    elif t.model == "hardware":
        assert t.throat_area is not None
        made = swallowing.from_hardware(
            t.throat_area, t.wheel_inlet_diameter, t.wheel_outlet_diameter, t.hub_diameter,
            t.exit_angle, EXHAUST_GAMMA, **known,
        )  # fmt: skip
    elif t.model == "map":
        assert t.map is not None
        made = swallowing.from_map(*t.map, wheel_diameter=t.wheel_inlet_diameter, share=share)
    else:
        assert t.curve is not None
        assert t.reference_temperature is not None
        assert t.reference_pressure is not None
        ratio, flow = np.array(t.curve, dtype=float).T
        parameter = swallowing.swallowing_from_corrected(flow, t.reference_temperature, t.reference_pressure, 287.05)
        made = swallowing.from_curve(ratio, parameter, t.wheel_inlet_diameter, **known)
    made = made._replace(
        flow=made.flow * t.flow_scale,
        efficiency=np.minimum(made.efficiency * t.efficiency_scale, 1.0),  # a map is carried on past its points
        efficiency_peak=made.efficiency_peak * t.efficiency_scale,
        unequal_loss=float(t.unequal_admission_loss),
    )
    return made, float(made.flow.max()) / collectors
