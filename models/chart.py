"""A measured compressor map: built from its points, read inside, carried on outside by named rules.

The map is read along throttle lines: x = corrected flow over the root of the isentropic head. Each speed line crosses each of
them once, whether it is flat near surge or upright at choke, and along one of them flow and speed go nearly in proportion. On
a speed line a place is the logarithm of x, 0 at its first point and 1 at its last, so that surge is matched with surge and
choke with choke from one line to the next.

Outside, by name: short of a line's first point the head stays and the efficiency falls by half towards no flow (SURGE);
past its last point the flow and the work stay, so that efficiency falls with the head (CHOKE); below the first and above the
last speed line flow goes with speed and head with its square (SIMILARITY).
"""

import itertools
import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from .compiled import compiled
from .speed_line import SAME_EFFICIENCY, SAME_SPEED, odd_efficiency

GAMMA_AIR = 1.4  # of the air on which maps are measured [-]
NODES = 64  # of places along a line, beside those of the measured points
BETWEEN = 4  # parts into which the gap of two speed lines is divided
Point = tuple[float, float, float, float]  # speed [rad/s], flow [kg/s], pressure ratio, efficiency


class Chart(NamedTuple):
    """Numbers that go with the packed array of a map.

    lines : int, speed lines in the array, those between the measured ones included [-]
    nodes : int, places along a line [-]
    reference_temperature : float, to which flow and speed are corrected [K]
    reference_pressure : float, to which flow is corrected [Pa]
    """

    lines: int
    nodes: int
    reference_temperature: float
    reference_pressure: float


def speed_lines(points: tuple[Point, ...]) -> list[np.ndarray]:
    """Points sorted into speed lines, each by its throttle; equal speeds joined, a point given twice kept once.

    points : tuple of (speed, flow, ratio, efficiency), corrected [rad/s, kg/s, -, -]
    Returns list of float arrays (n, 4), columns speed, log of throttle, root of head, efficiency [-].
    Raises ValueError naming the line that has fewer than two points, a point twice with other efficiencies, or an efficiency that
    dips or leaps.
    """
    rows = np.array(sorted(points))
    rows[:, 2] = np.sqrt(rows[:, 2] ** ((GAMMA_AIR - 1.0) / GAMMA_AIR) - 1.0)
    rows[:, 1] = np.log(rows[:, 1] / rows[:, 2])
    cuts = np.flatnonzero(np.diff(rows[:, 0]) > SAME_SPEED * rows[1:, 0]) + 1
    found = []
    for part in np.split(rows, cuts):
        part[:, 0] = part[:, 0].mean()
        part = part[np.argsort(part[:, 1], kind="stable")]
        again = np.append(False, np.diff(part[:, 1]) <= 1e-6)
        for k in np.flatnonzero(again):
            if abs(part[k, 3] - part[k - 1, 3]) > SAME_EFFICIENCY:
                raise ValueError(f"the speed line {_rpm(part[0, 0])} has one point twice, with other efficiencies")
        part = part[~again]
        if odd := odd_efficiency(part[:, 3]):
            raise ValueError(f"the efficiency of the speed line {_rpm(part[0, 0])} {odd}")
        if len(part) < 2:
            raise ValueError(f"the speed line {_rpm(part[0, 0])} has a single point")
        found.append(part)
    return found


def _rpm(speed: float) -> str:
    return f"{speed * 30.0 / math.pi:.0f} rpm"


