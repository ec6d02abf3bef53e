"""What the independent march is given, and the metal: piston motion, walls, valves as nozzles.

Crank angle in degrees, 0 at firing top dead centre; SI elsewhere; energies absolute.
"""

import math
from dataclasses import dataclass, field, replace

from bench_gas import FUEL, H2O, T_REF, FrozenGas

MOST = 1.0 - 1e-7  # share burned at which the burn is broken off, so that both zones always have mass


@dataclass(frozen=True)
class Steps:
    """Longest step of each part of the cycle [deg]."""

    exchange: float = 0.5
    compression: float = 1.0
    burn: float = 0.5
    expansion: float = 1.0

    def scaled(self, factor):
        return Steps(*(factor * s for s in (self.exchange, self.compression, self.burn, self.expansion)))


@dataclass(frozen=True)
class Bench:
    """All that the march is given. A valve is (opens [deg], closes [deg], angles [deg], effective areas [m2])."""

    bore: float
    stroke: float
    rod: float
    compression_ratio: float
    speed_rpm: float
    intake: tuple
    exhaust: tuple
    intake_pressure: float
    intake_temperature: float
    exhaust_pressure: float
    lambda_ratio: float
    humidity: float
    fuel: dict  # Cantera species -> mass fraction
    heat_of_vaporisation: float
    liquid_cp: float
    fuel_temperature: float
    evaporation_share: float
    ca50: float
    duration: float
    completeness: float
    walls: tuple  # temperature of head, piston, liner [K]
    model: str = "hohenberg"
    scale: float = 1.0
    wiebe: tuple = (5.0, 2.0)
    steps: Steps = field(default_factory=Steps)

    def finer(self, factor):
        """The same with steps `factor` times shorter."""
        return replace(self, steps=self.steps.scaled(1.0 / factor))


class Fresh:
    """The charge that the intake plenum feeds: moist air and fuel vapour, the fuel brought in as liquid."""

    def __init__(self, bench, gas):
        masses = gas.dry_air * gas.afr_stoich * bench.lambda_ratio
        masses[H2O] += bench.humidity * masses.sum()
        h_air = masses @ gas.enthalpies(bench.intake_temperature)[0]
        h_vapour = gas.enthalpies(T_REF)[0][FUEL]
        h_liquid = h_vapour - bench.heat_of_vaporisation + bench.liquid_cp * (bench.fuel_temperature - T_REF)
        from_walls = (1.0 - bench.evaporation_share) * bench.heat_of_vaporisation
        total = masses.sum() + 1.0
        masses[FUEL] = 1.0
        self.y = masses / total
        self.h = (h_air + h_liquid + from_walls) / total
        self.T = gas.temperature(self.y, enthalpy=self.h, guess=300.0)
        self.r = self.y @ gas.r


class Engine:
    """One cylinder: geometry, wall heat, burn curve, working gas."""

    def __init__(self, bench):
        self.bench = bench
        self.gas = FrozenGas(bench.fuel)
        self.fresh = Fresh(bench, self.gas)
        self.area = math.pi / 4 * bench.bore**2
        self.swept = self.area * bench.stroke
        self.clearance = self.swept / (bench.compression_ratio - 1.0)
        self.piston_speed = bench.stroke * bench.speed_rpm / 30.0
        self.s_per_deg = 1.0 / (6.0 * bench.speed_rpm)
        self.a, self.m = bench.wiebe
        y10, y50, y90 = ((-math.log(1.0 - x) / self.a) ** (1.0 / (self.m + 1.0)) for x in (0.1, 0.5, 0.9))
        self.span = bench.duration / (y90 - y10)
        self.burn_start = bench.ca50 - y50 * self.span

    def volume(self, angle):
        """Volume [m3] and its rate [m3/deg]."""
        a, r, l = math.radians(angle), self.bench.stroke / 2, self.bench.rod
        root = math.sqrt(l * l - (r * math.sin(a)) ** 2)
        pin = r * math.cos(a) + root  # from crank centre to piston pin
        rate = r * math.sin(a) + r * r * math.sin(a) * math.cos(a) / root
        return self.clearance + self.area * (r + l - pin), self.area * math.radians(1.0) * rate

    def wall_areas(self, volume):
        """Area of head, piston and uncovered liner [m2]."""
        return 1.2 * self.area, self.area, 4.0 * (volume - self.clearance) / self.bench.bore

    def wall_heat(self, h, volume, T):
        """Heat to the whole wall from gas at T [J/deg]."""
        pairs = zip(self.wall_areas(volume), self.bench.walls, strict=True)
        return h * sum(area * (T - wall) for area, wall in pairs) * self.s_per_deg

    def coefficient(self, volume, p, T, *, closed, reference=None):
        """Heat transfer coefficient [W/(m2 K)]; `reference` = (p, T, V) at inlet closing once something burns."""
        if self.bench.model == "hohenberg":
            h = 130.0 * volume**-0.06 * (p * 1e-5) ** 0.8 * T**-0.4 * (self.piston_speed + 1.4) ** 0.8
        elif self.bench.model == "woschni":
            w = (2.28 if closed else 6.18) * self.piston_speed
            if reference is not None:
                p_ref, T_ref, V_ref = reference
                motored = p_ref * (V_ref / volume) ** 1.33
                w += 3.24e-3 * self.swept * T_ref / (p_ref * V_ref) * max(p - motored, 0.0)
            h = 3.26 * self.bench.bore**-0.2 * (p * 1e-3) ** 0.8 * T**-0.55 * w**0.8
        else:
            raise ValueError(f"no wall heat model {self.bench.model}")
        return self.bench.scale * h

    def burned_share(self, angle):
        """Share of the charge burned, and its rate [1/deg]."""
        y = (angle - self.burn_start) / self.span
        if y <= 0.0:
            return 0.0, 0.0
        left = math.exp(-self.a * y ** (self.m + 1.0))
        rate = self.a * (self.m + 1.0) * y**self.m * left / self.span
        if self.bench.completeness * (1.0 - left) > MOST:
            return MOST, 0.0
        return self.bench.completeness * (1.0 - left), self.bench.completeness * rate


def nozzle(area, p_up, T_up, r_up, gamma, p_down):
    """Mass flow of an isentropic nozzle [kg/s], choked below the critical pressure ratio; none where p_down is higher."""
    x = max(min(p_down / p_up, 1.0), (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
    drop = max(x ** (2.0 / gamma) - x ** ((gamma + 1.0) / gamma), 0.0)
    return area * p_up * math.sqrt(2.0 * gamma / (gamma - 1.0) * drop / (r_up * T_up))


def rk4(rate, angle, y, step):
    """One step of the classical Runge-Kutta method."""
    k1 = rate(angle, y)
    k2 = rate(angle + step / 2, y + step / 2 * k1)
    k3 = rate(angle + step / 2, y + step / 2 * k2)
    k4 = rate(angle + step, y + step * k3)
    return y + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
