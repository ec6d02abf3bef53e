"""From rows to points: broken rows left out and named, pulls told apart, steady stretches averaged with their scatter."""

import math
from typing import Any, NamedTuple

import numpy as np

from ... import channels
from ...case import Case
from .columns import Figures, conditions

STEADY = {"speed": 0.007, "boost": 0.015, "lambda": 0.015, "spark_advance": 0.8}  # scatter within a steady stretch,
RELATIVE = ("speed",)  # of these a share of the figure, of boost a share of absolute pressure
PROBE_DRIFT = 4.0  # [K] scatter of a probe's reading in a steady stretch
WIDTH = {"speed": 0.02, "boost": 3e3, "lambda": 0.02, "spark_advance": 1.0, "wastegate_opening": 0.04}  # merged within
MOST_POINTS = 40
LEAST_BOOST = 3e3  # [Pa] below it a throttle rules the intake, which the model does not know
NAMED = 8  # broken lines named


class Points(NamedTuple):
    """Points to compare: one row for each steady stretch, condition, or row of a log without time."""

    values: Any  # DataFrame by channel, NaN where unknown
    errors: Any  # DataFrame of the same shape: standard deviations
    rows: list[int]  # rows of the log in each point
    steady: list[bool]
    said: list[str]  # sentences about what was done
    used: int  # rows of the log that went into points
    total: int


def points(figures: Figures, case: Case, ragged: list[int], ambient: float) -> Points:
    """Points of a log; raises nothing: where none are left `values` is empty."""
    table, said = figures.values.copy(), [*figures.said, *_broken(figures, ragged)]
    table["line"] = figures.lines
    total = len(table) + len(ragged)
    whole = table.dropna(subset=conditions(figures.read))
    whole, timed = _in_time(whole, said)
    boosted = whole[whole["boost"] >= LEAST_BOOST]
    if len(boosted) < len(whole):
        said.append(
            f"{len(whole) - len(boosted)} rows without boost are left out: a throttle rules there, which is not modelled."
        )
    lot = _stretches(boosted, case, ambient) if timed else None
    if timed and lot is None and len(boosted):
        probes = [c for c in table if c.startswith("probe.")]
        boosted = boosted.drop(columns=probes)
        said.append(
            f"No stretch is steady for {_steady_for(case):g} s: rows of the pull are compared as they are"
            + (", without the probes, which lag behind." if probes else ".")
        )
    steady = not (timed and lot is None)
    grouped = _merged(boosted, None if lot is None else lot)
    errors = _errors(grouped, figures, ambient)
    values = grouped["mean"]
    count = [int(n) for n in grouped["count"]]
    moving = 0 if lot is None else int(lot.isna().sum())
    if moving:
        said.append(f"{moving} rows lie in no steady stretch and are left out.")
    if len(values) < len(boosted):
        what = "steady stretches" if lot is not None else "points"
        said.append(f"{sum(count)} rows are averaged to {len(values)} {what}.")
    return Points(values, errors, count, [steady] * len(values), said, sum(count), total)


def _broken(figures: Figures, ragged: list[int]) -> Any:
    """What is broken, where, and how much."""
    if ragged:
        yield f"{len(ragged)} rows hold too few or too many fields and are left out: {_listed(ragged)}."
    for name, lines in figures.broken.items():
        column = next(r.column for r in figures.read if r.channel == name)
        lost = "the rows are" if channels.channel(name).role != channels.READING else "the cells are"
        yield f'Column "{column}" ({channels.words(name)}) holds {len(lines)} cells that are no likely figure; {lost} left out: {_listed(lines)}.'


def _listed(lines: list[int]) -> str:
    text = ", ".join(str(n) for n in lines[:NAMED])
    return f"line {text}" if len(lines) == 1 else f"lines {text}" + (", ..." if len(lines) > NAMED else "")


def _in_time(table: Any, said: list[str]) -> tuple[Any, bool]:
    """The table with a column `pull`, and whether its time can be used."""
    table = table.assign(pull=0)
    if "time" not in table:
        return table, False
    table = table.dropna(subset=["time"])
    step = np.diff(table["time"].to_numpy())
    back = int((step < 0.0).sum())
    if len(table) > 2 and (back > 0.1 * len(step) or (step == 0.0).mean() > 0.9):
        said.append(
            f"Time goes backwards in {back} rows: it is not used, and every row counts as a reading of its own."
        )
        return table, False
    usual = float(np.median(step)) if step.size else 0.0
    pull = np.concatenate(([0], np.cumsum((step < 0.0) | (step > 20.0 * max(usual, 1e-9)))))
    if back:
        where = "one place" if back == 1 else f"{back} places"
        said.append(f"Time goes backwards at {where}: the log is read as {int(pull[-1]) + 1} pulls.")
    elif pull.size and pull[-1] > 0:
        said.append(f"The log holds {int(pull[-1]) + 1} pulls.")
    return table.assign(pull=pull), True


