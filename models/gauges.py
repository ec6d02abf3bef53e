"""Exhaust thermocouple: what the probe reads, the gas it stands in, and the three errors between them.

Heat balance of a junction at the tip of a stem: convection from the gas, radiation to the runner wall (or to a shield),
conduction along the stem to its root in the wall. Radiation of the gas itself is left out: a pipe of 40 mm is optically
thin. The signs follow the trade: an error is what the reading lacks, gas minus reading. The names of the parts are
gathered here: the probe, its junction, type K.
"""

# ruff: noqa: F401  (names that callers read here)
import math

import numpy as np

from .compiled import allocating, compiled
from .junction import (
    GAS_CONSTANT,
    film_coefficient,
    gas_temperature,
    junction_inertia,
    nusselt,
    radiating_junction,
    radiating_tip,
    shield_temperature,
    stem_tip,
)
from .probe import (
    BARE,
    CHURCHILL_BERNSTEIN,
    MOFFAT,
    REYNOLDS_RANGE,
    SCADRON_WARSHAWSKY,
    SHEATHED,
    SHIELDED,
    Probe,
    Reading,
    default_probe,
    in_stream,
)
from .transport import PRANDTL, STEFAN_BOLTZMANN
from .transport import burned_conductivity as conductivity
from .transport import burned_viscosity as viscosity
from .typek import (
    ASTM_SPECIAL,
    ASTM_STANDARD,
    ICE_POINT,
    IEC_CLASS_1,
    IEC_CLASS_2,
    TOLERANCE,
    TYPE_K_RANGE,
    class_tolerance,
    type_k_emf,
    type_k_temperature,
)

SPECIFIC_HEAT = 1320.0  # of burned gas [J/kgK], at 1000-1200 K; only the velocity error uses it


@compiled
def _cycle_means(probe, dt, t_gas, velocity, pressure, t_junction):
    """Means over the records: h [W/m2K], h-weighted gas and recovered temperature [K], Reynolds number [-]."""
    time, h_sum, gas, head, re_sum = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(dt.size):
        h, reynolds = film_coefficient(probe, t_gas[i], t_junction, velocity[i], pressure[i])
        time += dt[i]
        h_sum += h * dt[i]
        gas += h * dt[i] * t_gas[i]
        head += h * dt[i] * velocity[i] ** 2
        re_sum += reynolds * dt[i]
    lost = (1.0 - probe.recovery) * head / (2.0 * SPECIFIC_HEAT * h_sum)
    return h_sum / time, gas / h_sum, gas / h_sum - lost, re_sum / time


@compiled
def probe_reading(probe, dt, t_gas, velocity, pressure, t_wall):
    """What a junction far slower than the pulses settles at, over one cycle of gas records.

    mean[h (Tr - T)] = radiation + stem conduction, with Tr the gas temperature less the unrecovered velocity head. The
    slow junction therefore weighs the gas with its film coefficient, about mass flux^0.5: it stands between the time
    mean and the flow-weighted mean. Film properties follow the reading, so the balance is repeated until it rests.
    Order of the errors: velocity, then radiation alone, then conduction takes the rest; they add up to ideal - reading.

    probe : Probe, the thermocouple [-]
    dt : array (n), duration of each record [s]
    t_gas : array (n), gas temperature, total: a stirred runner has no velocity of its own [K]
    velocity : array (n), gas velocity at the probe, either sign [m/s]
    pressure : array (n), gas pressure, absolute [Pa]
    t_wall : float, runner wall temperature at the probe [K]
    Returns a Reading, fields in K, W/m2K and s [-]
    """
    total = weighed = 0.0
    for i in range(dt.size):
        total += dt[i]
        weighed += t_gas[i] * dt[i]
    t, change = weighed / total, 0.0
    for _ in range(20):
        film, ideal, recovered, reynolds = _cycle_means(probe, dt, t_gas, velocity, pressure, t)
        radiated, surround, exchange = radiating_tip(probe, recovered, t_wall, film)
        h_rad = exchange * STEFAN_BOLTZMANN * (t * t + surround * surround) * (t + surround)
        settled = (film * recovered + h_rad * surround) / (film + h_rad)
        h_stem = film * np.sqrt(probe.junction_diameter / probe.stem_diameter)
        settled_stem = (h_stem * recovered + h_rad * surround) / (h_stem + h_rad)
        before, change_before = t, change
        t = stem_tip(probe, settled_stem, settled, t_wall, h_stem + h_rad, film + h_rad)
        change = t - before
        coming = change * change / max(abs(change_before), 0.01)  # the next change, smaller by as much again
        if coming < 0.01:
            if change_before != 0.0:
                t += math.copysign(coming, change_before)
            break
    tau = junction_inertia(probe) / (film + h_rad)
    return Reading(t, ideal, film, recovered - radiated, radiated - t, tau, ideal - recovered, reynolds)


@compiled
def junction_step(t_junction, dt, t_gas, h, sink, inertia):
    """One exact step of inertia dT/dt = h (Tg - T) - sink with everything but T held over the step.

    t_junction : float, junction temperature before [K]
    dt : float, duration [s]
    t_gas : float, gas temperature, recovery included [K]
    h : float, convection coefficient [W/m2K]
    sink : float, heat lost by radiation and conduction per surface [W/m2]
    inertia : float, heat capacity per surface, density x specific heat x volume / surface [J/m2K]
    Returns the junction temperature after the step [K], and what is left in it of the one before [-]
    """
    settled, kept = t_gas - sink / h, np.exp(-h * dt / inertia)
    return settled + (t_junction - settled) * kept, kept


@allocating
def junction_ripple(probe, dt, t_gas, velocity, pressure, reading):
    """Periodic junction temperature through the cycle: what an instrument fast enough would see at the wires.

    The loss to wall and stem is held at its cycle mean; each record is an exact exponential step, so the whole cycle is
    a straight line in the starting temperature and the periodic start follows from one pass.

    probe : Probe, the thermocouple [-]
    dt : array (n), duration of each record [s]
    t_gas : array (n), gas temperature [K]
    velocity : array (n), gas velocity at the probe [m/s]
    pressure : array (n), gas pressure, absolute [Pa]
    reading : Reading, of the same probe and records [-]
    Returns array (n), junction temperature at the end of each record [K]
    """
    sink = reading.film * (reading.radiation_error + reading.conduction_error)
    inertia = junction_inertia(probe)
    kept = np.empty(dt.size)
    t = np.empty(dt.size)
    last, decay = reading.temperature, 1.0
    for i in range(dt.size):
        h, _ = film_coefficient(probe, t_gas[i], reading.temperature, velocity[i], pressure[i])
        recovered = t_gas[i] - (1.0 - probe.recovery) * velocity[i] ** 2 / (2.0 * SPECIFIC_HEAT)
        last, kept[i] = junction_step(last, dt[i], recovered, h, sink, inertia)
        decay *= kept[i]
        t[i] = last
    offset = (last - reading.temperature) / (1.0 - decay)  # what the first start lacked of the periodic one
    for i in range(dt.size):
        offset *= kept[i]
        t[i] += offset
    return t
