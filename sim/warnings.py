"""Sentences about what is doubtful, out of range or past an edge."""

import math
from typing import Any

from ..models import combustion, gas, knock
from . import closed, settle, surroundings
from . import exchange as ex
from .map_edges import off_the_maps
from .names import label_of
from .probes import doubts
from .records import IN_PHI, IN_T
from .sections_injection import Injection
from .settle import March
from .showing import shown

DROPS = 0.6  # vapour the manifold can hold, over the share whose heat is taken, below which that is said [-]


def warnings_of(march: March, ending: int, values: dict[str, Any]) -> list[str]:
    """Warnings for one solved point, the graver first."""
    found = [
        *_ending(march, ending, values),
        *_gate(march, values),
        *_breathing(march, values),
        *_burn(march, values),
        *_cold(march),
        *_rail(march, values),
        *_ranges(march, values),
    ]
    found += doubts(values["probes"], march.setup.case.probe, march.setup.case.report.units)
    found += [f"Past its limit: {label_of(m['name'])}." for m in values["margins"] if m["exceeded"]]
    return found


def _pressure(march: March, pressure: float) -> str:
    return shown(pressure, "pressure", march.setup.case.report.units)


def _small(march: March, pressure: float) -> str:
    """A pressure that would be shown as none."""
    return f"{pressure / 6894.757:.3f} psi" if march.setup.case.report.units == "us" else f"{pressure:.0f} Pa"


def _flow(march: March, flow: float) -> str:
    return shown(flow, "mass_flow", march.setup.case.report.units)


def _ending(march: March, ending: int, values: dict[str, Any]) -> list[str]:
    run, z = march.setup.case.run, march.z
    asked = _pressure(march, run.boost or 0.0)
    at = f"at {run.speed_rpm:.0f} rpm"
    if ending == settle.BOOST_SHORT:
        lines = [
            f"The turbine cannot make {asked} {at}; it makes {_pressure(march, values['boost_pa'])} with the wastegate shut."
        ]
        slope = float(z[surroundings.Z_SLOPE])
        if slope < 0.0:
            moved = 0.01 / -slope * float(z[surroundings.Z_INTAKE])
            if moved > 1e4:
                lines.append(
                    f"That balance is soft: 1 % of turbo efficiency moves it by {_pressure(march, moved)}; take it as a wide band."
                )
        return lines
    if ending == settle.BOOST_OVER and values["boost_pa"] > surroundings.MOST_BOOST - 1.0:
        return [
            f"Nothing holds the boost {at}: at {_pressure(march, values['boost_pa'])} the turbine still has power to spare, and it is followed no "
            "further: the figures are those of that boost and no balance; a larger wastegate or turbine is needed."
        ]
    if ending == settle.BOOST_OVER:
        got = _pressure(march, values["boost_pa"])
        past = (
            f"to {got} instead of {asked}"
            if got != asked
            else f"{_small(march, values['boost_pa'] - (run.boost or 0.0))} past {asked}"
        )
        return [f"The wastegate is too small {at}: fully open the boost creeps {past}."]
    if ending == settle.NOT_PERIODIC:
        return [
            f"No periodic answer {at} within {values['cycles']} cycles; the last cycle still changed by "
            f"{float(z[surroundings.Z_CHANGE]):.1e}: read the figures as a rough guess."
        ]
    if ending == settle.ALTERNATES and march.pair is not None:
        (air, other), (peak, peak_other) = march.pair
        return [
            f"Cycles go to and fro {at} between two answers: {_flow(march, air)} and {_flow(march, other)} of air, peaks of {_pressure(march, peak)} and "
            f"{_pressure(march, peak_other)}. Both are real; the figures here are those of one of them."
        ]
    if ending == settle.NO_FIRE:
        return [f"The charge does not burn {at}: the flame has not started when the exhaust valve opens."]
    if ending == settle.NO_AIR:
        return [
            f"Next to no fresh charge comes in {at}: the exhaust pressure fills the cylinders backwards; the figures of the "
            "burn mean nothing here."
        ]
    return []


def _gate(march: March, values: dict[str, Any]) -> list[str]:
    """What a wastegate of its own mind makes of the boost."""
    w, run = march.setup.case.wastegate, march.setup.case.run
    if w is None or w.model == "boost" or run.held_backpressure is not None or values["wastegate_opening"] is None:
        return []
    lines, boost = [], _pressure(march, values["boost_pa"])
    if w.model == "spring" and values["wastegate_opening"] > 0.999:
        lines.append(
            f"The wastegate stands fully open and the boost creeps to {boost}: the valve is too small for this flow, whatever "
            "the spring."
        )
    if w.model == "spring" and values["wastegate_opening"] == 0.0:
        lines.append(
            f"The wastegate stays shut: the turbine makes {boost}, too little to lift the valve off its spring."
        )
    if run.boost is not None:
        lines.append(f"run.boost is not followed: the wastegate's {w.model} decides, and the boost is {boost}.")
    return lines


def _breathing(march: March, values: dict[str, Any]) -> list[str]:
    wanted, found = march.setup.case.engine.volumetric_efficiency_measured, values["volumetric_efficiency"]
    if wanted is None or abs(found / wanted - 1.0) < 0.01:
        return []
    return [
        f"The measured volumetric efficiency of {100 * wanted:.0f} % is not met: the engine draws {100 * found:.0f} %, however "
        "its breathing is fitted; look at boost, backpressure and valve timing."
    ]


