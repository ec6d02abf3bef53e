"""The turbine as a restriction, built from what is known: an effective area, hardware, or a measured curve.

Every builder fills the same record, which `expansion` reads; `swallowing` turns hardware into flow. This room gathers the
names of all three.
"""

# ruff: noqa: F401  (names that other rooms' callers read here)
import math

import numpy as np

from .expansion import (
    LOG_BAND,
    PARABOLA,
    TABLE,
    Turbine,
    admission,
    beside_first,
    blade_speed_ratio,
    efficiency_parabola,
    expansion_coordinate,
    interpolate,
    maximum_flow,
    turbine_efficiency,
    turbine_flow,
    turbine_work,
)
from .flow import flow_function
from .swallowing import (
    Passages,
    corrected_from_swallowing,
    fill_series,
    optimum_inlet_angle,
    series_flow,
    series_flows,
    swallowing_from_corrected,
)
from .turbine_map import from_map, leave_one_out, map_lines, rising

PRESSURE_RATIO_END = 8.0  # the characteristic is constant beyond this expansion ratio
TIP_SPEED_END = 2.5  # last node of the tip-speed parameter U^2/(r T0): 790 m/s at 870 K
N_PRESSURE, N_SPEED = 97, 26

# Stand-ins, from memory, confidence medium, for small radial exhaust-gas turbines; each an argument of the builders.
EFFICIENCY_PEAK = 0.70  # total to static, shaft bearing loss not included; 0.65-0.75
BLADE_SPEED_RATIO_PEAK = 0.70  # Int. J. Rotating Machinery 2012, art. 589720: the literature's peak is at 0.7
NOZZLE_ANGLE = 72.5  # flow angle at the rotor inlet, from radial [deg]: optimum_inlet_angle of 11 blades; 65-75
DISCHARGE_STATOR = 0.95  # volute or vane throat
DISCHARGE_ROTOR = 0.90  # rotor throat, relative to annulus x cos(exit angle)
INCIDENCE_LOSS = 1.0  # all of the tangential relative velocity at the rotor inlet, beyond the wheel's own

_DS = math.sqrt(math.log(PRESSURE_RATIO_END)) / (N_PRESSURE - 1)
_DM = TIP_SPEED_END / (N_SPEED - 1)
_S = _DS * np.arange(N_PRESSURE)


def _record(
    flow: np.ndarray, efficiency: np.ndarray | None, peak: float, ratio_peak: float, wheel: float, share: float
) -> Turbine:
    """The record with arrays and numbers of one kind, so that one signature is compiled."""
    return Turbine(
        ds=_DS,
        dm=_DM,
        flow=np.ascontiguousarray(flow, dtype=float),
        efficiency=np.zeros((2, N_PRESSURE)) if efficiency is None else np.ascontiguousarray(efficiency, dtype=float),
        efficiency_model=PARABOLA if efficiency is None else TABLE,
        efficiency_peak=float(peak),
        blade_speed_ratio_peak=float(ratio_peak),
        wheel_diameter=float(wheel),
        share=float(share),
    )


def from_area(
    area: float,
    gamma: float,
    wheel_diameter: float,
    efficiency_peak: float = EFFICIENCY_PEAK,
    blade_speed_ratio_peak: float = BLADE_SPEED_RATIO_PEAK,
    share: float = 1.0,
) -> Turbine:
    """Turbine as one isentropic nozzle of given effective area, the same at every shaft speed.

    area : float, effective area of the whole machine [m2]
    gamma : float, ratio of specific heats of the exhaust gas [-]
    wheel_diameter : float, wheel inlet diameter [m]
    efficiency_peak : float, peak total-to-static efficiency [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak [-]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for an area that is not positive.
    """
    if not area > 0.0:
        raise ValueError("area must be positive")
    row = np.array([0.0] + [area * flow_function(math.exp(-s * s), gamma)[0] for s in _S[1:]])
    return _record(np.vstack((row, row)), None, efficiency_peak, blade_speed_ratio_peak, wheel_diameter, share)


