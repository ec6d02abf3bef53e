"""Heat that gas in motion gives to walls during gas exchange: open cylinders, runners with their ports, collectors."""

import math

from ..models import geometry, manifold, wall_heat
from ..models.compiled import compiled, inlined
from .exchange import I_PIPE, L_F0, S_G, S_HA, S_HAT, S_LAST, S_P, S_R, S_T, S_V
from .records import IN_RUNNER_SURFACE


@inlined
def open_velocity(engine, piston_speed):
    """Gas velocity of Woschni's correlation while valves are open [m/s]: no burn drives it."""
    return wall_heat.woschni_velocity(piston_speed, False, engine.geo.swept, 1.0, 1.0, 1.0, 1.0, 1.0)


@inlined
def cylinder_heat(engine, film_fixed, velocity, S, j):
    """Coefficient times area, and times wall temperature, of the walls of an open cylinder."""
    geo, heat = engine.geo, engine.heat
    V = S[0, j, S_V]
    h = wall_heat.coefficient(
        heat, film_fixed, math.log(S[0, j, S_P]), math.log(V), S[0, j, S_T], S[0, j, S_R], velocity
    )
    liner = geometry.liner_area(geo, V)
    fixed = geo.head_area * heat.head_temperature + geo.piston_area * heat.piston_temperature
    ha = h * (geo.head_area + geo.piston_area + liner)
    keep_film(S, j, ha, h * (fixed + liner * heat.liner_temperature) / ha)


@inlined
def keep_film(S, v, ha, wall):
    """Coefficient times area for the step, carried forward to its middle from this and the last; and times wall T."""
    last = S[0, v, S_LAST]
    S[0, v, S_LAST] = ha
    if last > 0.0:
        ha = max(1.5 * ha - 0.5 * last, 0.5 * ha)
    S[0, v, S_HA] = ha
    S[0, v, S_HAT] = ha * wall


@inlined
def pipe_film(engine, S, v, flow, diameter):
    """Heat transfer coefficient in runner or collector v [W/(m2 K)]."""
    cp = S[0, v, S_R] * S[0, v, S_G] / (S[0, v, S_G] - 1.0)
    return engine.pipe_heat_scale * manifold.pipe_coefficient(flow, diameter, S[0, v, S_T], cp)


@compiled
def pipe_heat(engine, inputs, wall, stream, S, L):
    """Coefficient times area, and times wall temperature, of runners with their ports and of collectors."""
    n = engine.cylinders
    for j in range(n):
        h = pipe_film(engine, S, n + j, 0.5 * (abs(L[n + j, L_F0]) + abs(L[2 * n + j, L_F0])), engine.runner_diameter)
        port, pipe = h * engine.port_surface, h * inputs[j, IN_RUNNER_SURFACE]
        stream[j, I_PIPE] = pipe
        if port + pipe > 0.0:
            keep_film(S, n + j, port + pipe, (port * engine.port_temperature + pipe * wall[j]) / (port + pipe))
    for c in range(engine.collectors):
        v, lt = 2 * n + c, 3 * n + 2 * c
        h = pipe_film(engine, S, v, L[lt, L_F0] + L[lt + 1, L_F0], engine.collector_diameter)
        keep_film(S, v, h * engine.section_surface, wall[n + c])
