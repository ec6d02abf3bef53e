"""`flange`: does the turbine flange stay clamped when hot, and what torque does it take.

The module does not bear the verb's name: `from hotside.sim import flange` must go on giving the function.
"""

import math
from typing import Any

from ....models import flange as bolting
from ....models import manifold, materials
from ...case import Case, load
from ...sections_flange import Flange
from . import boss as bossing
from . import heat as heating
from . import joint as jointing
from . import torque as torquing
from .heat import Heat, Progress, Walls
from .margins import margins
from .result import FRICTIONS, PLAIN, SPRUNG, Check, FlangeResult
from .words import warnings_of

Clamps = dict[str, dict[str, bolting.Clamp]]  # by arrangement and friction


def flange(case: Case, *, progress: Progress | None = None) -> FlangeResult:
    """Torque, clamp cold, hot and cold again, and margins of the turbine flange; the boss of a probe beside it.

    case : Case; without [flange] a stand-in flange is checked, and the result says so
    progress : called with a sentence while tables or kernels are built
    Raises CaseError in one sentence for a torque past yield, temperatures outside a material's data, or a point that has
    no answer.
    """
    if case.flange is None:
        case = load(case.to_dict() | {"flange": {}})
    assert case.flange is not None
    heat, boss_heat = _heats(case, case.flange, progress)
    check = _check(case, case.flange, heat)
    boss = bossing.check(case, boss_heat) if boss_heat is not None else None
    clamps: Clamps = {
        a: {friction: bolting.clamp_cycle(b.joint, check.preload[friction]) for friction in FRICTIONS}
        for a, b in check.built.items()
    }
    return _result(check, clamps, boss)


def _heats(case: Case, f: Flange, progress: Progress | None) -> tuple[Heat, Heat | None]:
    """Heat at the flange and at the boss, where there is one; the point is solved only where something is not given."""
    if f.wall_temperature is not None:  # before the point is solved
        jointing.check_data(f, f.washers, jointing.temperatures(f, case.ambient.temperature, f.wall_temperature)[1])
    apart = case.boss is not None and case.boss.place != f.place
    found: Walls | None = None
    if f.wall_temperature is None or f.gas_pressure is None or apart:
        found = heating.walls(case, progress)
    heat = heating.heat(f.place, f.wall_temperature, f.gas_pressure, found)
    if case.boss is None:
        return heat, None
    return heat, heating.heat(case.boss.place, None, None, found) if apart else heat


def _check(case: Case, f: Flange, heat: Heat) -> Check:
    """The joint both ways, its torque and the forces upon it."""
    cold, hot = jointing.temperatures(f, case.ambient.temperature, heat.wall)
    fitted = SPRUNG if f.washers is not None else PLAIN
    for state in (cold, hot):
        jointing.check_data(f, f.washers, state)
    tight = torquing.tightening(f, f.lubrication, cold.stud)
    torque = torquing.checked_torque(f, tight)
    preload = dict(zip(FRICTIONS, torquing.force_band(torque, tight, f.thread), strict=True))
    proposed = f.washers or jointing.proposed_washers(f, preload["highest"], cold, hot)
    washers = {PLAIN: None, SPRUNG: proposed}
    gas = bolting.gas_force(heat.peak, f.opening_area)
    return Check(
        case=case,
        flange=f,
        heat=heat,
        cold=cold,
        hot=hot,
        state=tight,
        washers=washers,
        built={a: jointing.build(f, cold, hot, w) for a, w in washers.items()},
        fitted=fitted,
        torque=torque,
        preload=preload,
        gas=gas,
        wanted=f.clamp_factor * gas + (f.sealing_force or 0.0),
    )


def _result(check: Check, clamps: Clamps, boss: dict[str, Any] | None) -> FlangeResult:
    f, built, fitted = check.flange, check.built[check.fitted], clamps[check.fitted]
    rows = margins(check, fitted)
    lowest = torquing.lowest_torque(check.state, built, f, check.wanted / f.studs)
    return FlangeResult(
        title=check.case.title,
        place=f.place,
        **_heat(check),
        **_torque(check),
        tightening_torque_lowest_nm=lowest,
        fitted=check.fitted,
        joints=[_joint(check, a) for a in check.built],
        clamps=[_clamp(a, friction, c) for a, by in clamps.items() for friction, c in by.items()],
        clamp_left_hot_n=bolting.clamp_left(fitted["lowest"].hot, f.studs, check.gas),
        clamp_left_cold_again_n=bolting.clamp_left(fitted["lowest"].cooled, f.studs, check.gas),
        margins=rows,
        least_margin=str(rows[0]["name"]),
        boss=boss,
        guesses=[name for name in check.case.guesses if name.startswith(("flange.", "boss."))],
        warnings=warnings_of(check, clamps, rows, boss, lowest),
        models=models_used(check),
        check=check,
    )


def _heat(check: Check) -> dict[str, Any]:
    return {
        "cold_temperature_k": check.cold.wall,
        "wall_temperature_k": check.hot.wall,
        "wall_source": check.heat.wall_source,
        "flange_temperature_k": check.hot.flange,
        "stud_temperature_k": check.hot.stud,
        "gas_pressure_peak_pa": check.heat.peak,
        "gas_pressure_mean_pa": check.heat.mean,
        "pressure_source": check.heat.pressure_source,
        "gas_force_n": check.gas,
        "clamp_wanted_n": check.wanted,
    }


