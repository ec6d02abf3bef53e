"""The one table of names: every result with its unit and meaning, every input with its unit, stand-in and tip."""

from typing import NamedTuple

from . import showing
from .schema import Spec


class Result(NamedTuple):
    """One name of a prediction: kind of unit, what the trade calls it, what it means, the group it is printed in."""

    kind: str
    label: str
    meaning: str
    group: str


def _group(group: str, *rows: tuple[str, str, str, str]) -> dict[str, Result]:
    return {name: Result(kind, label, meaning, group) for name, kind, label, meaning in rows}


RESULTS: dict[str, Result] = {
    **_group(
        "operating point",
        ("speed_rpm", "rpm", "engine speed", "crank speed"),
        ("boost_pa", "pressure", "boost", "gauge pressure in the intake manifold after the cooler: what a boost gauge shows"),
        ("boost_reached", "flag", "boost reached", "whether the turbine can make the boost that was asked for"),
        ("intake_pressure_pa", "pressure", "intake pressure, absolute", "absolute pressure in the intake manifold"),
        ("intake_temperature_k", "temperature", "intake temperature", "charge in the intake manifold, after the cooler"),
        ("lambda_ratio", "number", "lambda", "air over stoichiometric air"),
        ("afr", "number", "air-fuel ratio", "air to fuel by mass, on the fuel's own scale"),
        ("spark_advance_deg", "angle", "spark advance", "ignition before firing top dead centre, at the crank"),
        ("air_flow_kg_s", "mass_flow", "air flow", "air through the engine"),
        ("fuel_flow_kg_s", "mass_flow", "fuel flow", "fuel through the engine, alcohol that [injection] sprays in included"),
        ("exhaust_flow_kg_s", "mass_flow", "exhaust flow", "gas leaving the engine"),
        ("water_flow_kg_s", "mass_flow", "water injected", "water sprayed into the charge, where [injection] asks for it"),
        ("alcohol_flow_kg_s", "mass_flow", "alcohol injected", "alcohol sprayed in with the water; in fuel flow and lambda it is counted as fuel"),
        ("water_evaporated_fraction", "fraction", "of the spray, vapour in the manifold", "what saturated air there can hold (CoolProp); the rest goes in as drops and evaporates in the cylinder"),
        ("wet_intake_temperature_k", "temperature", "charge after the spray", "moist air with what has evaporated in it, before the fuel's own cooling (CoolProp)"),
        ("lambda_of_tank", "number", "lambda if the spray fails", "what the fuel from the tank leaves by itself, without the alcohol sprayed in"),
        ("volumetric_efficiency", "fraction", "volumetric efficiency", "air drawn in over what fills the displacement at intake density"),
    ),
    **_group(
        "hot side",
        ("backpressure_pa", "pressure", "backpressure before the turbine", "cycle mean before the turbine, above ambient: what a tap there shows"),
        ("backpressure_ratio", "number", "backpressure to boost", "gauge backpressure over gauge boost: the trade's ratio, 24 psi over 15 psi is 1.6"),
        ("backpressure_turbine_pa", "pressure", "of it the turbine", "pressure over turbine and wastegate, which stand side by side: the turbine's share, as its share of the gas"),
        ("backpressure_wastegate_pa", "pressure", "of it the wastegate's passage", "the wastegate's share of the same pressure, as its share of the gas; 0 while it is shut"),
        ("backpressure_pipe_pa", "pressure", "of it the pipe after the turbine", "pressure after the turbine above ambient; with the two shares before it the whole backpressure"),
        ("pre_turbine_pressure_pa", "pressure", "pressure before the turbine, absolute", "cycle mean, absolute"),
        ("pressure_ratio_exhaust_intake", "number", "exhaust over intake pressure, absolute", "absolute pressure before the turbine over that in the intake"),
        ("pressure_ratio_turbine", "number", "expansion ratio of the turbine", "absolute pressure before over after the turbine"),
        ("exhaust_temperature_k", "temperature", "gas leaving the cylinders", "flow-weighted mean of the gas leaving the cylinders"),
        ("exhaust_temperature_time_mean_k", "temperature", "gas in the runners, mean over time", "gas in port and runner over the whole cycle, all cylinders: lower, as it stands and cools while nothing flows; of a bench, which has no runners, the cylinder's gas while its exhaust valve is open"),
        ("turbine_inlet_temperature_k", "temperature", "gas before the turbine", "flow-weighted mean before the turbine"),
        ("turbine_outlet_temperature_k", "temperature", "gas after the turbine", "mixed-out mean after turbine and wastegate"),
        ("turbine_efficiency", "fraction", "turbine efficiency", "work over the cycle as a share of the isentropic work"),
        ("turbine_choked", "flag", "turbine choked", "more than half of the cycle's gas passed within 1 % of the greatest corrected flow"),
        ("turbine_choked_share", "fraction", "gas passed while choked", "share of the cycle's gas that passed within 1 % of the greatest corrected flow"),
        ("compressor_efficiency", "fraction", "compressor efficiency", "isentropic work over work"),
        ("compressor_pressure_ratio", "number", "pressure ratio of the compressor", "absolute pressure after over before it, losses of filter and cooler included"),
        ("surge_margin_fraction", "fraction", "flow above surge", "flow less the surge flow at this pressure ratio, as a share of the flow; negative past the line"),
        ("choke_margin_fraction", "fraction", "flow below compressor choke", "greatest flow of the compressor at this pressure ratio less the flow, as a share of the former; negative past the line"),
        ("shaft_speed_rad_s", "rotation", "turbo shaft speed", "speed of the turbo's shaft"),
        ("wastegate_opening", "fraction", "wastegate opening", "0 shut, 100 % fully open"),
    ),
    **_group(
        "cylinder",
        ("bmep_pa", "pressure", "bmep", "brake mean effective pressure: torque for each litre, as a pressure"),
        ("imep_gross_pa", "pressure", "imep, gross", "work of compression and expansion over the displacement"),
        ("imep_net_pa", "pressure", "imep, net", "work of the whole cycle over the displacement"),
        ("pmep_pa", "pressure", "pmep", "work of gas exchange over the displacement; negative where it costs"),
        ("fmep_pa", "pressure", "fmep", "friction over the displacement"),
        ("torque_nm", "torque", "torque", "at the flywheel"),
        ("power_w", "power", "power", "at the flywheel"),
        ("bsfc_kg_j", "specific_consumption", "fuel for each unit of work (bsfc)", "fuel over brake work"),
        ("residual_fraction", "fraction", "residual gas", "burnt gas in the charge at inlet closing, by mass"),
        ("peak_pressure_pa", "pressure", "peak cylinder pressure", "greatest pressure of the mean cycle, absolute"),
        ("peak_pressure_deg", "angle", "peak pressure at", "after firing top dead centre"),
        ("peak_pressure_bad_cycle_pa", "pressure", "peak cylinder pressure, bad cycle", "the same of the cycle that 1 in 20 beats (knock.bad_cycle)"),
        ("exhaust_valve_lifting_force_n", "force", "gas force that lifts a shut exhaust valve", "most of the cycle: runner over cylinder pressure on the head; the seat load must hold it"),
        ("intake_valve_lifting_force_n", "force", "gas force that lifts a shut intake valve", "most of the cycle: intake over cylinder pressure on the head; negative where the gas holds it shut"),
    ),
    **_group(
        "burn and knock",
        ("ca10_deg", "angle", "10 % burnt (CA10)", "after firing top dead centre"),
        ("ca50_deg", "angle", "50 % burnt (CA50)", "after firing top dead centre"),
        ("ca90_deg", "angle", "90 % burnt (CA90)", "after firing top dead centre"),
        ("nitric_oxide_ppm", "ppm", "nitric oxide in the exhaust", "thermal NO by mole in the wet exhaust of cylinder 1, where report.nitric_oxide names rate constants"),
        ("nitric_oxide_kg_j", "specific_emission", "nitric oxide for each unit of work", "thermal NO over the net indicated work of cylinder 1, counted as NO"),
        ("unburned_temperature_max_k", "temperature", "hottest end gas", "highest temperature of the unburned gas"),
        ("knock_integral", "number", "knock integral", "autoignition integral of the end gas; the mean cycle knocks at 1"),
        ("knock_onset_deg", "angle", "knock onset", "crank angle where the integral reaches 1; none where it does not"),
        ("octane_required", "octane", "octane required", "octane number with which the mean cycle just does not knock"),
        ("knock_margin_deg", "angle", "knock margin", "spark degrees to the knock limit of the mean cycle; negative past it"),
        ("knock_limited_spark_deg", "angle", "knock-limited spark", "spark advance at which the mean cycle just knocks"),
        ("knock_limited_spark_short_delay_deg", "angle", "the same, delay 20 % shorter", "knock-limited spark of a fuel that ignites in 20 % less time than its octane number says; that far pump fuels differ (common practice, from memory)"),
        ("octane_required_bad_cycle", "octane", "octane required, bad cycle", "octane number with which the bad cycle just does not knock"),
        ("knock_margin_bad_cycle_deg", "angle", "knock margin, bad cycle", "spark degrees to the knock limit of the cycle that 1 in 20 beats (knock.bad_cycle, burn.cyclic_spread)"),
    ),
    **_group(
        "book-keeping",
        ("mass_closure", "small", "mass closure", "mass lost or found over a cycle, as a share of the flow"),
        ("energy_closure", "small", "energy closure", "energy lost or found over a cycle, as a share of the fuel's"),
        ("energy_unburned", "fraction", "fuel energy left in the exhaust", "chemical energy leaving unburnt, as a share of the fuel's"),
        ("wall_heat_fraction", "fraction", "fuel energy to the cylinder walls", "heat to piston, head and liner, as a share of the fuel's energy"),
        ("exhaust_heat_fraction", "fraction", "fuel energy to the exhaust", "what is neither work on the piston nor heat to the walls, as a share of the fuel's energy"),
        ("cycles", "count", "cycles simulated", "engine cycles until the solution repeated itself"),
        ("converged", "flag", "converged", "whether the solution repeats itself from cycle to cycle"),
    ),
    **_group(
        "flange",
        ("wall_temperature_k", "temperature", "wall at the flange", "manifold's wall at the flange, as hot as a held pull makes it"),
        ("flange_temperature_k", "temperature", "flanges", "metal of the flanges, following the wall"),
        ("stud_temperature_k", "temperature", "studs", "metal of the studs, following the wall"),
        ("gas_pressure_peak_pa", "pressure", "peak pressure in the flange", "greatest pressure of the cycle there, above ambient"),
        ("gas_force_n", "force", "force of the gas", "peak pressure on the opening area, parts the flange"),
        ("clamp_wanted_n", "force", "clamp wanted", "clamp factor times the force of the gas, and what the gasket asks for"),
        ("tightening_torque_nm", "torque", "torque to set", "torque of the case, or the one proposed"),
        ("tightening_torque_lowest_nm", "torque", "least torque", "with sticky threads it still keeps the clamp wanted; none where none does"),
        ("tightening_torque_proposed_nm", "torque", "torque proposed", "the highest less 4 % for the wrench"),
        ("tightening_torque_highest_nm", "torque", "most torque", "with slippery threads it takes the stud to the share of yield allowed"),
        ("tightening_torque_elastic_hot_nm", "torque", "most torque for a hot stud", "with slippery threads it stretches no hot stud for good; none where any does"),
        ("wrench_setting_nm", "torque", "wrench set with the adapter", "torque times grip over grip and adapter in line"),
        ("turn_deg", "angle", "turn past snug", "turn of the nut that makes the usual preload"),
        ("preload_lowest_n", "force", "preload, sticky threads", "stud force where friction is high"),
        ("preload_usual_n", "force", "preload", "stud force at the usual friction"),
        ("preload_highest_n", "force", "preload, slippery threads", "stud force where friction is low"),
        ("stud_yield_tightening_n", "force", "stud yields in tightening at", "stud force, with the twist of the wrench in it"),
        ("stud_yield_hot_n", "force", "stud yields hot at", "stud force at its hot yield"),
        ("clamp_left_hot_n", "force", "clamp left hot", "whole flange, sticky threads, gas taken off"),
        ("clamp_left_cold_again_n", "force", "clamp left cold again", "whole flange, sticky threads, gas taken off"),
    ),
    **_group(
        "pull",
        ("duration_s", "time", "length of the pull", "from the opening of the throttle to the last speed"),
        ("road_speed_m_s", "speed", "road speed", "of the vehicle in its gear, no wheel slip"),
        ("held_reading_k", "temperature", "reading if held", "what a probe would read were the speed held until probe and walls have settled"),
        ("settling_reading_k", "temperature", "settling reading", "what a probe moves towards, beside gas and walls of the moment"),
        ("needle_k", "temperature", "needle", "what a probe shows at that moment of the pull"),
        ("tap_needle_pa", "pressure", "pressure tap's needle", "what the gauge at the end of its tube shows at that moment"),
        ("lift_k", "temperature", "lift value, the edge", "what the needle shows when the reading if held is at its ceiling"),
        ("lift_backed_off_k", "temperature", "lift value, backed off", "the edge less the probe's tolerance class and what the needle climbs in 0.7 s"),
    ),
    **_group(
        "lists",
        ("probes", "list", "exhaust probes", "for each probe: cylinder, location, gas_temperature_k (mean weighted with the flow), gas_time_mean_k, reading_k, its tolerance band, what pulsation, recovery, radiation and conduction take, response"),
        ("pressure_tap", "list", "pressure tap", "reading_pa, wall and gas along the tube, gauge end against what the gauge stands, lag, pulsation left, resonance"),
        ("parts", "list", "hot-side parts", "for each part: surface_k and where it comes from"),
        ("margins", "list", "margins", "for each limit: name, value, limit, margin, exceeded"),
        ("cylinders", "list", "cylinders", "the values of each cylinder"),
        ("warnings", "list", "warnings", "sentences about what is doubtful or out of range"),
        ("models", "list", "submodels", "each submodel used and its source"),
    ),
}  # fmt: skip

