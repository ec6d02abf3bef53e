"""A turbine from a measured map: swallowing and efficiency by pressure ratio and speed.

Between its points the map is read by shape-preserving cubics along each speed line and then across the lines, flow in
sqrt(ln(pressure ratio)), efficiency as a share of one parabola in blade-speed ratio. Outside, by name: from rest to a line's
first point flow rises as that cubic from zero, past its last point as a sqrt(1 - ratio^-k) fitted to the line (form of Jensen,
Kristensen, Sorenson, Houbak & Hendricks, SAE 910471, 1991, from memory, confidence medium); efficiency keeps its share of the
parabola; slower and faster than the measured lines both stay as they are on the nearest.
"""

import itertools
import math
from functools import lru_cache

import numpy as np

from .expansion import TABLE, Turbine, turbine_efficiency, turbine_flow
from .speed_line import SAME_EFFICIENCY, SAME_SPEED, odd_efficiency

Point = tuple[float, float, float, float]  # speed [rad/s], flow [kg/s], pressure ratio, efficiency
RATIO_END = 8.0  # the characteristic is constant beyond this expansion ratio
N_RATIO, N_SPEED = 321, 161
GAMMA, R_TEST = 1.4, 287.05  # of the air a map is referred to
USUAL_PEAK = (
    0.70  # blade-speed ratio of the peak where the points do not tell (Int. J. Rotating Machinery 2012, 589720)
)
APART = 0.03  # of the flow: lines nearer than that are alike, as sheets and test rigs go
LEAST_PARABOLA = 0.05  # of its peak: the share of it is not taken where it is next to nothing


def _once(part: np.ndarray, name: str) -> np.ndarray:
    """A line sorted by ratio with each ratio once; ValueError where one is given in two ways."""
    again = np.append(False, np.diff(part[:, 2]) <= 1e-6)
    for k in np.flatnonzero(again):
        flow, efficiency = abs(part[k, 1] / part[k - 1, 1] - 1.0), abs(part[k, 3] - part[k - 1, 3])
        if flow > SAME_SPEED or efficiency > SAME_EFFICIENCY:
            raise ValueError(f"the speed line {name} has pressure ratio {part[k, 2]:.4g} twice, with other values")
    return part[~again]


def map_lines(points: tuple[Point, ...]) -> list[np.ndarray]:
    """Points sorted into speed lines by pressure ratio; equal speeds joined, a point given twice kept once.

    points : tuple of (speed, flow, ratio, efficiency), corrected [rad/s, kg/s, -, -]
    Returns list of float arrays (n, 4), columns speed, flow, ratio, efficiency [-].
    Raises ValueError naming a line with fewer than two points, with a flow that falls as the ratio rises, with a point given twice
    in two ways or with an efficiency that dips or leaps; or lines out of order, see `rising`.
    """
    rows = np.array(sorted(points))
    cuts = np.flatnonzero(np.diff(rows[:, 0]) > SAME_SPEED * rows[1:, 0]) + 1
    found = []
    for part in np.split(rows, cuts):
        part[:, 0] = part[:, 0].mean()
        part = part[np.argsort(part[:, 2], kind="stable")]
        name = f"{part[0, 0] * 30.0 / math.pi:.0f} rpm"
        part = _once(part, name)
        if len(part) < 2:
            raise ValueError(f"the speed line {name} has a single point")
        if np.any(np.diff(part[:, 1]) < -0.01 * part[:-1, 1]):
            raise ValueError(f"the flow of the speed line {name} falls as the pressure ratio rises")
        if odd := odd_efficiency(part[:, 3]):
            raise ValueError(f"the efficiency of the speed line {name} {odd}")
        found.append(part)
    up = rising(found)
    if up and any(gap < -APART for _, _, gap in _gaps(found)):
        pairs = ", and ".join(f"from {a * 30.0 / math.pi:.0f} to {b * 30.0 / math.pi:.0f} rpm" for a, b in up)
        raise ValueError(
            f"at one pressure ratio its flow rises {pairs}, and falls between its other speed lines: two speeds look swapped"
        )
    return found


