"""One cylinder between fixed plenums as an ordinary user would write it: a Cantera reactor network.

A reactor behind a moving piston, reservoirs for plenums and wall, mass flow controllers for valves (one for each
direction), wall heat as a flux, and the burn imposed as a first-order reaction whose rate is the hazard of Wiebe's curve,
so that exactly Wiebe's share is burnt at every angle. One zone, complete products, no memory of what was pushed back into
the port: simpler than `hotside`, which is timed against it. With `kinetics` the gas is methane in air with the 53 species
and 325 reactions of GRI-Mech 3.0 (distributed with Cantera) beside the imposed reaction.

Run as a script it prints wall time, exhaust temperature and net mean effective pressure.
"""

import math
import time
import warnings
from collections.abc import Callable
from typing import Any

import cantera as ct
import numpy as np
from hotside.models import valves
from hotside.sim import load
from scipy.integrate import trapezoid

# The bench case of both: `hotside.sim.load(CASE)` reads it.
CASE: dict[str, Any] = {
    "title": "bench for timing (invented)",
    "engine": {
        "cylinders": 1,
        "bore": "86 mm",
        "stroke": "86 mm",
        "rod_length": "142 mm",
        "compression_ratio": 9.5,
        "head_temperature": "500 K",
        "piston_temperature": "520 K",
        "liner_temperature": "430 K",
        "intake_valve": {
            "count": 2,
            "diameter": "33 mm",
            "lift": "9 mm",
            "opens": "10 deg BTDC",
            "closes": "50 deg ABDC",
        },
        "exhaust_valve": {
            "count": 2,
            "diameter": "28 mm",
            "lift": "9 mm",
            "opens": "48 deg BBDC",
            "closes": "10 deg ATDC",
        },
    },
    "fuel": {"name": "isooctane"},
    "burn": {"model": "imposed", "ca50": "10 deg ATDC", "duration_10_90": "24 deg"},
    "wall_heat": {"model": "hohenberg", "scale": 1.0},
    "run": {
        "speed": "3000 rpm",
        "lambda": 0.95,
        "intake_pressure": "100 kPa",
        "intake_temperature": "310 K",
        "exhaust_pressure": "110 kPa",
    },
}
_CASE = load(CASE)
BORE, STROKE, ROD, COMPRESSION = (
    getattr(_CASE.engine, n) for n in ("bore", "stroke", "rod_length", "compression_ratio")
)
RPM, LAMBDA = _CASE.run.speed_rpm, _CASE.run.lambda_ratio
P_INTAKE, T_INTAKE, P_EXHAUST = _CASE.run.intake_pressure, _CASE.run.intake_temperature, _CASE.run.exhaust_pressure
CA50, DURATION, WIEBE_A, WIEBE_M = _CASE.burn.ca50, _CASE.burn.duration_10_90, 5.0, _CASE.burn.wiebe_m
COMPLETENESS = _CASE.burn.completeness
WALLS = tuple(getattr(_CASE.engine, f"{part}_temperature") for part in ("head", "piston", "liner"))
AREA = math.pi / 4 * BORE**2
SWEPT = AREA * STROKE
CLEARANCE = SWEPT / (COMPRESSION - 1.0)
IVC = _CASE.engine.intake_valve.closes
OUTPUT = 1.0  # [deg] between the points at which work and exhaust flow are summed