SUFFIXES = {  # kind by the ending of a name, for the values of a cylinder, a probe or a margin
    "_pa": "pressure", "_k": "temperature", "_deg": "angle", "_kg_s": "mass_flow", "_rad_s": "rotation", "_w": "power",
    "_nm": "torque", "_kg_j": "specific_consumption", "_oxide_kg_j": "specific_emission", "_ppm": "ppm", "_rpm": "rpm", "_fraction": "fraction", "_efficiency": "fraction",
    "_m3_s": "fuel_flow", "_n": "force", "_m_s": "speed", "_kg": "mass", "_m": "length", "_s": "time", "_share": "fraction",
}  # fmt: skip
LIMIT_KINDS = {
    "probe": "temperature", "temperature": "temperature", "knock": "angle", "pressure": "pressure", "tip": "speed",
    "shaft": "rotation", "ratio": "number", "duty": "fraction", "flow": "fuel_flow", "force": "force",
}  # fmt: skip


ROOMS = {  # word in the name of a result -> the room whose docstring holds its formula and the published source
    "knock": "models/knock.py", "octane": "models/knock.py", "unburned_temperature": "sim/closed.py", "nitric": "models/nitric_oxide.py",
    "fmep": "models/friction.py", "ca10": "models/combustion.py", "ca50": "models/combustion.py", "ca90": "models/combustion.py",
    "turbine": "models/turbine.py", "compressor": "models/compressor.py", "surge": "models/wheel.py", "choke_margin": "models/wheel.py",
    "wastegate": "models/wastegate.py", "wall_heat": "models/wall_heat.py", "lifting_force": "sim/valve_forces.py",
    "closure": "sim/accounts.py", "unburned": "sim/accounts.py", "exhaust_heat": "sim/accounts.py", "residual": "sim/exchange.py",
}  # fmt: skip


def room_of(name: str) -> str:
    """File that holds the formula of a result; empty for what is a plain ratio, sum or mean of the march."""
    return next((room for word, room in ROOMS.items() if word in name), "")


def kind_of(name: str) -> str:
    """Kind of unit of a result, from the table or from the ending of its name."""
    if name in RESULTS:
        return RESULTS[name].kind
    endings = sorted((e for e in SUFFIXES if name.endswith(e)), key=len)
    return SUFFIXES[endings[-1]] if endings else "number"


def label_of(name: str) -> str:
    """What the trade calls a result; a name not in the table loses its underscores."""
    if name in RESULTS:
        return RESULTS[name].label
    endings = sorted((e for e in SUFFIXES if name.endswith(e)), key=len)
    bare = name[: -len(endings[-1])] if endings and SUFFIXES[endings[-1]] != "fraction" else name
    return bare.replace("_", " ")


def unit_of(kind: str, family: str) -> str:
    """Unit in which a kind is printed; empty for what has none."""
    how = showing.FAMILIES[family].get(kind)
    return how.unit if how else ""


def inputs() -> dict[str, Spec]:
    """Every input by its dotted name; N stands for the number of a table that repeats."""
    from .sections import SPECS

    return SPECS
