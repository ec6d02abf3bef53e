"""Gas exchange of the independent march: one well-mixed zone, two nozzles, what was pushed back remembered."""

import math

import numpy as np
from bench_engine import nozzle, rk4

GAMMA_INTAKE = 1.38
NOTHING = 1e-12  # [kg]
# The state: temperature, masses in the cylinder, masses and enthalpy in the port, net masses and enthalpy that went out
# through the exhaust valve, net mass that came in through the intake valve, work, heat to the walls.
T, M, PORT, PORT_H, OUT, OUT_H, IN, WORK, HEAT = 0, slice(1, 8), slice(8, 15), 15, slice(16, 23), 23, 24, 25, 26
SIZE = 27


class Stream:
    """Gas at rest: composition, enthalpy, temperature, gas constant, ratio of specific heats."""

    def __init__(self, gas, masses, enthalpy, guess):
        total = masses.sum()
        self.y, self.h = masses / total, enthalpy / total
        self.T = gas.temperature(self.y, enthalpy=self.h, guess=guess)
        self.r = self.y @ gas.r
        cp = self.y @ gas.enthalpies(self.T)[1]
        self.gamma = cp / (cp - self.r)


class Open:
    """The open cylinder between the intake plenum and the gas that stands behind the exhaust valve."""

    def __init__(self, engine, behind):
        self.engine, self.bench, self.gas = engine, engine.bench, engine.gas
        self.behind = behind
        self.port = None  # the gas stored in the port while there is some
        self.pushing = False  # into the port; settled at the start of each step, so that a step never does both

    def pressure(self, angle, y):
        return (y[M] @ self.gas.r) * y[T] / self.engine.volume(angle)[0]

    def intake(self, y, p, cylinder):
        """Mass flow into the cylinder [kg/deg], composition and enthalpy of what flows, and whether the port has a part."""
        bench = self.bench
        if self.pushing:
            share, h, r, gamma = cylinder
            return -self.flow(bench.intake, p, y[T], r, gamma, bench.intake_pressure), share, h, True
        up = self.port or self.engine.fresh
        mdot = self.flow(bench.intake, bench.intake_pressure, up.T, up.r, GAMMA_INTAKE, p)
        return mdot, up.y, up.h, up is self.port

    def exhaust(self, y, p, cylinder):
        """Mass flow out of the cylinder [kg/deg], composition and enthalpy of what flows."""
        p_out, behind = self.bench.exhaust_pressure, self.behind
        if p > p_out:
            share, h, r, gamma = cylinder
            return self.flow(self.bench.exhaust, p, y[T], r, gamma, p_out), share, h
        return -self.flow(self.bench.exhaust, p_out, behind.T, behind.r, behind.gamma, p), behind.y, behind.h

    def flow(self, valve, p_up, T_up, r_up, gamma, p_down):
        """Mass flow of a valve [kg/deg], none against the pressure."""
        area = np.interp(self.angle, valve[2], valve[3])
        return nozzle(area, p_up, T_up, r_up, gamma, p_down) * self.engine.s_per_deg

    def rate(self, angle, y):
        """Rate of the state by angle."""
        self.angle = angle
        volume, dV = self.engine.volume(angle)
        h, cp = self.gas.enthalpies(y[T])
        total, mr, mcp = y[M].sum(), y[M] @ self.gas.r, y[M] @ cp
        p = mr * y[T] / volume
        cylinder = y[M] / total, y[M] @ h / total, mr / total, mcp / (mcp - mr)
        heat = self.engine.wall_heat(self.engine.coefficient(volume, p, y[T], closed=False), volume, y[T])
        entering, y_in, h_in, from_port = self.intake(y, p, cylinder)
        leaving, y_out, h_out = self.exhaust(y, p, cylinder)
        out = np.zeros(SIZE)
        out[M] = entering * y_in - leaving * y_out
        energy = entering * h_in - leaving * h_out - heat - p * dV
        out[T] = (energy - out[M] @ (h - self.gas.r * y[T])) / (mcp - mr)
        if from_port:
            out[PORT], out[PORT_H] = -entering * y_in, -entering * h_in
        out[OUT], out[OUT_H] = leaving * y_out, leaving * h_out
        out[IN], out[WORK], out[HEAT] = entering, p * dV, heat
        return out

    def step(self, angle, y, stop):
        """One step, cut short where it would draw more from the port than is stored; returns angle and state."""
        stored = y[PORT].sum()
        self.pushing = self.pressure(angle, y) > self.bench.intake_pressure
        self.port = Stream(self.gas, y[PORT], y[PORT_H], self.engine.fresh.T) if stored > NOTHING else None
        new = rk4(self.rate, angle, y, stop - angle)
        if self.pushing or self.port is None or new[PORT].sum() > NOTHING:
            return stop, new
        size = stop - angle
        for _ in range(40):  # regula falsi on the mass left
            size *= stored / (stored - new[PORT].sum())
            new = rk4(self.rate, angle, y, size)
            if abs(new[PORT].sum()) < NOTHING:
                break
        new[PORT], new[PORT_H] = 0.0, 0.0
        return angle + size, new

    def march(self, y, start, end, trace):
        """From one angle to another in equal steps."""
        n = math.ceil((end - start) / self.bench.steps.exchange - 1e-9)
        angle = start
        for stop in np.linspace(start, end, n + 1)[1:]:
            while angle < stop:
                angle, y = self.step(angle, y, stop)
            trace.append((stop, self.pressure(stop, y)))
        return y
