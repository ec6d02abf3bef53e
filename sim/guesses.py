"""Which inputs of a case are stand-ins, how each could be measured, and which given inputs the chosen models do not read."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from .schema import Section, places
from .sections_engine import Burn, Engine, Friction, Fuel
from .sections_flange import Flange
from .sections_gauges import Fitting, PressureTap, Probe
from .sections_injection import Injection
from .sections_pull import Pull
from .sections_turbo import Ambient, Compressor, Exhaust, Report, Turbine, Wastegate

if TYPE_CHECKING:
    from .case import Case

READ_BY = {  # turbine model -> inputs that no other model reads
    "area": {"area"},
    "hardware": {"a_over_r", "throat_area", "throat_radius", "wheel_outlet_diameter", "hub_diameter", "exit_angle"},
    "curve": {"curve", "reference_pressure", "reference_temperature"},
    "map": {"map"},
}
PARABOLA = {"efficiency_peak", "blade_speed_ratio_peak"}  # of a turbine whose efficiency is not measured
ENTRIES = {"unequal_admission_loss", "entry_share"}  # of a divided housing
COMPRESSOR = {  # compressor model -> inputs it does not read
    "wheel": {"map", "efficiency"},
    "map": {"inducer_diameter", "efficiency_peak", "efficiency", "work_coefficient", "throat_ratio"},
    "constant": {"map", "inducer_diameter", "efficiency_peak", "throat_ratio"},
}
SPRING_LOADED = {"crack_pressure", "full_pressure", "diaphragm_diameter", "lever_ratio", "signal"}
GATE = {"boost": {"opening"} | SPRING_LOADED, "opening": SPRING_LOADED, "spring": {"opening"}}  # not read by the model
CHEN_FLYNN = {"chen_flynn_constant", "chen_flynn_pressure", "chen_flynn_speed", "chen_flynn_speed2"}
INJECTION = {"injector_count", "injector_rated_pressure", "injector_dead_time"}
RAIL = {"rail_pressure", "rail_follows"}
SPARK = {"reference_delay", "reference_duration", "duration_scale", "density_power"}
BURN = {  # burn model -> inputs it does not read
    "spark": {"table", "ca50", "duration_10_90"},
    "imposed": SPARK | {"table"},
    "table": SPARK | {"duration_10_90", "wiebe_m"},
}


def notes(case: Section) -> tuple[dict[str, str], tuple[str, ...]]:
    """What a case leaves to stand-ins (dotted name -> tip) and what it gives in vain, before stand-ins are filled in."""
    guesses: dict[str, str] = {}
    vain: list[str] = []
    for section, prefix in _sections(case, ""):
        idle, given = unread(section) | _undivided(case, section), section.model_fields_set
        settled = idle | given | _following(section)
        for name, key, spec in places(type(section)):
            if spec and spec.need == "guess" and name not in settled:
                guesses[prefix + key] = spec.tip
        vain.extend(prefix + name for name in sorted(idle & given))
    return guesses, tuple(vain)


def _sections(section: Section, prefix: str) -> Iterator[tuple[Section, str]]:
    """A section and all below it, with the beginning of their dotted names."""
    yield section, prefix
    for name, key, spec in places(type(section)):
        value = getattr(section, name) if spec is None else None
        if isinstance(value, Section):
            yield from _sections(value, f"{prefix}{key}.")
        elif isinstance(value, tuple):
            for k, item in enumerate(value, 1):
                yield from _sections(item, f"{prefix}{key}.{getattr(item, 'number', k)}.")


def unread(section: Section) -> set[str]:
    """Inputs of a section that its chosen model does not read."""
    if isinstance(section, Turbine):
        idle = set().union(*(names for model, names in READ_BY.items() if model != section.model))
        return idle | (PARABOLA if section.model == "map" else set())
    if isinstance(section, Wastegate):
        return GATE[section.model]
    if isinstance(section, Compressor):
        return COMPRESSOR[section.model]
    if isinstance(section, Burn):
        return BURN[section.model]
    if isinstance(section, Friction):
        return set() if section.model == "chen_flynn" else CHEN_FLYNN
    if isinstance(section, Exhaust):
        return {"turbine_at"} if section.collector_volumes == 1 else set()
    if isinstance(section, Report):
        return {"nitric_oxide_zone"} if section.nitric_oxide == "none" else set()
    if isinstance(section, Flange):
        return {"engagement"} if section.holding == "nut" else set()
    if isinstance(section, Probe):
        return {"sheath"} if section.kind == "bare" else set()
    if isinstance(section, PressureTap):
        return {"gauge"} if section.gauge_limit is not None and "cavity" in section.model_fields_set else set()
    if isinstance(section, Pull):
        return {"ramp"} if section.by == "gear" else set()
    if isinstance(section, Fitting):
        return {"diameter", "wall", "metal"} if section.path == "air" else set()
    if isinstance(section, Injection):
        idle = set() if section.alcohol != "none" else {"alcohol_by_volume", "alcohol_by_mass"}
        return idle | (
            {"temperature", "evaporation_share"} if section.share is None and section.flow is None else set()
        )
    if isinstance(section, Fuel) and section.injector_flow is None:
        return INJECTION | (RAIL if section.pump_curve is None else set())
    return set()


def _undivided(case: Section, section: Section) -> set[str]:
    """Inputs of two entries, which a housing with one does not read."""
    exhaust = getattr(case, "exhaust", None)
    one = isinstance(section, Turbine) and isinstance(exhaust, Exhaust) and exhaust.collectors == 1
    return (ENTRIES if one else set()) | _unchained(case, section)


def _unchained(case: Section, section: Section) -> set[str]:
    """Inputs of a collector in parts, which one that stands for a plenum of fixed pressure is not."""
    run = getattr(case, "run", None)
    held = getattr(run, "held_backpressure", None) is not None
    return {"collector_volumes", "turbine_at"} if held and isinstance(section, Exhaust) else set()


def _following(section: Section) -> set[str]:
    """Inputs that follow from others which were given."""
    given = section.model_fields_set
    if isinstance(section, Engine):
        return {"breathing"} if section.volumetric_efficiency_measured is not None else set()
    if isinstance(section, Exhaust):
        return _following_exhaust(section)
    if isinstance(section, Ambient):
        return {"pressure"} if "altitude" in given else set()
    return {Turbine: {"throat_area"}, Fuel: {"blend"}, Wastegate: {"area"}}.get(type(section), set())


def _following_exhaust(section: Exhaust) -> set[str]:
    given = section.model_fields_set
    found = {"cylinders_to"} if section.collectors == 1 else set()
    if section.restriction is not None:
        found |= {"downpipe_diameter", "loss_coefficient"}
    if {"runner_diameter", "runner_length"} <= given:
        found |= {"runner_volume", "runner_surface"}
    return found | ({"runner_length"} if {"runner_diameter", "runner_volume"} <= given else set())


def worth_measuring(case: "Case") -> list[str]:
    """Stand-ins of a case that can be measured, those first whose likely band is widest beside the value itself."""
    from .sections import SPECS

    def width(name: str) -> float:
        spec = SPECS[".".join("N" if part.isdigit() else part for part in name.split("."))]
        value = case.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or not value:
            return 0.0
        return abs(spec.half_width(float(value)) / value)

    names = [name for name, tip in case.guesses.items() if not tip.startswith("never required")]
    return sorted(names, key=width, reverse=True)