def _across(speeds: np.ndarray, dense: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Values of the measured lines at more speeds, by a shape-preserving cubic."""
    if len(speeds) == 1:
        return values
    from scipy.interpolate import PchipInterpolator  # half a second to import, and few cases need it

    return PchipInterpolator(speeds, values, axis=0)(dense)


def _dense(speeds: np.ndarray) -> np.ndarray:
    """The measured speeds and BETWEEN - 1 more in each gap."""
    parts = [np.linspace(a, b, BETWEEN, endpoint=False) for a, b in itertools.pairwise(speeds)]
    return np.append(np.concatenate(parts) if parts else [], speeds[-1])


def _edge(root: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Root of head and flow of the lines' end points, rising; one below an earlier one repeats the last, farther out."""
    found = np.column_stack((root, root * np.exp(x)))
    for k in range(1, len(found)):
        if found[k, 0] <= found[k - 1, 0]:
            found[k] = found[k - 1] * (1.0 + 1e-9)  # on the same ray, which changes nothing
    return found.T


def _crossing(packed: np.ndarray, chart: "Chart") -> tuple[float, float] | None:
    """Speeds of two neighbouring lines of which the faster passes less at some throttle."""
    n = chart.lines
    ends = packed[2 * n + 2 : 2 * n + 4, :n]
    for x in np.linspace(ends[0].min() - 0.5, ends[1].max() + 0.5, 120):
        flows = np.array([on_line(packed, n, chart.nodes, k, x)[0] for k in range(0, n, BETWEEN)])
        bad = np.flatnonzero(np.diff(flows) <= 0.0)
        if bad.size:
            return float(packed[2 * n + 1, BETWEEN * bad[0]]), float(packed[2 * n + 1, BETWEEN * (bad[0] + 1)])
    return None


@lru_cache(maxsize=64)
def from_points(
    points: tuple[Point, ...], reference_temperature: float, reference_pressure: float
) -> tuple[Chart, np.ndarray]:
    """Chart and packed array of a measured map.

    Shape-preserving cubics (F. N. Fritsch & R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246) along each speed line, then
    across the lines at each place; the places of all measured points are nodes, so that these come back exactly. The array
    holds, a row each: root of head of every line on the nodes; efficiency of every line; the nodes; then, a column for each
    line: speed; log of throttle at its first point, at its last; root of head and flow at its first point, at its last.

    points : tuple of (speed, flow, ratio, efficiency), corrected [rad/s, kg/s, -, -]
    reference_temperature : float, to which flow and speed are corrected [K]
    reference_pressure : float, to which flow is corrected [Pa]
    Returns Chart [-]; float64 array (2 lines + 8, nodes) [-]. Raises ValueError naming lines that cross or lack points.
    """
    from scipy.interpolate import PchipInterpolator

    measured = speed_lines(points)
    speeds = np.array([line[0, 0] for line in measured])
    dense = _dense(speeds)
    places = [(line[:, 1] - line[0, 1]) / (line[-1, 1] - line[0, 1]) for line in measured]
    nodes = np.unique(np.round(np.concatenate([np.linspace(0.0, 1.0, NODES), *places]), 12))
    both = [PchipInterpolator(at, line[:, 2:])(nodes) for at, line in zip(places, measured, strict=True)]
    root = (
        _across(speeds, dense, np.array([one[:, 0] / n for one, n in zip(both, speeds, strict=True)])) * dense[:, None]
    )
    ends = _across(speeds, dense, np.array([line[[0, -1], 1] for line in measured])).T
    n = len(dense)
    packed = np.zeros((2 * n + 8, max(len(nodes), n)))
    packed[:n, : len(nodes)] = root
    packed[n : 2 * n, : len(nodes)] = _across(speeds, dense, np.array([one[:, 1] for one in both]))
    packed[2 * n, : len(nodes)] = nodes
    packed[2 * n + 1, :n] = dense
    packed[2 * n + 2 : 2 * n + 4, :n] = ends
    packed[2 * n + 4 : 2 * n + 6, :n] = _edge(root[:, 0], ends[0])
    packed[2 * n + 6 :, :n] = _edge(root[:, -1], ends[1])
    chart = Chart(n, len(nodes), float(reference_temperature), float(reference_pressure))
    if crossing := _crossing(packed, chart):
        a, b = (_rpm(speed) for speed in crossing)
        raise ValueError(f"the speed lines {a} and {b} cross: the faster one must pass more at every throttle")
    return chart, packed


@compiled
def on_line(packed, lines, nodes, k, x):
    """Flow and efficiency of one speed line on a throttle line, carried on past both of its ends.

    packed : float64 array (2 lines + 8, nodes), from from_points [-]
    lines : int, speed lines in the array [-]
    nodes : int, places along a line [-]
    k : int, which of them [-]
    x : float, log of the throttle, corrected flow over root of head [log(kg/s)]
    Returns corrected flow [kg/s]; efficiency [-].
    """
    first, last = packed[2 * lines + 2, k], packed[2 * lines + 3, k]
    place = (min(max(x, first), last) - first) / (last - first)
    row, j, high = 2 * lines, 0, nodes - 1
    while high - j > 1:
        middle = (j + high) // 2
        if packed[row, middle] <= place:
            j = middle
        else:
            high = middle
    b = (place - packed[row, j]) / (packed[row, high] - packed[row, j])
    root = packed[k, j] + b * (packed[k, high] - packed[k, j])
    efficiency = packed[lines + k, j] + b * (packed[lines + k, high] - packed[lines + k, j])
    if x < first:
        efficiency *= 0.5 + 0.5 * math.exp(x - first)
    if x > last:
        efficiency *= math.exp(2.0 * (last - x))
    return root * math.exp(min(x, last)), efficiency


@compiled
def corrected(chart, mass_flow, T1, p1):
    """Flow corrected to the map's reference, mdot sqrt(T1/T_ref) / (p1/p_ref).

    chart : Chart, the map's numbers [-]
    mass_flow : float, mass flow [kg/s]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    Returns corrected flow [kg/s].
    """
    return mass_flow * math.sqrt(T1 / chart.reference_temperature) * chart.reference_pressure / p1


@compiled
def chart_state(chart, packed, mass_flow, pressure_ratio, T1, p1, r, gamma):
    """Work and shaft speed at a flow and pressure ratio, from a map.

    chart : Chart, the map's numbers [-]
    packed : float64 array (2 lines + 8, nodes), from from_points [-]
    mass_flow : float, mass flow [kg/s]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns rise of stagnation enthalpy [J/kg]; shaft speed [rad/s].
    """
    flow = max(corrected(chart, mass_flow, T1, p1), 1e-9)
    root = math.sqrt(max(max(pressure_ratio, 1.0) ** ((gamma - 1.0) / gamma) - 1.0, 1e-12))
    x, n = math.log(flow / root), chart.lines
    low, high = 0, n - 1
    while high - low > 1:  # the two speed lines around the point, on its throttle line
        middle = (low + high) // 2
        if on_line(packed, n, chart.nodes, middle, x)[0] <= flow:
            low = middle
        else:
            high = middle
    flow0, e0 = on_line(packed, n, chart.nodes, low, x)
    flow1, e1 = on_line(packed, n, chart.nodes, high, x)
    share = min(max((flow - flow0) / (flow1 - flow0), 0.0), 1.0) if high > low else 0.0
    turn0, turn1 = packed[2 * n + 1, low] / flow0, packed[2 * n + 1, high] / flow1
    speed = flow * (turn0 + share * (turn1 - turn0)) * math.sqrt(T1 / chart.reference_temperature)
    return r * gamma / (gamma - 1.0) * T1 * root * root / (e0 + share * (e1 - e0)), speed


@compiled
def chart_limits(chart, packed, pressure_ratio, T1, p1, gamma):
    """Flow of the map's first and last points at a pressure ratio: where it surges, and where it ends towards choke.

    chart : Chart, the map's numbers [-]
    packed : float64 array (2 lines + 8, nodes), from from_points [-]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    gamma : float, ratio of specific heats [-]
    Returns surge flow [kg/s]; choke flow [kg/s].
    """
    root = math.sqrt(max(pressure_ratio ** ((gamma - 1.0) / gamma) - 1.0, 1e-12))
    back = p1 / (chart.reference_pressure * math.sqrt(T1 / chart.reference_temperature))
    row, n = 2 * chart.lines + 4, chart.lines
    return back * edge_flow(packed, row, n, root), back * edge_flow(packed, row + 2, n, root)


@compiled
def edge_flow(packed, row, count, root):
    """Corrected flow on an edge of the map, linear between the lines, in proportion beyond them.

    packed : float64 array (2 lines + 8, nodes), from from_points [-]
    row : int, row of the edge's roots of head; its flows follow [-]
    count : int, speed lines [-]
    root : float, root of head [-]
    Returns corrected flow [kg/s].
    """
    if root <= packed[row, 0]:
        return packed[row + 1, 0] * root / packed[row, 0]
    for k in range(1, count):
        if root <= packed[row, k]:
            share = (root - packed[row, k - 1]) / (packed[row, k] - packed[row, k - 1])
            return packed[row + 1, k - 1] + share * (packed[row + 1, k] - packed[row + 1, k - 1])
    return packed[row + 1, count - 1] * root / packed[row, count - 1]


def leave_one_out(
    points: tuple[Point, ...], reference_temperature: float, reference_pressure: float
) -> tuple[np.ndarray, np.ndarray]:
    """Errors of the interpolation at each point inside the map, the map built without it.

    A point counts where its line has points on both sides of it and there are slower and faster lines.

    points : tuple of (speed, flow, ratio, efficiency), corrected [rad/s, kg/s, -, -]
    reference_temperature : float, to which flow and speed are corrected [K]
    reference_pressure : float, to which flow is corrected [Pa]
    Returns relative errors of speed [-]; errors of efficiency [-].
    """
    lines = speed_lines(points)
    inner = {round(float(line[0, 0]), 6) for line in lines[1:-1]}
    ends = {(round(float(p[0]), 9), round(float(p[1]), 9)) for line in lines for p in (line[0], line[-1])}
    speed, efficiency = [], []
    for point in points:
        line = next(one for one in lines if abs(one[0, 0] / point[0] - 1.0) <= SAME_SPEED)
        x = math.log(point[1] / math.sqrt(point[2] ** ((GAMMA_AIR - 1.0) / GAMMA_AIR) - 1.0))
        if round(float(line[0, 0]), 6) not in inner or (round(float(line[0, 0]), 9), round(x, 9)) in ends:
            continue
        chart, packed = from_points(
            tuple(p for p in points if p is not point), reference_temperature, reference_pressure
        )
        at = (reference_temperature, reference_pressure, 287.05, GAMMA_AIR)
        work, found = chart_state(chart, packed, float(point[1]), float(point[2]), *at)
        ideal = 287.05 * 3.5 * at[0] * (point[2] ** (0.4 / 1.4) - 1.0)
        speed.append(found / line[0, 0] - 1.0)
        efficiency.append(ideal / work - point[3])
    return np.array(speed), np.array(efficiency)