def run(cycles: int = 8, kinetics: bool = False) -> dict[str, float]:
    """March the network; returns wall time of the march [s], exhaust temperature [K], net and gross mean pressure [Pa]."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return _march(_Network(kinetics), cycles)


class _Network:
    """The reactor network. It starts at inlet closing with fresh charge; time 0 is there."""

    def __init__(self, kinetics: bool) -> None:
        fresh = _gas(kinetics)
        self.now = IVC
        self.gas = _gas(kinetics, rate=lambda _T: _hazard(self.now))
        self.gas.TPX = 360.0, P_INTAKE, fresh.X
        self.cylinder = ct.IdealGasReactor(self.gas)
        self.cylinder.volume = _volume(IVC)[0]
        intake = ct.Reservoir(fresh)
        behind = _gas(kinetics)
        behind.TP = 1200.0, P_EXHAUST
        behind.equilibrate("TP")
        exhaust = ct.Reservoir(behind)
        self.intake_valve, self.exhaust_valve = _valve(_CASE.engine.intake_valve), _valve(_CASE.engine.exhaust_valve)
        self.fresh_state, self.behind_state = (_state(g) for g in (fresh, behind))
        into, back = ct.MassFlowController(intake, self.cylinder), ct.MassFlowController(self.cylinder, intake)
        self.out, self.returned = (
            ct.MassFlowController(self.cylinder, exhaust),
            ct.MassFlowController(exhaust, self.cylinder),
        )
        into.mass_flow_rate = lambda t: self.flow(t, self.intake_valve, self.fresh_state, P_INTAKE, inward=True)
        back.mass_flow_rate = lambda t: self.flow(t, self.intake_valve, None, P_INTAKE, inward=False)
        self.out.mass_flow_rate = lambda t: self.flow(t, self.exhaust_valve, None, P_EXHAUST, inward=False)
        self.returned.mass_flow_rate = lambda t: self.flow(
            t, self.exhaust_valve, self.behind_state, P_EXHAUST, inward=True
        )
        self.h_behind = behind.enthalpy_mass
        surroundings = ct.Reservoir(ct.Solution("air.yaml"))
        self.piston = ct.Wall(self.cylinder, surroundings, A=AREA)
        self.piston.velocity = self.piston_velocity
        self.walls = ct.Wall(self.cylinder, surroundings, A=1.0)
        self.walls.heat_flux = self.wall_heat
        self.net = ct.ReactorNet([self.cylinder])
        self.net.rtol, self.net.atol = 1e-6, 1e-12
        self.net.max_time_step = 2.0 / (6.0 * RPM)  # two degrees: no valve event is stepped over

    def angle(self, t: float) -> float:
        return IVC + 6.0 * RPM * t

    def piston_velocity(self, t: float) -> float:
        """Speed with which the volume grows over the bore area [m/s]; called first, so it sets the clock of the burn."""
        self.now = self.angle(t)
        return _volume(self.now)[1] * 6.0 * RPM / AREA

    def flow(self, t: float, valve: Any, upstream: tuple[float, ...] | None, p_plenum: float, *, inward: bool) -> float:
        """Mass flow of an isentropic nozzle in the asked direction [kg/s]."""
        area = float(valves.effective_area(valve, self.angle(t) % 720.0))
        if area <= 0.0:
            return 0.0
        p = self.gas.P
        if inward == (p >= p_plenum):
            return 0.0
        T, r, gamma = upstream or _state(self.gas)
        high, low = (p_plenum, p) if inward else (p, p_plenum)
        x = max(low / high, (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
        drop = x ** (2.0 / gamma) - x ** ((gamma + 1.0) / gamma)
        return area * high * math.sqrt(2.0 * gamma / (gamma - 1.0) * max(drop, 0.0) / (r * T))

    def wall_heat(self, t: float) -> float:
        """Heat to the walls after Hohenberg (SAE 790825, 1979) [W]."""
        V = _volume(self.angle(t))[0]
        T, p = self.gas.T, self.gas.P
        h = 130.0 * V**-0.06 * (p * 1e-5) ** 0.8 * T**-0.4 * (STROKE * RPM / 30.0 + 1.4) ** 0.8
        areas = (1.2 * AREA, AREA, 4.0 * (V - CLEARANCE) / BORE)
        return _CASE.wall_heat.scale * h * sum(a * (T - wall) for a, wall in zip(areas, WALLS, strict=True))


def _march(network: _Network, cycles: int) -> dict[str, float]:
    """Advance degree by degree; work and exhaust flow summed over the last cycle by the trapezoidal rule."""
    started = time.perf_counter()
    net, gas = network.net, network.gas
    end = IVC + 720.0 * cycles
    angles = np.linspace(IVC, end, round(720.0 * cycles / OUTPUT) + 1)
    rows = []
    for angle in angles[1:]:
        net.advance((angle - IVC) / (6.0 * RPM))
        if angle >= end - 720.0 - 1e-9:
            out, back = network.out.mass_flow_rate, network.returned.mass_flow_rate
            energy = out * gas.enthalpy_mass - back * network.h_behind
            rows.append((angle, network.cylinder.volume, gas.P, out - back, energy, *((out - back) * gas.Y)))
    wall_time = time.perf_counter() - started
    angle, V, p, mdot, energy, *species = np.array(rows).T
    pumping = (angle % 720.0 >= 180.0) & (angle % 720.0 <= 540.0)
    net_work = trapezoid(p, V)
    gas.HPY = trapezoid(energy) / trapezoid(mdot), P_EXHAUST, np.maximum(trapezoid(np.array(species)), 0.0)
    parts = np.split(np.arange(len(angle)), np.flatnonzero(np.diff(pumping.astype(int))) + 1)
    pump_work = sum(trapezoid(p[k], V[k]) for k in parts if pumping[k[0]])
    return {
        "wall_time_s": wall_time,
        "exhaust_temperature_k": gas.T,
        "imep_net_pa": net_work / SWEPT,
        "imep_gross_pa": (net_work - pump_work) / SWEPT,
        "steps": float(net.solver_stats["steps"]),
    }


def _gas(kinetics: bool, rate: Callable[[float], float] | None = None) -> ct.Solution:
    """Fresh charge at intake temperature; with `rate` [1/s], first order in fuel, the imposed reaction."""
    base = ct.Solution("gri30.yaml") if kinetics else None
    fuel = "CH4" if kinetics else "C8H18,isooctane"
    if base is None:
        known = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
        species = [known[n] for n in (fuel, "O2", "N2", "Ar", "CO2", "H2O", "CO", "H2")]
        reactions = []
    else:
        species, reactions = base.species(), base.reactions()
    if rate is not None:
        reactions = [*reactions, _imposed(fuel, rate)]
    gas = ct.Solution(thermo="ideal-gas", kinetics="gas", species=species, reactions=reactions)
    gas.set_equivalence_ratio(1.0 / LAMBDA, fuel, {"O2": 0.2095, "N2": 0.7812, "AR" if kinetics else "Ar": 0.0093})
    gas.TP = T_INTAKE, P_INTAKE
    return gas


def _imposed(fuel: str, rate: Callable[[float], float]) -> ct.Reaction:
    """Fuel to CO2 and H2O, and to CO and H2 (3 to 1) as far as oxygen is short."""
    carbon, hydrogen = (1, 4) if fuel == "CH4" else (8, 18)
    oxygen = LAMBDA * (2 * carbon + hydrogen / 2)
    lack = 2 * carbon + hydrogen / 2 - oxygen
    products = {"CO2": carbon - 0.75 * lack, "CO": 0.75 * lack, "H2O": hydrogen / 2 - 0.25 * lack, "H2": 0.25 * lack}
    reaction = ct.Reaction({fuel: 1.0, "O2": oxygen / 2}, products, ct.CustomRate(rate))
    reaction.reversible = False
    reaction.orders = {fuel: 1.0, "O2": 0.0}
    return reaction


def _hazard(angle: float) -> float:
    """Rate of Wiebe's curve over what it leaves [1/s], up to the share that burns at all."""
    y10, y50, y90 = ((-math.log(1.0 - x) / WIEBE_A) ** (1.0 / (WIEBE_M + 1.0)) for x in (0.1, 0.5, 0.9))
    span = DURATION / (y90 - y10)
    y = ((angle + 180.0) % 720.0 - 180.0 - CA50) / span + y50
    if y <= 0.0 or y >= (-math.log(1.0 - COMPLETENESS) / WIEBE_A) ** (1.0 / (WIEBE_M + 1.0)):
        return 0.0
    return WIEBE_A * (WIEBE_M + 1.0) * y**WIEBE_M / span * 6.0 * RPM