def from_hardware(
    throat_area: float,
    wheel_inlet_diameter: float,
    wheel_outlet_diameter: float,
    hub_diameter: float,
    exit_angle: float,
    gamma: float,
    nozzle_angle: float = NOZZLE_ANGLE,
    discharge_stator: float = DISCHARGE_STATOR,
    discharge_rotor: float = DISCHARGE_ROTOR,
    incidence_loss: float = INCIDENCE_LOSS,
    efficiency_peak: float = EFFICIENCY_PEAK,
    blade_speed_ratio_peak: float = BLADE_SPEED_RATIO_PEAK,
    share: float = 1.0,
) -> Turbine:
    """Turbine from its hardware as two nozzles in series: housing throat and rotor (Payri, Benajes, Reyes 1996).

    The throat area of a housing marked by A/R is (A/R) x R, R from the shaft axis to the centroid of the throat (SAE
    J922). The rotor throat is the exit annulus times the cosine of the blade angle. A sound first answer where there
    is no map; the swallowing of a real wheel departs from it by the discharge coefficients, which are arguments.

    throat_area : float, housing throat area, all entries together [m2]
    wheel_inlet_diameter : float, rotor inlet (tip) diameter [m]
    wheel_outlet_diameter : float, rotor outlet (exducer) diameter [m]
    hub_diameter : float, hub diameter at the rotor outlet [m]
    exit_angle : float, rotor exit blade angle from axial, at the mean radius [deg]
    gamma : float, ratio of specific heats of the exhaust gas [-]
    nozzle_angle : float, flow angle at the rotor inlet, from radial [deg]
    discharge_stator : float, discharge coefficient of the housing throat [-]
    discharge_rotor : float, discharge coefficient of the rotor [-]
    incidence_loss : float, share of the tangential incidence energy lost, 0 to 1 [-]
    efficiency_peak : float, peak total-to-static efficiency [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak [-]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for hardware that leaves no passage.
    """
    annulus = 0.25 * math.pi * (wheel_outlet_diameter**2 - hub_diameter**2)
    rotor_area = annulus * math.cos(math.radians(exit_angle))
    if not (throat_area > 0.0 and rotor_area > 0.0 and wheel_inlet_diameter > 0.0 and hub_diameter >= 0.0):
        raise ValueError("throat area and rotor exit area must be positive")
    mean_exit_diameter = math.sqrt(0.5 * (wheel_outlet_diameter**2 + hub_diameter**2))
    passages = Passages(
        stator=float(discharge_stator * throat_area),
        rotor=float(discharge_rotor * rotor_area),
        radius_ratio=float(mean_exit_diameter / wheel_inlet_diameter),
        swirl=math.sin(math.radians(nozzle_angle)),
        incidence_loss=float(incidence_loss),
        gamma=float(gamma),
    )
    flow = np.zeros((N_SPEED, N_PRESSURE))
    fill_series(passages, _DS, _DM, flow)
    return _record(flow, None, efficiency_peak, blade_speed_ratio_peak, wheel_inlet_diameter, share)


def _checked_curve(pressure_ratio: np.ndarray, swallowing: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A measured curve as arrays; ValueError where it is not one."""
    ratio, flow = np.asarray(pressure_ratio, dtype=float), np.asarray(swallowing, dtype=float)
    if ratio.ndim != 1 or ratio.shape != flow.shape or ratio.size < 1:
        raise ValueError("pressure ratio and flow must be lists of the same length")
    if not (ratio[0] > 1.0 and np.all(np.diff(ratio) > 0.0)):
        raise ValueError("pressure ratios must rise and exceed 1")
    if not (flow[0] > 0.0 and np.all(np.diff(flow) >= 0.0)):
        raise ValueError("flow must be positive and must not fall with pressure ratio")
    return ratio, flow


def _efficiency_table(s: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Efficiency measured at the points s of a curve, on the nodes; ValueError where it is none."""
    if values.shape != s.shape or not np.all((values >= 0.0) & (values <= 1.0)):
        raise ValueError("efficiency must give one value between 0 and 1 for each pressure ratio")
    if s.size == 1:
        return np.full((2, N_PRESSURE), values[0])
    from scipy.interpolate import PchipInterpolator  # half a second to import, and few cases need it

    line = PchipInterpolator(s, values)(np.clip(_S, s[0], s[-1]))
    return np.vstack((line, line))


def from_curve(
    pressure_ratio: np.ndarray,
    swallowing: np.ndarray,
    wheel_diameter: float,
    efficiency: np.ndarray | None = None,
    efficiency_peak: float = EFFICIENCY_PEAK,
    blade_speed_ratio_peak: float = BLADE_SPEED_RATIO_PEAK,
    share: float = 1.0,
) -> Turbine:
    """Turbine from a measured swallowing curve, the same at every shaft speed.

    Shape-preserving cubic (F. N. Fritsch & R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246) in
    sqrt(ln(pressure ratio)), in which a nozzle starts as a straight line from zero; constant beyond the last point.

    pressure_ratio : float array (n,), inlet stagnation to outlet static, rising, all above 1 [-]
    swallowing : float array (n,), mdot sqrt(r T0)/p0, not falling (swallowing_from_corrected converts) [m2]
    wheel_diameter : float, wheel inlet diameter [m]
    efficiency : float array (n,) or None, total-to-static efficiency at the points, constant beyond both ends [-]
    efficiency_peak : float, peak efficiency where no efficiency is given [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak where no efficiency is given [-]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for a curve that is not as said above.
    """
    ratio, flow = _checked_curve(pressure_ratio, swallowing)
    s = np.sqrt(np.log(ratio))
    from scipy.interpolate import PchipInterpolator  # half a second to import, and few cases need it

    row = PchipInterpolator(np.append(0.0, s), np.append(0.0, flow))(np.clip(_S, 0.0, s[-1]))
    table = None if efficiency is None else _efficiency_table(s, np.asarray(efficiency, dtype=float))
    return _record(np.vstack((row, row)), table, efficiency_peak, blade_speed_ratio_peak, wheel_diameter, share)
