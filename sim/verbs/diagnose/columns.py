"""From the texts of a log to figures in SI: which column is which channel, in which unit, and which cells are broken."""

from typing import Any, NamedTuple

from ... import channels, standins
from ...case import Case
from ...channels import CONDITION, READING, Scale
from ...errors import CaseError, Refused
from ...gauge_tables import place_text
from .text import Sheet

BLANK = ("", "-", "--", "nan", "NaN", "NA", "N/A", "null", "None")
USUAL = {"lambda": (0.55, 1.5), "boost": (-0.95e5, 4e5), "spark_advance": (-20.0, 60.0)}  # of a column as a whole
NEEDED = ("speed", "boost")


class Read(NamedTuple):
    """How one column was read."""

    channel: str
    column: str
    unit: str
    error: float | None  # standard deviation the user states, in SI
    scale: Scale


class Figures(NamedTuple):
    """A log in SI: NaN where a cell is blank or broken."""

    values: Any  # DataFrame, columns by channel
    broken: dict[str, list[int]]  # channel -> lines with a cell that is no figure or no likely one
    lines: Any  # line in the file of each row
    read: list[Read]
    ignored: list[str]  # headings that are no channel of ours
    said: list[str]  # sentences about how headings were taken


def figures(sheet: Sheet, case: Case, ambient: float) -> Figures:
    """Read every column that is a channel; raises CaseError."""
    import pandas

    found = _reads(sheet, case)
    numbers = {r.channel: _numbers(sheet.cells[r.column]) for r in found}
    values, broken = {}, {}
    for r in found:
        number, bad = numbers[r.channel]
        si = in_si(number, r.scale, ambient)
        one = channels.channel(r.channel)
        outside = (si < one.low) | (si > one.high)
        _check_range(r, si, outside, numbers, found, ambient)
        lines = [sheet.lines[k] for k in (bad | outside).to_numpy().nonzero()[0]]
        if lines:
            broken[r.channel] = lines
        values[r.channel] = si.mask(outside)
    used = {r.column for r in found}
    ignored = [c for c in sheet.cells if c not in used]
    return Figures(pandas.DataFrame(values), broken, sheet.lines, found, ignored, _counted(found, case))


def in_si(number: Any, scale: Scale, ambient: float) -> Any:
    """Figures of a column in SI."""
    if scale.inverse:
        return 1.0 / number.where(number > 0.0)
    return scale.factor * number + scale.offset - (ambient if scale.absolute else 0.0)


def _numbers(cells: Any) -> tuple[Any, Any]:
    """Figures of a column and where a cell that is not blank is none; decimal commas are read."""
    import pandas

    text = cells.str.strip()
    if text.str.fullmatch(r"[+-]?\d*,\d+(?:[eE][+-]?\d+)?").mean() > 0.2:
        text = text.str.replace(",", ".", regex=False)
    number = pandas.to_numeric(text, errors="coerce")
    number = number.where(number.abs() < 1e15)
    return number, number.isna() & ~text.isin(BLANK)


def _reads(sheet: Sheet, case: Case) -> list[Read]:
    """Which column is read as what: as [log.columns] says, else by the headings."""
    stoichiometric = standins.stoichiometric_afr(case.fuel.blend)
    said = case.log.columns if case.log is not None else None
    wanted = [_said(*entry, sheet) for entry in said] if said else _by_cylinder(list(_guessed(sheet)), case)
    found, refusals, hints = [], [], []
    for channel, column, unit, error in wanted:
        try:
            scale = channels.scale(channel, unit, stoichiometric)
        except Refused as refused:
            refusals.append(f'log column "{column}", read as {channel}, {refused}')
            hints.append(f'{_key(channel)} = {{ column = "{column}", unit = "{_example(channel)}" }}')
            continue
        found.append(Read(channel, column, unit, _error(channel, error), scale))
    if refusals:
        under = "write in the case, each on a line of its own under [log.columns], for example"
        raise CaseError(f"{'; '.join(refusals)}; {under} {' and '.join(hints)}.")
    for r in found:
        if r.column in sheet.twice:
            raise CaseError(
                f'The log has more than one column headed "{r.column}", read as {r.channel}; give them different headings.'
            )
    have = [r.channel for r in found]
    twice = sorted({c for c in have if have.count(c) > 1})
    if twice:
        columns = " and ".join(f'"{r.column}"' for r in found if r.channel == twice[0])
        raise CaseError(f"Log columns {columns} are both read as {twice[0]}; say in [log.columns] which one is meant.")
    for name in NEEDED:
        if name not in have:
            raise CaseError(
                f"The log has no column for {name} ({channels.words(name)}); its headings are "
                f'{", ".join(sheet.cells)[:120]}. Name it in the case: [log.columns] {name} = "HEADING".'
            )
    if not any(channels.channel(c).role == READING for c in have):
        raise CaseError(
            "The log holds conditions only (speed, boost, ...) and no reading to compare: backpressure, probe.1, air_flow or "
            "another. Name its column in the case under [log.columns]."
        )
    for r in found:
        if r.channel.startswith("probe.") and int(r.channel[6:]) > len(case.probe):
            raise CaseError(_no_probe(r, case))
    return found


def _no_probe(r: Read, case: Case) -> str:
    """Probes are counted as the case lists them, not by cylinder, which a heading may mean."""
    known = ", ".join(f"{k} in {place_text({'cylinder': p.cylinder})}" for k, p in enumerate(case.probe, 1)) or "none"
    return (
        f'Log column "{r.column}" is read as {r.channel}, and the [[probe]] of the case are: {known}; head it with the number of its '
        f"probe there, as {r.channel[:6]}1, or add the probe to the case."
    )