def _burn(march: March, values: dict[str, Any]) -> list[str]:
    lines = []
    outs = march.desk.outs[: 1 if march.setup.engine.alike else None]
    late = outs[:, closed.O_BURNED_AT_END].min()
    if late < 0.99 and values["status"] != "does not fire":
        lines.append(
            f"The burn runs past exhaust opening: {100 * (1 - late):.0f} % of the charge is still to burn there, and burns "
            "on in the cylinder and partly in the exhaust."
        )
    if values["turbine_choked"]:
        lines.append(
            f"The turbine is choked: {100 * values['turbine_choked_share']:.0f} % of the gas passes at its greatest flow; "
            "backpressure climbs steeply with boost from here."
        )
    lines += _compressor(values)
    lines += _water(march, values)
    back = march.desk.account[:, ex.A_BACKFLOW].sum()
    if back > 0.03 * march.desk.account[:, ex.A_OUT_MASS].sum():
        lines.append("Exhaust gas flows back into the cylinders in the overlap: more residual gas, less fresh charge.")
    return lines


def _cold(march: March) -> list[str]:
    """Fuel that takes more heat from the charge than the charge has."""
    if march.setup.inputs[:, IN_T].min() > surroundings.COLDEST:
        return []
    coldest = shown(surroundings.COLDEST, "temperature", march.setup.case.report.units)
    return [
        f"The fuel that evaporates would cool the charge below {coldest}: it is held there, the rest of the heat "
        "comes from the walls; write a smaller fuel.evaporation_share or injection.evaporation_share."
    ]


def _rail(march: March, values: dict[str, Any]) -> list[str]:
    """Boost that holds the injectors' fuel back."""
    f, boost = march.setup.case.fuel, values["intake_pressure_pa"] - march.setup.ambient.pressure
    if f.injector_flow is None or f.rail_follows != "ambient" or boost < f.rail_pressure:
        return []
    return [
        f"No fuel passes the injectors: the boost of {_pressure(march, boost)} is no less than the rail's "
        f"{_pressure(march, f.rail_pressure)} (fuel.rail_pressure, fuel.rail_follows); the figures are those of an engine that gets it."
    ]


def _compressor(values: dict[str, Any]) -> list[str]:
    surge, choke = values["surge_margin_fraction"], values["choke_margin_fraction"]
    if surge is not None and surge < 0.0:
        return [
            f"The compressor takes {-100 * surge / (1 - surge):.0f} % less than its surge flow at this pressure ratio: expect it "
            "to surge; less boost at this speed, or a smaller wheel."
        ]
    if choke is not None and choke < 0.0:
        return ["The flow is past the compressor's choke at this pressure ratio: a larger wheel, or less boost."]
    return []


def _ranges(march: March, values: dict[str, Any]) -> list[str]:
    lines = off_the_maps(march.setup, values)
    phi = 1.0 / values["lambda_ratio"]
    low, high = combustion.VALID["phi"]
    if march.setup.engine.burn.model == combustion.SPARK and not low <= phi <= high:
        lines.append(
            f"Lambda {values['lambda_ratio']:.2f} is outside the burning-velocity fits (lambda {1 / high:.2f} to {1 / low:.2f})."
        )
    low, high = knock.VALID["octane"]
    if not low <= march.setup.octane <= high:
        lines.append(f"Octane {march.setup.octane:.0f} is outside the knock correlation's {low:.0f} to {high:.0f}.")
    if values["unburned_temperature_max_k"] > 1100.0:
        lines.append("The end gas is hotter than the knock correlation was fitted for.")
    tabulated = math.exp(float(march.setup.table.blp0 + (gas.N_BURNED_P - 1) * march.setup.table.dblp))
    if values["peak_pressure_pa"] > tabulated:
        lines.append(
            f"The peak pressure is above {_pressure(march, tabulated)}, where the tables of burned gas end and a perfect gas is no "
            "longer a good one: no engine of this kind stands it, and pressures and temperatures there are a rough guess."
        )
    return lines


def _water(march: March, values: dict[str, Any]) -> list[str]:
    """Water that the air cannot hold, and water that is held back because burned gas is not tabulated so wet."""
    if values.get("water_flow_kg_s") is None:
        return []
    s = march.setup
    lines = _drops(s.case.injection, values["water_evaporated_fraction"])
    most = max(float(surroundings.injected(s.plant, s.table, row[IN_PHI], march.z)) for row in s.inputs)
    if most < surroundings.MOST_WATER:
        return lines
    return [
        *lines,
        f"More water is asked for than {100 * surroundings.MOST_WATER:.0f} % of the air, up to which burned gas is tabulated: "
        "that much is taken; write a smaller injection.share or injection.flow.",
    ]


def _drops(injection: Injection | None, vapour: float) -> list[str]:
    """A spray whose heat is counted before the inlet closes though the air there holds far less of it."""
    if injection is None or vapour > DROPS * injection.evaporation_share:
        return []
    return [
        f"The air in the manifold can hold only {100 * vapour:.0f} % of the spray as vapour, and {100 * injection.evaporation_share:.0f} % of "
        "its heat is taken before the inlet closes (injection.evaporation_share): drops that evaporate later fill no "
        "cylinder, so air flow, power and spool may come out too good."
    ]
