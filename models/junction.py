"""Heat exchange of a thermocouple's junction: convection, radiation with or without a shield, conduction along the stem."""

import numpy as np

from .compiled import compiled
from .probe import BARE, MOFFAT, SCADRON_WARSHAWSKY, SHIELDED
from .transport import PRANDTL, STEFAN_BOLTZMANN, burned_conductivity, burned_viscosity

GAS_CONSTANT = 297.0  # of burned gas [J/kgK], 293 lean to 306 at equivalence ratio 1.2


@compiled
def nusselt(convection, reynolds, prandtl):
    """Mean Nusselt number of a wire or cylinder across the stream.

    R. J. Moffat (1962), 0.44 Re^0.5 (+-0.06 on the factor), from memory, confidence high; M. D. Scadron and I.
    Warshawsky, NACA TN 2599 (1952), 0.478 Re^0.5 Pr^0.3, confidence med; S. W. Churchill and M. Bernstein, J. Heat
    Transfer 99 (1977) 300, eq. 9, confidence high. REYNOLDS_RANGE holds the validity.

    convection : int, MOFFAT, SCADRON_WARSHAWSKY or CHURCHILL_BERNSTEIN [-]
    reynolds : float, Reynolds number on the diameter [-]
    prandtl : float, Prandtl number at film temperature [-]
    Returns the Nusselt number on the diameter [-]
    """
    root = np.sqrt(reynolds)
    if convection == MOFFAT:
        return 0.44 * root
    if convection == SCADRON_WARSHAWSKY:
        return 0.478 * root * prandtl**0.3
    blend = (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    fast = np.sqrt(np.sqrt(reynolds / 282000.0))  # to the power 5/8 by roots
    late = np.exp(0.8 * np.log(1.0 + fast * fast * np.sqrt(fast)))
    return 0.3 + 0.62 * root * np.cbrt(prandtl) / blend * late


@compiled
def film_coefficient(probe, t_gas, t_junction, velocity, pressure):
    """Convection coefficient at the junction, properties at film temperature, and its Reynolds number.

    probe : Probe, the thermocouple [-]
    t_gas : float, gas temperature [K]
    t_junction : float, junction temperature [K]
    velocity : float, gas velocity at the probe, |mass flow| / (density x runner area), either sign [m/s]
    pressure : float, gas pressure, absolute [Pa]
    Returns (convection coefficient [W/m2K], Reynolds number on the junction diameter [-])
    """
    speed = np.sqrt(velocity * velocity + probe.floor_velocity**2)
    if probe.kind == SHIELDED:
        speed *= probe.shield_flow
    t_film = 0.5 * (t_gas + t_junction)
    density = pressure / (GAS_CONSTANT * t_film)
    reynolds = density * speed * probe.junction_diameter / burned_viscosity(t_film)
    h = nusselt(probe.convection, reynolds, PRANDTL) * burned_conductivity(t_film) / probe.junction_diameter
    return h, reynolds


@compiled
def radiating_junction(t_gas, t_surround, h, emissivity):
    """Temperature of a junction between convection from the gas and radiation to what surrounds it.

    Root of h (Tg - T) = e sigma (T^4 - Ts^4) by Newton's rule; grey junction, small against its surroundings.

    t_gas : float, gas temperature, recovery included [K]
    t_surround : float, wall or shield temperature [K]
    h : float, convection coefficient [W/m2K]
    emissivity : float, of the junction [-]
    Returns the junction temperature [K]
    """
    r = emissivity * STEFAN_BOLTZMANN
    t = max(t_gas, t_surround)  # from above the convex side: no overshoot
    for _ in range(50):
        step = (h * (t - t_gas) + r * (t**4 - t_surround**4)) / (h + 4.0 * r * t**3)
        t -= step
        if abs(step) < 1e-9 * t:
            break
    return t


@compiled
def gas_temperature(t_junction, t_surround, h, emissivity):
    """Gas temperature from a junction's: the radiation correction.

    F. Kreith, R. M. Manglik and M. S. Bohn, Principles of Heat Transfer, 7th ed., Ex. 9.18.

    t_junction : float, junction temperature [K]
    t_surround : float, wall or shield temperature [K]
    h : float, convection coefficient [W/m2K]
    emissivity : float, of the junction [-]
    Returns the gas temperature [K]
    """
    return t_junction + emissivity * STEFAN_BOLTZMANN * (t_junction**4 - t_surround**4) / h


@compiled
def shield_temperature(probe, t_gas, t_junction, t_wall, h):
    """Temperature of a thin tube around the junction, gas on both faces, the wall outside and the junction inside.

    Grey, diffuse, concentric cylinders (network of two surfaces); both faces take the junction's film coefficient
    scaled with diameter^-0.5, as laminar films go.

    probe : Probe, the thermocouple [-]
    t_gas : float, gas temperature, recovery included [K]
    t_junction : float, junction temperature [K]
    t_wall : float, runner wall temperature [K]
    h : float, convection coefficient at the junction [W/m2K]
    Returns (shield temperature [K], exchange factor junction to shield [-])
    """
    e, ratio = probe.shield_emissivity, probe.shield_ratio
    exchange = 1.0 / (1.0 / probe.emissivity + (1.0 - e) / (e * ratio))
    h_faces = 2.0 * h / np.sqrt(ratio)
    inward = exchange / ratio * STEFAN_BOLTZMANN
    outward = e * STEFAN_BOLTZMANN
    t = t_gas
    for _ in range(50):
        gain = h_faces * (t - t_gas) + outward * (t**4 - t_wall**4) + inward * (t**4 - t_junction**4)
        step = gain / (h_faces + 4.0 * (outward + inward) * t**3)
        t -= step
        if abs(step) < 1e-9 * t:
            break
    return t, exchange


@compiled
def radiating_tip(probe, t_gas, t_wall, h):
    """Temperature of the junction were there no stem: what it radiates to is the wall, or the shield around it.

    probe : Probe, the thermocouple [-]
    t_gas : float, gas temperature, recovery included [K]
    t_wall : float, runner wall temperature [K]
    h : float, convection coefficient at the junction [W/m2K]
    Returns (junction temperature [K], temperature of what it radiates to [K], exchange factor [-])
    """
    if probe.kind != SHIELDED:
        return radiating_junction(t_gas, t_wall, h, probe.emissivity), t_wall, probe.emissivity
    t, surround, exchange = t_gas, t_wall, probe.emissivity
    for _ in range(20):
        surround, exchange = shield_temperature(probe, t_gas, t, t_wall, h)
        t = radiating_junction(t_gas, surround, h, exchange)
    return t, surround, exchange


@compiled
def stem_tip(probe, t_stem, t_tip, t_root, h_stem, h_tip):
    """Temperature of a junction at the end of its stem: a fin whose tip carries the junction's own exchange.

    Stem: k A T'' = P h (T - t_stem). At the tip the wires, or the one sheath, bring what the junction's free surface
    loses; at the root the wall. With h_tip = 0 this is the textbook fin 1/cosh(mL); Incropera et al., Fundamentals of
    Heat and Mass Transfer, sec. 3.6.2, cases A and B. Radiation along the stem is linear about the tip's temperature.

    probe : Probe, the thermocouple [-]
    t_stem : float, where the stem would settle without conduction [K]
    t_tip : float, where the junction would settle without conduction [K]
    t_root : float, wall temperature [K]
    h_stem : float, exchange coefficient of the stem, convection and radiation [W/m2K]
    h_tip : float, exchange coefficient of the junction [W/m2K]
    Returns the junction temperature [K]
    """
    d, section = probe.stem_diameter, 0.25 * np.pi * probe.stem_diameter**2
    stems = 2.0 if probe.kind == BARE else 1.0
    if probe.kind == BARE:  # a bead less the feet of its two wires
        surface = max(np.pi * probe.junction_diameter**2 - stems * section, stems * section)
    else:
        surface = section  # end cap of the sheath
    m = np.sqrt(4.0 * h_stem / (probe.conductivity * d))
    tip = h_tip * surface / (stems * probe.conductivity * section * m)
    reach = np.exp(-m * probe.immersion)  # cosh and sinh divided by exp(mL): a long stem must not overflow
    cosh, sinh = 0.5 * (1.0 + reach * reach), 0.5 * (1.0 - reach * reach)
    return (t_stem * (cosh - reach) + t_root * reach + tip * sinh * t_tip) / (cosh + tip * sinh)


@compiled
def junction_inertia(probe):
    """Heat capacity of the junction per surface: a sphere when bare, a cylinder when sheathed.

    probe : Probe, the thermocouple [-]
    Returns density x specific heat x volume / surface [J/m2K]
    """
    shape = 6.0 if probe.kind == BARE else 4.0
    return probe.density * probe.specific_heat * probe.junction_diameter / shape
