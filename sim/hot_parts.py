"""Surface temperatures of what is hot, and what generic materials stand there: runners, collectors, housing, flange, fittings."""

import math
import re
from collections.abc import Sequence
from typing import Any

from ..models import endurance, gauges, manifold, nearby, tap
from . import exchange as ex
from . import probes, surroundings
from .names import RESULTS
from .names_entries import ENTRIES
from .sections_flange import Flange
from .sections_gauges import Fitting
from .settle import March
from .streams import has_manifold

CHOKED = 0.667  # flow parameter of a choked nozzle, gamma 1.32 [-]
SOURCES = {
    "walls": "mean heat from the pulsing gas out again to the bay; thin wall, one temperature",
    "housing": "a volute as a pipe of its throat's bore at the mean flow, no heat into the bearing housing: the warm side",
    "flange": "a share of the wall's rise over the air outside: common practice, no source",
    "metal": "a fin in still air, its far end insulated: the warm side",
    "air": "a thin plate facing a long hot pipe, radiation and convection: the warm side",
}
SEEN_EMISSIVITY = 0.9  # of rubber, plastic, paint and cloth near the heat; from memory, confidence high [-]
ALIASES = {"housing": "turbine housing", "flange": "turbine flange"}
OTHERS = ("probe", "probe_sheath", "tap_gauge", "stud_paste")  # limits of temperature that are no fitting's
Row = dict[str, Any]


def parts(march: March, turbine_inlet: float | None) -> list[Row]:
    """Rows of part, surface_k and basis; none on a bench, which has no manifold.

    turbine_inlet : gas before the turbine [K], None behind a pressure held by hand, which warms no collector
    """
    if not has_manifold(march):
        return []
    rows = _walls(march)
    if turbine_inlet is not None:
        rows.append(_row("turbine housing", housing(march, turbine_inlet), "housing"))
    rows += _flange(march, rows)
    return rows + [_fitting(march, rows, number, one) for number, one in enumerate(march.setup.case.fitting, 1)]


def _row(part: str, surface: float, basis: str, **more: Any) -> Row:
    return {"part": part, "surface_k": surface, "basis": SOURCES[basis], **more}


def _walls(march: March) -> list[Row]:
    """Every runner, and every collector that warms."""
    n, wall = march.setup.engine.cylinders, march.memory.wall
    rows = [_row(f"runner {k + 1}", float(wall[k]), "walls") for k in range(n)]
    if march.setup.plant.kind != surroundings.TURBO:
        return rows
    collectors = march.setup.engine.collectors
    names = ["collector"] if collectors == 1 else [f"collector {k + 1}" for k in range(collectors)]
    return rows + [_row(name, float(wall[n + k]), "walls") for k, name in enumerate(names)]


def housing(march: March, inlet: float) -> float:
    """Wall of the turbine housing [K]: the volute's film against the loss of its outside, larger as the manifold's is.

    The throat is the housing's own where it is known, else the nozzle that would swallow as much, which is smaller.
    """
    engine, plant, turbine = march.setup.engine, march.setup.plant, march.setup.case.turbine
    known = turbine.throat_area if turbine is not None and turbine.model == "hardware" else None
    throat = known / engine.collectors if known else plant.swallowing / CHOKED
    bore = math.sqrt(4.0 / math.pi * throat)
    through = float(march.desk.collector[:, ex.B_TURBINE_MASS].sum()) * plant.speed_rpm / 120.0
    film = manifold.pipe_coefficient(through / engine.collectors, bore, inlet, gauges.SPECIFIC_HEAT)
    loss = (engine.outer_area_ratio, engine.bay_temperature, engine.outer_emissivity, engine.outer_coefficient)
    return float(manifold.wall_temperature(film, film * inlet, *loss, inlet))


def _flange(march: March, rows: list[Row]) -> list[Row]:
    """The turbine flange and its studs, following the wall where the case bolts it; stand-in shares where it is silent."""
    flange = march.setup.case.flange or Flange()
    air = march.setup.ambient.temperature
    wall = flange.wall_temperature or _surface(rows, flange.place)

    def follows(given: float | None, share: float) -> float:
        return given if given is not None else air + share * (wall - air)

    return [
        _row("turbine flange", follows(flange.flange_temperature, flange.flange_rise), "flange"),
        _row("flange studs", follows(flange.stud_temperature, flange.stud_rise), "flange"),
    ]


