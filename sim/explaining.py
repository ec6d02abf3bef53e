"""What `explain` says of a result, an input or a section: meaning, unit, source of the formula or how to measure it."""

import difflib

from . import units
from .errors import CaseError
from .names import RESULTS, inputs, room_of, unit_of
from .names_entries import ENTRIES
from .schema import Spec

BARE = {  # what a result without a unit is
    "number": "a number", "list": "a list", "flag": "yes or no", "octane": "octane, RON", "small": "a share, as a number", "count": "a whole number",
}  # fmt: skip
KINDS = {  # what an input without a unit is
    "choice": "one of the names above", "fraction": "a share; 0.5 or \"50 %\"", "number": "a number", "integer": "a whole number",
    "table": "a table", "place": "the number of a cylinder, or \"collector\"", "event": "an angle as on a cam card", "text": "text", "list": "a list",
    "loss": "a loss coefficient", "flag": "true or false", "map": "a CSV file or a table of points", "thread": "a thread as its standard writes it",
    "octane": "an octane number with its scale: RON, MON or pump", "burned": "a CSV file", "after_tdc": "an angle after top dead centre", "curve": "pairs of ratio and flow",
    "spark": "an angle before top dead centre", "material": "the name of a material",
}  # fmt: skip
SI = {
    "_pa": "Pa", "_k": "K", "_deg": "deg", "_kg_s": "kg/s", "_rad_s": "rad/s", "_m3_s": "m3/s", "_m_s": "m/s", "_kg": "kg", "_m": "m", "_s": "s", "_hz": "Hz",
    "_fraction": "a share",
}  # fmt: skip
SOURCES = {  # of each room, in few words; its docstrings say more
    "models/knock.py": "Douaud & Eyzat, SAE 780080 (1978)",
    "sim/closed.py": "two zones at one pressure, first law; isentropic but for wall heat",
    "models/nitric_oxide.py": "Zeldovich (1946); Lavoie, Heywood & Keck, Combust. Sci. Technol. 1 (1970) 313-326",
    "models/friction.py": "Sandoval & Heywood, SAE 2003-01-0725 (2003); Patton; Chen & Flynn, by name in the case",
    "models/combustion.py": "durations after Hires, Tabaczynski & Novak, SAE 780232 (1978), or as imposed",
    "models/turbine.py": "two nozzles in series: Payri, Benajes & Reyes (1996), or a measured curve or map",
    "models/compressor.py": "a measured map, or proportions of small machines from memory, no source",
    "models/wheel.py": "proportions of small machines from memory, no source; choking inducer: Dixon, ch. 7",
    "models/wastegate.py": "flow through a nozzle; balance of spring, diaphragm and valve; discharge from memory, no source",
    "models/wall_heat.py": "Hohenberg, SAE 790825 (1979); Woschni, SAE 670931 (1967); Annand, by name in the case",
    "sim/valve_forces.py": "force balance of a shut valve",
    "sim/accounts.py": "balance of mass and first law over the last cycle",
    "sim/exchange.py": "balance of mass and species over gas exchange",
}


def explained(name: str) -> list[str]:
    """What a result, an input or a section means, in lines; raises CaseError for a name that is none."""
    from .sentences import SYNONYMS

    if name in RESULTS:
        return _result_lines(name)
    name = SYNONYMS.get(name.casefold(), name)
    general = ".".join("N" if part.isdigit() else part for part in name.split("."))
    known = inputs()
    if general in known:
        return _input_lines(general, known[general])
    below = [n for n in known if n.startswith(general + ".")]
    if below:
        return [f"[{general}] holds these inputs:"] + [f"  {n}: {known[n].meaning}" for n in below]
    ends = [n for n in known if n.rsplit(".", 1)[-1] == name]
    if len(ends) == 1:
        return _input_lines(ends[0], known[ends[0]])
    near = ends or difflib.get_close_matches(name, [*RESULTS, *known], 3, 0.5)
    hint = (
        "; did you mean " + " or ".join(f'"{n}"' for n in near[:3]) + "?" if near else "; try explain without a name."
    )
    if name.rsplit(".", 1)[-1] in ENTRIES:  # also as probes.0.reading_k
        return _entry_lines(name.rsplit(".", 1)[-1])
    raise CaseError(f"{name} is neither a result nor an input{hint}")


def _result_lines(name: str) -> list[str]:
    row = RESULTS[name]
    metric, us = unit_of(row.kind, "metric"), unit_of(row.kind, "us")
    lines = [f"{name}: {row.label}", f"  a result: {row.meaning}."]
    if metric:
        lines.append(f"  printed in {metric}" + (f" or {us}" if us != metric else "") + "; in SI in Python and --json.")
    else:
        lines.append(f"  no unit: {BARE[row.kind]}.")
    room = room_of(name)
    how = (
        f"{room}: {SOURCES[room]}; every run lists the submodels it used"
        if room
        else "read off the solved cycle: a state, a mean over it or a ratio of two of these"
    )
    return [*lines, f"  formula: {how}."]


def _entry_lines(name: str) -> list[str]:
    """A name inside a list of a prediction."""
    unit = next((e for e in sorted(SI, key=len, reverse=True) if name.endswith(e)), "")
    said = f"  in SI: {SI[unit]}." if unit in SI else "  no unit: a number, a word or a list."
    return [f"{name}: {ENTRIES[name]}", "  found in a list of a prediction.", said]


def _input_lines(name: str, spec: Spec) -> list[str]:
    lines = [f"{name}: {spec.meaning}"]
    if spec.choices:
        lines.append(f"  one of: {', '.join(spec.choices)}")
    if spec.like:
        lines.append(f"  written {name.rsplit('.', 1)[-1]} = {spec.like}")
    if spec.allowed:
        lines.append(f"  allowed: {spec.allowed}")
    if spec.kind in units.UNITS or spec.kind in ("temperature", "pressure_gauge", "pressure_absolute"):
        lines.append(f"  units: {units.allowed(spec.kind)}")
    else:
        lines.append(f"  no unit of its own: {KINDS.get(spec.kind, spec.kind)}")
    need = {
        "given": "required",
        "option": "may be left out, as far as the rest of the case allows",
        "guess": f"stand-in where left out: {spec.rule}" + (f", likely within {_band(spec)}" if spec.band else ""),
        "setting": f"default: {spec.rule}",
    }
    lines.append(f"  {need[spec.need]}")
    if spec.hint:
        lines.append(f"  note: {spec.hint}")
    if spec.tip:
        lines.append(f"  how to measure: {spec.tip}")
    return lines


def _band(spec: Spec) -> str:
    return f"+-{spec.band}" if isinstance(spec.band, str) else f"+-{100.0 * spec.band:g} %"