def rising(lines: list[np.ndarray]) -> list[tuple[float, float]]:
    """Neighbouring speed lines of which the faster passes more at a pressure ratio that both reach.

    The field of a radial wheel that turns faster holds more back, so there the flow falls with speed, until the housing chokes and
    it stays; only a wheel with little change of radius may pass more.

    lines : list of float arrays (n, 4), from map_lines [-]
    Returns list of (slower, faster), of which the flows differ by more than APART [rad/s].
    """
    return [(float(a[0, 0]), float(b[0, 0])) for a, b, gap in _gaps(lines) if gap > APART]


def _gaps(lines: list[np.ndarray]) -> list[tuple[np.ndarray, np.ndarray, float]]:
    """Neighbouring lines, and by which share the faster passes more where they differ most."""
    found = []
    for a, b in itertools.pairwise(lines):
        low, high = max(a[0, 2], b[0, 2]), min(a[-1, 2], b[-1, 2])
        if low < high:
            at = np.linspace(low, high, 9)
            gaps = np.interp(at, b[:, 2], b[:, 1]) / np.interp(at, a[:, 2], a[:, 1]) - 1.0
            found.append((a, b, float(gaps[np.abs(gaps).argmax()])))
    return found


def spouting(ratio: np.ndarray | float, T_ref: float) -> np.ndarray:
    """Spouting velocity of the test air.

    ratio : float or array, expansion ratio, above 1 [-]
    T_ref : float, inlet temperature [K]
    Returns velocity [m/s].
    """
    k = (GAMMA - 1.0) / GAMMA
    return np.sqrt(2.0 * R_TEST * T_ref / k * (1.0 - np.asarray(ratio, dtype=float) ** -k))


def fit_parabola(ratio: np.ndarray, efficiency: np.ndarray) -> tuple[float, float]:
    """Peak of the parabola through the origin that fits efficiency against blade-speed ratio best.

    ratio : float array (n,), blade-speed ratios [-]
    efficiency : float array (n,), efficiencies [-]
    Returns peak efficiency [-]; blade-speed ratio of the peak [-].
    """
    a, b = np.linalg.lstsq(np.column_stack((ratio, -(ratio**2))), efficiency, rcond=None)[0]
    best = a / (2.0 * b) if b > 0.0 else math.inf
    if not 0.4 <= best <= 1.0:
        shape = 1.0 - ((ratio - USUAL_PEAK) / USUAL_PEAK) ** 2
        return float((efficiency * shape).sum() / (shape * shape).sum()), USUAL_PEAK
    return float(a * a / (4.0 * b)), float(best)


def _flow_line(line: np.ndarray, s: np.ndarray) -> np.ndarray:
    """Flow of one line on the nodes, from rest to far past its last point."""
    from scipy.interpolate import PchipInterpolator  # half a second to import, and few cases need it
    from scipy.optimize import minimize_scalar

    flow, ratio = np.maximum.accumulate(line[:, 1]), line[:, 2]
    at = np.sqrt(np.log(ratio))

    def misfit(k: float) -> float:
        shape = np.sqrt(1.0 - ratio**-k)
        return float(((flow - shape * (flow @ shape) / (shape @ shape)) ** 2).sum())

    k = float(minimize_scalar(misfit, bounds=(0.3, 12.0), method="bounded").x)
    shape = np.sqrt(1.0 - ratio**-k)
    size = (flow @ shape) / (shape @ shape)
    inside = PchipInterpolator(np.append(0.0, at), np.append(0.0, flow))(np.minimum(s, at[-1]))
    past = np.sqrt(1.0 - np.exp(-k * np.maximum(s, at[-1]) ** 2)) - shape[-1]
    return inside + size * past