def _surface(rows: list[Row], place: int | str) -> float:
    """Surface temperature of the part a place names, of the hottest where several bear the name [K].

    Behind a pressure held by hand no collector and no housing warms: the hottest runner stands in for them.
    """
    wanted = f"runner {place}" if isinstance(place, int) else ALIASES.get(place, place)
    found = [row for row in rows if row["part"] == wanted or (place == "collector" and row["part"].startswith(wanted))]
    found = found or [row for row in rows if row["part"].startswith("runner")]
    return max(row["surface_k"] for row in found)


def _fitting(march: March, rows: list[Row], number: int, one: Fitting) -> Row:
    """A thing that stands on a hot part, or near it."""
    hot, engine = _surface(rows, one.place), march.setup.engine
    if one.path == "metal":
        surface = along_metal(one, hot, engine.bay_temperature)
    else:
        radius = 0.5 * engine.runner_diameter * engine.outer_area_ratio
        share = nearby.seen_share(radius, one.distance)
        surface = nearby.facing_temperature(
            hot, engine.bay_temperature, share, engine.outer_emissivity, SEEN_EMISSIVITY, engine.outer_coefficient
        )
    return _row(one.name, surface, one.path, fitting=number, place=one.place, distance_m=one.distance)


def along_metal(one: Fitting, hot: float, air: float) -> float:
    """End of a tube or rod that stands on a hot surface [K]."""
    if one.distance <= 0.0:
        return hot
    conductivity, emissivity = tap.TUBE_METALS[one.metal]
    wall = min(one.wall or 0.5 * one.diameter, 0.4999 * one.diameter)  # a rod is a tube with next to no bore
    tube = tap.Tube(one.diameter - 2.0 * wall, wall, float(one.distance), conductivity, emissivity)
    return tap.gauge_temperature(tube, hot, air)


def held(march: March, values: dict[str, Any]) -> list[tuple[str, float, float]]:
    """What this case has in the heat against what it stands: (name, temperature, limit) [K], for the margins."""
    case = march.setup.case
    found: list[tuple[str, float, float]] = []
    for row, one in zip(values["probes"], case.probe, strict=False):
        found.append((f"{probes.material(one)}_k", row["reading_k"], probes.rating(one).continuous))
    found = _worst(found)
    if values["pressure_tap"] is not None:
        line = values["pressure_tap"]
        found.append(("tap_gauge_temperature_k", line["gauge_end_warm_side_k"], line["gauge_limit_k"]))
    by_part = {row["part"]: row["surface_k"] for row in values["parts"]}
    if case.flange is not None and case.flange.paste is not None and "flange studs" in by_part:
        paste = endurance.LIMITS[f"{case.flange.paste} anti-seize paste"].continuous
        found.append(("stud_paste_temperature_k", by_part["flange studs"], paste))
    for row in values["parts"]:
        limit = fitting_limit(case.fitting[row["fitting"] - 1]) if "fitting" in row else None
        if limit is not None:
            found.append((limit_name(case.fitting, row["fitting"]), row["surface_k"], limit))
    return found


def limit_name(fittings: Sequence[Fitting], number: int) -> str:
    """What the limit of a fitting is called: by the fitting's own name, unless another limit, or fitting, bears that."""
    called = [re.sub(r"\W+", "_", one.name.lower()).strip("_") for one in fittings]
    own = called[number - 1]
    name = f"{own}_temperature_k"
    taken = not own or called.count(own) > 1 or name in RESULTS or name in ENTRIES or own in OTHERS
    return f"fitting_{number}_temperature_k" if taken else name


def _worst(rows: list[tuple[str, float, float]]) -> list[tuple[str, float, float]]:
    """The row with the least margin, under the name of a probe's sheath."""
    worst = min(rows, key=lambda row: row[2] - row[1], default=None)
    return [] if worst is None else [("probe_sheath_temperature_k", worst[1], worst[2])]


def fitting_limit(one: Fitting) -> float | None:
    """What a fitting stands [K]; None where the case names neither its material nor a limit."""
    if one.limit is not None:
        return one.limit
    return endurance.LIMITS[one.material].continuous if one.material is not None else None