def _torque(check: Check) -> dict[str, Any]:
    state, built, f = check.state, check.built[check.fitted], check.flange
    preload = check.preload["usual"]
    proof = built.area * materials.proof_stress(materials.STUDS[f.stud_metal], check.hot.stud)
    stretch = bolting.interference(preload, built.joint.cold_compliance, built.joint.stack) / preload
    return {
        "lubrication": state.surface,
        "nut_factor": state.nut_factor,
        "scatter": state.scatter,
        "tightening_torque_nm": check.torque,
        "tightening_torque_proposed_nm": state.proposed,
        "tightening_torque_highest_nm": state.highest,
        "tightening_torque_elastic_hot_nm": torquing.highest_without_yield_hot(state, built, f, proof),
        "tightening_torque_formula_nm": torquing.formula_torque(f, state.surface, preload),
        "wrench_setting_nm": torquing.wrench_setting(f, check.torque),
        "turn_deg": math.degrees(bolting.turn_angle(preload, stretch, bolting.THREADS[f.thread][1])),
        **{f"preload_{friction}_n": force for friction, force in check.preload.items()},
        "stud_yield_tightening_n": state.yields,
        "stud_yield_hot_n": built.joint.hot_yield_force,
        "surfaces": torquing.surfaces(f, state, check.cold.stud),
    }


def _joint(check: Check, arrangement: str) -> dict[str, Any]:
    """The springs of one arrangement; the washers' compliance is travel over force from free to the usual preload."""
    built, washers = check.built[arrangement], check.washers[arrangement]
    joint, preload = built.joint, check.preload["usual"]
    travel, flat = bolting.stack_deflection(joint.stack, preload)
    return {
        "arrangement": arrangement,
        "fitted": arrangement == check.fitted,
        "stud_compliance_m_per_n": built.stud,
        "parts_compliance_m_per_n": built.parts,
        "washers_compliance_m_per_n": travel / preload,
        "growth_m": joint.growth,
        "settling_m": joint.settling,
        "stud_share": bolting.load_factor(built.stud + travel / preload, built.parts),
        "washers": None if washers is None else washers.model_dump(),
        "washers_flat_force_n": None if washers is None else jointing.flat_force(joint.stack),
        "washers_flat_when_tightened": flat,
        "washers_stress_pa": None if washers is None else jointing.washer_stress(joint.stack, preload),
    }


def _clamp(arrangement: str, friction: str, clamp: bolting.Clamp) -> dict[str, Any]:
    lost = clamp.tightened - clamp.cooled
    return {
        "arrangement": arrangement,
        "preload": friction,
        "tightened_n": clamp.tightened,
        "settled_n": clamp.settled,
        "hot_n": clamp.hot,
        "cold_again_n": clamp.cooled,
        "lost_n": lost,
        "lost_share": lost / clamp.tightened,
        "stretched_m": clamp.plastic,
        "gap_hot_m": clamp.hot_gap,
        "gap_cold_m": clamp.cold_gap,
        "washers_flat": clamp.washers_flat,
    }


def shares(f: Flange) -> bool:
    """Whether a metal temperature follows from the wall's by a share."""
    return f.flange_temperature is None or f.stud_temperature is None


def models_used(check: Check) -> dict[str, str]:
    """Each relation or table used, and its source."""
    f, washers = check.flange, check.washers[SPRUNG]
    limits = materials.LIMITS
    used = {
        "wall": manifold.SOURCES["runner_heat"] if check.heat.wall_source != "given" else "given",
        "flange and studs": "shares of the wall's rise: common practice, no source" if shares(f) else "given",
        "torque": "T = K F d, K of Shigley, Table 8-15, from memory; friction formula of VDI 2230 beside it; "
        "4 % for the wrench, ISO 6789, from memory",
        "yield in tightening": "tension and torsion together, VDI 2230",
        "stud and parts": "substitute lengths of VDI 2230; pressure cone of 30 degrees, Shigley, sec. 8-5",
        "settling": "VDI 2230, Table 5, from memory, confidence med",
        "heat cycle": "springs in a loop; elastic, perfectly plastic stud; no creep",
        f"studs, {f.stud_metal}": materials.STUDS[f.stud_metal].source,
        f"flange under the nut, {f.near_metal}": materials.CASTINGS[f.near_metal].source,
        f"flange behind, {f.far_metal}": materials.CASTINGS[f.far_metal].source,
    }
    if washers is not None:
        used["conical washers"] = "EN 16984 (Almen & Laszlo, 1936)" + (
            "" if f.washers is not None else "; size a stand-in near DIN 6796, from memory, confidence med"
        )
    if f.washers is not None:
        used["washers' heat"] = limits[f"{f.washers.metal} conical washer"].source
    if f.paste is not None:
        used["paste's heat"] = limits[f"{f.paste} anti-seize paste"].source
    if f.holding == "tapped":
        used["threads"] = "shear areas as in FED-STD-H28/2B, from memory, confidence high"
    if check.case.boss is not None:
        used["boss"] = (
            "whole thread in a round wall from its geometry; engagement and edge distance common practice, no source"
        )
    return used