def _key(channel: str) -> str:
    return f'"{channel}"' if "." in channel else channel


def _example(channel: str) -> str:
    kind = channels.channel(channel).kind
    examples = {
        "mixture": "lambda",
        "spark": "deg BTDC",
        "pressure_gauge": "kPa",
        "fraction": "%",
        "temperature": "degC",
    }
    return examples.get(kind, {"rotation": "rpm", "mass_flow": "kg/h", "time": "s", "torque": "Nm"}.get(kind, "cc/min"))


def _said(channel: str, column: str, unit: str, error: str | None, sheet: Sheet) -> tuple[str, str, str, str | None]:
    """A line of [log.columns] with its column found: the whole heading, or the heading without its unit."""
    for heading in sheet.cells:
        name, own = channels.heading_unit(heading)
        if column in (heading, name):
            return channel, heading, unit or own or sheet.units.get(heading, ""), error
    import difflib

    near = difflib.get_close_matches(column, list(sheet.cells), 1, 0.4)
    hint = f'did you mean "{near[0]}"?' if near else f"headings are {', '.join(sheet.cells)[:120]}"
    raise CaseError(f'log.columns.{channel} names the column "{column}", which the log does not have; {hint}.')


def _guessed(sheet: Sheet) -> Any:
    for heading in sheet.cells:
        found = channels.recognised(heading)
        if found:
            name, own = channels.heading_unit(heading)
            unit = own or sheet.units.get(heading, "") or channels.own_unit(found, name)
            yield found, heading, unit, None


def _by_cylinder(wanted: list[Any], case: Case) -> list[Any]:
    """Headings of probes that count cylinders, as "EGT 3" with a probe in the runners 1 and 3 alone, under the probes' own numbers.

    They are taken so only where as numbers of probes they are none, and each is the cylinder of one probe.
    """
    numbers = [int(name[6:]) for name, *_ in wanted if name.startswith("probe.")]
    places = [p.cylinder for p in case.probe]
    if max(numbers, default=0) <= len(places) or any(places.count(n) != 1 for n in numbers):
        return wanted
    return [
        (f"probe.{places.index(int(name[6:])) + 1}", *rest) if name.startswith("probe.") else (name, *rest)
        for name, *rest in wanted
    ]


def _counted(found: list[Read], case: Case) -> list[str]:
    """That headings of probes were taken for numbers of cylinders, where they were."""
    if case.log is not None and case.log.columns:
        return []
    other = [
        r for r in found if r.channel.startswith("probe.") and channels.recognised(r.column) not in (None, r.channel)
    ]
    told = " and ".join(f'"{r.column}" is probe {r.channel[6:]}' for r in other)
    return [f"Probes are taken by the cylinder in their heading: {told} of the case."] if other else []


def _error(channel: str, text: str | None) -> float | None:
    if text is None:
        return None
    one = channels.channel(channel)
    kind = {"mixture": "number", "spark": "angle", "pressure_gauge": "pressure"}.get(one.kind, one.kind)
    try:
        if kind == "temperature":  # a difference: no offset
            return channels.scale(channel, text.strip().split(" ", 1)[1], 14.7).factor * float(text.split()[0])
        from ... import units

        found = units.parse(text, kind)
    except (ValueError, IndexError):
        raise CaseError(
            f'log.columns.{channel}.error = "{text}" is no error with a unit; write for example "1 kPa".'
        ) from None
    if not found > 0.0:
        raise CaseError(f'log.columns.{channel}.error = "{text}" is not above 0.')
    return found


def _check_range(r: Read, si: Any, outside: Any, numbers: dict[str, Any], found: list[Read], ambient: float) -> None:
    """Raise CaseError where a column as a whole cannot be what it is read as."""
    known = si.notna().sum()
    if known == 0 or outside.sum() <= 0.5 * known:
        low, high = USUAL.get(r.channel, (-float("inf"), float("inf")))
        if known == 0 or low <= si.median() <= high:
            return
    raw = numbers[r.channel][0]
    told = f'Log column "{r.column}" cannot be {channels.words(r.channel)} in {r.unit or "plain numbers"}: half its figures lie '
    told += f"about {raw.median():.4g}"
    for other in found:
        if other.channel != r.channel and _swapped(r, other, numbers, ambient):
            raise CaseError(
                f'{told}; "{other.column}" would do, and this one for {channels.words(other.channel)}: the two columns look '
                "swapped."
            )
    hint = ""
    if r.channel == "lambda" and 7.0 < raw.median() < 20.0:
        hint = '; an air-fuel ratio is written with unit = "afr petrol" or "afr fuel"'
    raise CaseError(f"{told}{hint}; check the column and its unit under [log.columns].")


def _swapped(a: Read, b: Read, numbers: dict[str, Any], ambient: float) -> bool:
    """Whether two columns fit well after an exchange of their figures, and one of them not before."""

    def fits(r: Read, number: Any) -> bool:
        si, one = in_si(number, r.scale, ambient), channels.channel(r.channel)
        low, high = USUAL.get(r.channel, (one.low, one.high))
        return bool(((si >= low) & (si <= high)).sum() > 0.8 * max(int(si.notna().sum()), 1))

    return fits(a, numbers[b.channel][0]) and fits(b, numbers[a.channel][0])


def conditions(read: list[Read]) -> list[str]:
    """The conditions among the columns read."""
    return [r.channel for r in read if channels.channel(r.channel).role == CONDITION]
