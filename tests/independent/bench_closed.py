"""The closed part of the independent march: frozen compression, then two zones with one pressure."""

import math
from itertools import pairwise

import numpy as np
from bench_engine import rk4
from bench_gas import BurnedGas

FIRST = 1e-6  # share burned at which the second zone appears


class Closed:
    """The closed cylinder with the charge trapped at `start`; angles run on through 720 as -x + 720."""

    def __init__(self, engine, masses, T, start):
        self.engine, self.bench, self.gas = engine, engine.bench, engine.gas
        self.masses, self.m = masses, masses.sum()
        self.y = masses / self.m
        self.r = self.y @ self.gas.r
        self.burned = BurnedGas(self.gas, masses)
        volume = engine.volume(start)[0]
        self.reference = self.m * self.r * T / volume, T, volume

    def unburned(self, T):
        """Enthalpy [J/kg] and heat capacity [J/(kg K)] of the charge."""
        h, cp = self.gas.enthalpies(T)
        return self.y @ h, self.y @ cp

    # One zone: [T, work, heat].

    def rate_one(self, angle, y):
        T = y[0]
        volume, dV = self.engine.volume(angle)
        p = self.m * self.r * T / volume
        heat = self.engine.wall_heat(self.engine.coefficient(volume, p, T, closed=True), volume, T)
        _, cp = self.unburned(T)
        return np.array([-(heat + p * dV) / (self.m * (cp - self.r)), p * dV, heat])

    # Two zones: [p, T unburned, T burned, work, heat].

    def rate_two(self, angle, y):
        """From the energy of each zone, the ideal-gas law of each, and the sum of the volumes."""
        p, Tu, Tb = y[:3]
        volume, dV = self.engine.volume(angle)
        x, dx = self.engine.burned_share(angle)
        mu, mb, dm = self.m * (1.0 - x), self.m * x, self.m * dx
        Qu, Qb = self.zone_heat(volume, p, Tu, Tb, x)
        hu, cpu = self.unburned(Tu)
        u, u_T, u_p, r, r_T, r_p = self.burned.with_slopes(Tb, p)
        Vu, Vb = mu * self.r * Tu / p, mb * r * Tb / p
        # dVu = a0 + a1 dp;  dVb = b0 + b1 dTb + b2 dp;  dVu + dVb = dV
        a0, a1 = -Vu * (dm / mu + Qu / (mu * cpu * Tu)), Vu * (Vu / (mu * cpu * Tu) - 1.0 / p)
        b0, b1, b2 = Vb * dm / mb, Vb * (r_T / r + 1.0 / Tb), Vb * (r_p / r - 1.0 / p)
        # mb du = dm (hu - u) - Qb - p dVb
        matrix = [[mb * u_T + p * b1, mb * u_p + p * b2], [b1, a1 + b2]]
        dTb, dp = np.linalg.solve(matrix, [dm * (hu - u) - Qb - p * b0, dV - a0 - b0])
        return np.array([dp, (Vu * dp - Qu) / (mu * cpu), dTb, p * dV, Qu + Qb])

    def zone_heat(self, volume, p, Tu, Tb, x):
        """Heat of unburned and burned zone [J/deg]: one coefficient, the wall shared as the root of the burned mass."""
        mean = (1.0 - x) * Tu + x * Tb
        h = self.engine.coefficient(volume, p, mean, closed=True, reference=self.reference)
        touched = math.sqrt(x)
        return (1.0 - touched) * self.engine.wall_heat(h, volume, Tu), touched * self.engine.wall_heat(h, volume, Tb)

    def ignite(self, angle, y):
        """The two-zone state at the first share burned: burned gas at its flame temperature, volumes filling the cylinder."""
        T = y[0]
        volume = self.engine.volume(angle)[0]
        x = self.engine.burned_share(angle)[0]
        p = self.m * self.r * T / volume
        Tb = self.burned.flame_temperature(self.unburned(T)[0], p)
        p = self.m * ((1.0 - x) * self.r * T + x * self.burned.u_r(Tb, p)[1] * Tb) / volume
        return np.array([p, T, Tb, y[1], y[2]])

    def energy(self, angle, y):
        """Absolute internal energy of both zones [J]."""
        p, Tu, Tb = y[:3]
        x = self.engine.burned_share(angle)[0]
        return self.m * ((1.0 - x) * (self.unburned(Tu)[0] - self.r * Tu) + x * self.burned.u_r(Tb, p)[0])

    def mixed(self, angle, y):
        """Masses of the seven lumps and temperature once the zones are mixed at constant energy and volume."""
        x = self.engine.burned_share(angle)[0]
        masses = self.m * ((1.0 - x) * self.y + x * self.burned.lumps(y[0]))
        return masses, self.gas.temperature(masses, energy=self.energy(angle, y), guess=y[2])

    def march(self, T, start, end, trace):
        """From inlet closing to exhaust opening; returns the two-zone state there and the hottest unburned gas [K]."""
        first = self.engine.burn_start + self.engine.span * (FIRST / self.engine.a) ** (1.0 / (self.engine.m + 1.0))
        late = self.engine.burn_start + 1.3 * self.engine.span
        y, steps, hottest = np.array([T, 0.0, 0.0]), self.bench.steps, T
        for angle, new in stepped(self.rate_one, y, start, first, steps.compression):
            y = new
            hottest = max(hottest, y[0])
            trace.append((angle, self.m * self.r * y[0] / self.engine.volume(angle)[0]))
        y = self.ignite(first, y)
        for a, b, step in (
            (first, first + 2.0, steps.burn / 4),
            (first + 2.0, late, steps.burn),
            (late, end, steps.expansion),
        ):
            for angle, new in stepped(self.rate_two, y, a, b, step):
                y = new
                trace.append((angle, y[0]))
                hottest = max(hottest, y[1])
        return y, hottest


def stepped(rate, y, start, end, step):
    """Equal steps of at most `step` from start to end, each angle and state in turn."""
    angles = np.linspace(start, end, max(math.ceil((end - start) / step - 1e-9), 1) + 1)
    for a, b in pairwise(angles):
        y = rk4(rate, a, y, b - a)
        yield b, y