def _steady_for(case: Case) -> float:
    return case.log.steady_for if case.log is not None else 1.5


def _stretches(table: Any, case: Case, ambient: float) -> Any | None:
    """Number of the steady stretch of each row, NaN outside; None where there is none."""
    import pandas

    lots, last = [], 0
    for _, pull in table.groupby("pull", sort=False):
        step = float(np.median(np.diff(pull["time"]))) if len(pull) > 2 else math.inf
        n = math.ceil(_steady_for(case) / max(step, 1e-6)) if step < math.inf else len(pull) + 1
        n = max(n, 3)
        if n > len(pull):
            lots.append(pandas.Series(np.nan, index=pull.index))
            continue
        quiet = np.ones(len(pull), dtype=bool)
        for name, most in _tolerances(pull, ambient).items():
            quiet &= (pull[name].rolling(n).std().to_numpy() <= most) | pull[name].rolling(n).std().isna().to_numpy()
        quiet[: n - 1] = False
        covered, joined = _held(quiet, n)
        begins = covered & ~joined
        number = np.cumsum(begins)
        place = np.arange(len(pull)) - np.maximum.accumulate(np.where(begins, np.arange(len(pull)), 0))
        number = number + last + (place // (3 * n)) * 1e-4  # long stretches are cut: conditions may drift
        lots.append(pandas.Series(np.where(covered, number, np.nan), index=pull.index))
        last = int(begins.sum()) + last
    found = pandas.concat(lots) if lots else None
    return found if found is not None and found.notna().any() else None


def _held(quiet: Any, n: int) -> tuple[Any, Any]:
    """Rows in a quiet window of n, and rows that share one with the row before: a step between two holds parts them."""
    place, before = np.arange(len(quiet)), np.concatenate(([0], np.cumsum(quiet)))

    def ends_within(rows: int) -> Any:
        return before[np.minimum(place + rows, len(quiet))] > before[place]

    return ends_within(n), ends_within(n - 1) & (place > 0)


def _tolerances(pull: Any, ambient: float) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in pull:
        if name.startswith("probe."):
            found[name] = PROBE_DRIFT
        elif name in STEADY:
            size = (
                pull[name].to_numpy()
                if name in RELATIVE
                else (pull[name].to_numpy() + ambient if name == "boost" else 1.0)
            )
            found[name] = STEADY[name] * np.abs(size)
    return found


def _merged(table: Any, lot: Any | None) -> dict[str, Any]:
    """Means, scatters and counts: by stretch, then by like conditions where there are more than can be compared."""
    import pandas

    key = lot if lot is not None else pandas.Series(np.arange(len(table)), index=table.index)
    kept = table[key.notna()]
    key = key[key.notna()]
    if key.nunique() > MOST_POINTS:
        widen = 1.0
        for _ in range(12):
            key = _condition(kept, widen)
            if key.nunique() <= MOST_POINTS:
                break
            widen *= 1.3
    groups = kept.drop(columns=["pull", "time"], errors="ignore").groupby(key.to_numpy(), sort=True)
    mean, count = groups.mean(), groups["line"].count()
    spread = groups.std().fillna(0.0)
    return {"mean": mean.reset_index(drop=True), "std": spread.reset_index(drop=True), "count": count.to_numpy()}


def _condition(table: Any, widen: float) -> Any:
    """A number for each row's condition: like conditions fall into one cell."""
    cells = []
    for name, width in WIDTH.items():
        if name in table:
            value = np.log(table[name]) if name in RELATIVE else table[name]
            cells.append((value / (width * widen)).round())
    return table.groupby([c.to_numpy() for c in cells], sort=False).ngroup()


def _errors(grouped: dict[str, Any], figures: Figures, ambient: float) -> Any:
    """Standard deviation of each channel at each point: its instrument's, and the scatter of the mean."""
    import pandas

    stated = {r.channel: r.error for r in figures.read}
    mean, spread, count = grouped["mean"], grouped["std"], grouped["count"]
    found = {}
    for name in mean:
        if name == "line":
            continue
        one = channels.channel(name)
        own = stated.get(name) or np.maximum(one.error, one.share * mean[name].abs())
        scatter = spread[name] / np.sqrt(np.maximum(count / 4.0, 1.0))  # neighbouring rows are no fresh evidence
        found[name] = np.hypot(own, np.where(count > 1, scatter, 0.0))
    return pandas.DataFrame(found, index=mean.index)
