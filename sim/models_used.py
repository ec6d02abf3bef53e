"""Which submodels a point is solved with, each with its source."""

from ..models import combustion, compressor, friction, knock, manifold, nitric_oxide, wall_heat
from . import probes, tap_line
from .setup import Setup

COLLECTOR_IN_PARTS = "{} volumes in a row, each link a nozzle whose velocity is lost, no gas inertia; filling and emptying, common practice, no source"
TURBINE_EFFICIENCY = {
    False: "efficiency a parabola in blade-speed ratio (form: Guzzella & Onder)",
    True: "flow and efficiency measured, carried on by the parabola in blade-speed ratio",
}


def models_used(setup: Setup) -> dict[str, str]:
    """Submodel -> its name and source."""
    c = setup.case
    used = {
        "gas": "NASA polynomials through Cantera (nasa_gas.yaml); burned gas in equilibrium above 1700 K, frozen below",
        "fuel": f"{setup.fuel.name}: {setup.fuel.source}",
        "burn": f"{c.burn.model}: {combustion.SOURCES[c.burn.model]}",
        "wall_heat": f"{c.wall_heat.model}: {wall_heat.SOURCES[c.wall_heat.model]}; scale {c.wall_heat.scale:g}",
        "knock": f"{c.knock.model}, integral to {c.knock.window_end}: {knock.SOURCES[c.knock.model]}; "
        f"delay scale {c.knock.delay_scale:g}, +-{100.0 * knock.DELAY_BAND:g} % from memory",
        "bad cycle": f"CA50 spread by {c.burn.cyclic_spread:g} deg, normally; {100.0 * c.knock.bad_cycle:g} % of cycles are "
        "earlier still",
        "friction": f"{c.friction.model}, scale {c.friction.scale:g}: {friction.SOURCES[c.friction.model]}",
    }
    if c.report.nitric_oxide != "none":
        rates = nitric_oxide.SOURCES[c.report.nitric_oxide]
        used["nitric_oxide"] = (
            f"{c.report.nitric_oxide}: extended Zeldovich mechanism, burned gas {c.report.nitric_oxide_zone}; rates of {rates}"
        )
    if c.turbine is None or c.compressor is None:
        return used
    return used | {
        "exhaust_heat": manifold.SOURCES["runner_heat"],
        **({"collector": COLLECTOR_IN_PARTS.format(setup.engine.sections)} if setup.engine.sections > 1 else {}),
        "turbine": f"{c.turbine.model}; {TURBINE_EFFICIENCY[c.turbine.model == 'map']}",
        **({"unequal admission": _unequal(c.turbine.unequal_admission_loss)} if c.exhaust.collectors == 2 else {}),
        "compressor": f"{c.compressor.model}: {compressor.SOURCES[c.compressor.model]}",
        **(probes.SOURCES if c.probe else {}),
        **(tap_line.SOURCES if c.pressure_tap is not None else {}),
    }


def _unequal(loss: float) -> str:
    return f"{100.0 * loss:g} % of the efficiency lost while one entry passes nothing; judgement from memory, 5 to 25 %, no source"