@lru_cache(maxsize=64)
def from_map(
    reference_temperature: float,
    reference_pressure: float,
    points: tuple[Point, ...],
    wheel_diameter: float,
    share: float = 1.0,
) -> Turbine:
    """Turbine from a measured map.

    reference_temperature : float, to which flow and speed are corrected [K]
    reference_pressure : float, to which flow is corrected [Pa]
    points : tuple of (speed, flow, ratio, efficiency), corrected [rad/s, kg/s, -, -]
    wheel_diameter : float, wheel inlet diameter [m]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for points that make no map (see map_lines).
    """
    from scipy.interpolate import PchipInterpolator

    lines = map_lines(points)
    s = np.linspace(0.0, math.sqrt(math.log(RATIO_END)), N_RATIO)
    tip = np.array([0.5 * wheel_diameter * line[0, 0] for line in lines])
    every = np.concatenate([line[:, 3] for line in lines])
    speeds = [u / spouting(line[:, 2], reference_temperature) for u, line in zip(tip, lines, strict=True)]
    peak, best = fit_parabola(np.concatenate(speeds), every)

    def parabola(ratio: np.ndarray) -> np.ndarray:
        return peak * (1.0 - ((ratio - best) / best) ** 2)

    flow, part = np.empty((len(lines), N_RATIO)), np.empty((len(lines), N_RATIO))
    for k, line in enumerate(lines):
        flow[k] = _flow_line(line, s)
        at = np.sqrt(np.log(line[:, 2]))
        shares = line[:, 3] / np.maximum(parabola(speeds[k]), LEAST_PARABOLA * peak)
        part[k] = PchipInterpolator(at, shares)(np.clip(s, at[0], at[-1]))
    m = tip**2 / (R_TEST * reference_temperature)  # U^2/(r T0), the speed as the kernel reads it
    dm = 1.25 * m[-1] / (N_SPEED - 1)
    nodes = np.clip(dm * np.arange(N_SPEED), m[0] - dm, m[-1] + dm)  # one node beyond, so that the end lines come back
    if len(lines) > 1:
        flow, part = PchipInterpolator(m, flow)(nodes), PchipInterpolator(m, part)(nodes)
    else:
        flow, part = np.repeat(flow, N_SPEED, axis=0), np.repeat(part, N_SPEED, axis=0)
    rest = spouting(np.exp(np.maximum(s, 0.5 * s[1]) ** 2), reference_temperature)
    u = np.sqrt(dm * np.arange(N_SPEED) * R_TEST * reference_temperature)
    efficiency = np.clip(part * parabola(u[:, None] / rest), 0.0, 0.95)
    return Turbine(
        ds=float(s[1]),
        dm=float(dm),
        flow=np.ascontiguousarray(flow * math.sqrt(R_TEST * reference_temperature) / reference_pressure),
        efficiency=np.ascontiguousarray(efficiency),
        efficiency_model=TABLE,
        efficiency_peak=float(peak),
        blade_speed_ratio_peak=float(best),
        wheel_diameter=float(wheel_diameter),
        share=float(share),
    )


def leave_one_out(
    reference_temperature: float, reference_pressure: float, points: tuple[Point, ...]
) -> tuple[np.ndarray, np.ndarray]:
    """Errors of the interpolation at each point inside the map, the map built without it.

    A point counts where its line has points on both sides of it and there are slower and faster lines.

    reference_temperature : float, to which flow and speed are corrected [K]
    reference_pressure : float, to which flow is corrected [Pa]
    points : tuple of (speed, flow, ratio, efficiency), corrected [rad/s, kg/s, -, -]
    Returns relative errors of flow [-]; errors of efficiency [-].
    """
    flow, efficiency = [], []
    for line in map_lines(points)[1:-1]:
        speed, low, high = float(line[0, 0]), float(line[0, 2]), float(line[-1, 2])
        for point in points:
            if abs(point[0] / speed - 1.0) > SAME_SPEED or not low < point[2] < high:
                continue
            others = tuple(p for p in points if p is not point)
            # a wheel of 1 m radius: its tip speed is the shaft's
            machine = from_map(reference_temperature, reference_pressure, others, 2.0)
            state = (point[2] * reference_pressure, reference_temperature, R_TEST)
            passed = float(turbine_flow(machine, *state, reference_pressure, speed)[0]) / point[2]
            flow.append(passed / point[1] - 1.0)
            found = turbine_efficiency(machine, *state, GAMMA, reference_pressure, speed)
            efficiency.append(float(found) - point[3])
    return np.array(flow), np.array(efficiency)