def _valve(section: Any) -> valves.Valve:
    """Effective area of the valves of a case."""
    return valves.valve(section.count, section.diameter, section.lift, section.opens, section.closes, section.at_lift)


def _state(gas: ct.Solution) -> tuple[float, float, float]:
    """Temperature [K], gas constant [J/(kg K)] and ratio of specific heats [-]."""
    return gas.T, ct.gas_constant / gas.mean_molecular_weight, gas.cp / gas.cv


def _volume(angle: float) -> tuple[float, float]:
    """Volume of the cylinder [m3] and its rate [m3/deg]."""
    a, crank = math.radians(angle), STROKE / 2
    root = math.sqrt(ROD**2 - (crank * math.sin(a)) ** 2)
    rate = crank * math.sin(a) * (1.0 + crank * math.cos(a) / root)
    return CLEARANCE + AREA * (crank * (1.0 - math.cos(a)) + ROD - root), AREA * rate * math.radians(1.0)


if __name__ == "__main__":
    for kinetics in (False, True):
        found = run(kinetics=kinetics)
        print(
            f"{'methane, GRI-Mech 3.0' if kinetics else 'iso-octane, imposed burn'}: {found['wall_time_s']:.2f} s, "
            f"exhaust {found['exhaust_temperature_k']:.0f} K, imep {found['imep_net_pa'] / 1e5:.2f} bar net, "
            f"{found['imep_gross_pa'] / 1e5:.2f} bar gross, {found['steps']:.0f} steps"
        )
