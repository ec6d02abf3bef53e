"""Energy over a spool by a second route: works of turbine and compressor from a log of the march, by formulas written here.

The march keeps books of its own within the kernel. Here it is made to stop at every step of the crank and only states are read off:
pressure, temperature and composition before the turbine, pressure after it, tip speed; flow and boost after the compressor. Flow
through the turbine is that of a nozzle, efficiency a parabola, both in closed form; specific heats come from Cantera.
"""

import math

import cantera as ct
import numpy as np
import pytest
from hotside.sim import load
from hotside.sim.records import C_T, K
from hotside.sim.surroundings import Z_OUTLET, Z_SHAFT
from hotside.sim.verbs.spool import shaft
from hotside.sim.verbs.spool.march import SpoolMarch
from hotside.sim.verbs.spool.run import furnished

PAIR = {  # 0.9 litres; turbine by area and compressor of one efficiency, so that both can be written down here
    "engine": {
        "cylinders": 2, "bore": "80 mm", "stroke": "90 mm", "compression_ratio": 9.2,
        "intake_valve": {"count": 2, "diameter": "29 mm", "lift": "8.2 mm", "opens": "8 deg BTDC", "closes": "46 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "25 mm", "lift": "8 mm", "opens": "46 deg BBDC", "closes": "8 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "area", "area": "190 mm2", "wheel_inlet_diameter": "37 mm"},
    "wastegate": {"diameter": "22 mm"},
    "compressor": {"model": "constant"},
    "run": {"speed": "3200 rpm", "boost": "0.7 bar", "lambda": 0.9, "spark_advance": "10 deg"},
    "spool": {"longest": "1.2 s"},
}  # fmt: skip
SPECIES = (
    "O2",
    "N2",
    "CO2",
    "H2O",
    "CO",
    "H2",
    "C8H18,isooctane",
    "Ar",
)  # the kernel's seven; its nitrogen carries the argon
ARGON = 0.0093 * 39.948 / (0.0093 * 39.948 + 0.7808 * 28.0134)  # of atmospheric nitrogen by mass (dry air by volume)
GAMMA_NOZZLE = 1.32  # of the swallowing characteristic (sim/machines.py)


class Logged(SpoolMarch):
    """A march that stops at every step of the crank and writes down what stands before and after the turbine."""

    def __init__(self, case):
        super().__init__(case, None)
        self.fine = list(range(self.plant.steps + 1))
        self.rows = []

    def part(self, begin, end):
        last = self.states()
        tip = 0.5 * float(self.march.z[Z_SHAFT]) * self.plant.turbine_diameter
        outlet = float(self.march.z[Z_OUTLET])
        found = super().part(begin, end)
        self.rows.append((tip, outlet, last, self.states()))
        return found

    def states(self):
        """Species masses [kg] and temperature [K] before the turbine."""
        row = self.march.memory.content[2 * self.setup.engine.cylinders]
        return row[:K].copy(), float(row[C_T])


def power(gas, area, peak, best, volume, state, outlet, tip):
    """Power of the gas on the wheel [W] at a logged state."""
    masses, T = state
    parts = np.append(masses, ARGON * masses[1])
    parts[1] *= 1.0 - ARGON
    gas.TPY = T, 1e5, parts
    r = ct.gas_constant / gas.mean_molecular_weight
    p = masses.sum() * r * T / volume
    if p <= outlet:
        return 0.0
    k = r / gas.cp_mass
    work = r * T / k * (1.0 - (outlet / p) ** k)
    g = GAMMA_NOZZLE
    ratio = max(outlet / p, (2.0 / (g + 1.0)) ** (g / (g - 1.0)))
    through = (
        area * p / math.sqrt(r * T) * math.sqrt(2.0 * g / (g - 1.0) * (ratio ** (2.0 / g) - ratio ** ((g + 1.0) / g)))
    )
    off = (tip / math.sqrt(2.0 * work) - best) / best
    return through * work * max(peak * (1.0 - off * off), 0.0)


@pytest.fixture(scope="module")
def logged():
    march = Logged(furnished(load(PAIR)))
    return march, march.run(0.5e5)


def test_shaft_energy_from_the_log(logged):
    """Half J w2 gained is the turbine's work as integrated here, less bearing loss, less the compressor's as integrated here."""
    march, moments = logged
    case, plant = march.case, march.plant
    names = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    gas = ct.Solution(thermo="ideal-gas", species=[names[n] for n in SPECIES])
    turbine = case.turbine
    fixed = (gas, turbine.area, turbine.efficiency_peak, turbine.blade_speed_ratio_peak, case.exhaust.collector_volume)
    seconds = 120.0 / march.rpm / plant.steps
    rows = march.rows[-(len(moments) - 1) :]
    work = sum(
        0.5 * seconds * (power(*fixed, first, outlet, tip) + power(*fixed, last, outlet, tip))
        for tip, outlet, first, last in rows
    )
    booked = sum(m.turbine_work for m in moments)
    flow = np.array([m.compressor_flow for m in moments[1:]])  # means of the steps, the boost of their ends
    before, after = (np.array([m.boost for m in part]) + plant.ambient_pressure for part in (moments[:-1], moments[1:]))
    inlet = plant.ambient_pressure - plant.inlet_loss * flow**2
    ratio = (0.5 * (before + after) + plant.cooler_loss * flow**2) / inlet
    lift = 1005.0 * plant.ambient_temperature * (ratio ** (0.4 / 1.4) - 1.0) / case.compressor.efficiency
    taken = float((flow * lift).sum()) * seconds
    gained = 0.5 * turbine.inertia * (moments[-1].shaft ** 2 - moments[0].shaft ** 2)
    left = turbine.mechanical_efficiency * work - taken
    print(
        f"turbine work {work:.2f} J, in the march's books {booked:.2f}; compressor {taken:.2f}; gained {gained:.2f}, left {left:.2f} J"
    )
    assert len(moments) > 1500
    assert work == pytest.approx(booked, rel=1e-3)
    assert gained == pytest.approx(left, rel=1e-3)


def test_a_short_step_cannot_draw_more_than_the_duct_lets_through():
    """With one efficiency the compressor holds a ratio at a shaft speed whatever the flow: what is missing in the pipes when the
    throttle opens would come in at once, were it not for the loss of filter and duct before it."""
    march = SpoolMarch(furnished(load(PAIR)), None)
    plant = march.plant
    found = shaft.fill(plant, march.setup.chart, 11000.0, 0.96e5, 0.0, 1e3)
    assert plant.inlet_loss * found.flow**2 < (1.0 - shaft.LEAST_INLET) * plant.ambient_pressure
    assert 0.96e5 < found.intake < 1.2e5
