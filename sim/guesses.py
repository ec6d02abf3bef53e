"""Which inputs of a case are stand-ins, and how each could be measured."""

from collections.abc import Iterator

from .schema import Section, places
from .sections_engine import Engine, Fuel
from .sections_turbo import Ambient, Exhaust, Turbine, Wastegate

HARDWARE = {"throat_radius", "wheel_outlet_diameter", "hub_diameter", "exit_angle"}
INJECTION = {"injector_count", "injector_rated_pressure", "rail_pressure"}


def stand_ins(section: Section, prefix: str = "") -> Iterator[tuple[str, str]]:
    """Dotted name and tip of every stand-in a case uses, before they are filled in."""
    unused = _unused(section)
    for name, key, spec in places(type(section)):
        if spec and (spec.need != "guess" or name in section.model_fields_set or name in unused):
            continue
        value, key = getattr(section, name), prefix + key
        if spec:
            yield key, spec.tip
        elif isinstance(value, Section):
            yield from stand_ins(value, key + ".")
        elif isinstance(value, tuple):
            for k, item in enumerate(value, 1):
                yield from stand_ins(item, f"{key}.{getattr(item, 'number', k)}.")


def _unused(section: Section) -> set[str]:
    """Inputs that follow from others that were given, or that the chosen model does not read."""
    given = section.model_fields_set
    if isinstance(section, Engine):
        return {"breathing"} if section.volumetric_efficiency_measured is not None else set()
    if isinstance(section, Turbine):
        return {"throat_area"} if section.model == "hardware" else {"throat_area", *HARDWARE}
    if isinstance(section, Fuel):
        return {"blend"} | (INJECTION if section.injector_flow is None else set())
    if isinstance(section, Exhaust):
        return _unused_exhaust(section)
    if isinstance(section, Ambient):
        return {"pressure"} if "altitude" in given else set()
    return {"area"} if isinstance(section, Wastegate) else set()


def _unused_exhaust(section: Exhaust) -> set[str]:
    given = section.model_fields_set
    found = {"cylinders_to"} if section.collectors == 1 else set()
    if section.restriction is not None:
        found |= {"downpipe_diameter", "loss_coefficient"}
    if {"runner_diameter", "runner_length"} <= given:
        found |= {"runner_volume", "runner_surface"}
    return found | ({"runner_length"} if {"runner_diameter", "runner_volume"} <= given else set())
