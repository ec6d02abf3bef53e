"""How far results move when a submodel is exchanged for its rival: the honest error bar of a zero-dimensional answer.

    python examples/submodel_spread.py                          the demo, the six on alcohol, the uneven four
    python examples/submodel_spread.py my.toml other.toml       your cases, each with a turbo
    python examples/submodel_spread.py --page spread.md         and a page in Markdown

Each row changes one submodel and leaves the rest, boost and spark included. Rivals come from the list of inputs, so a new one
appears here by itself; those that need data a case does not give are left out.
"""

import argparse
from collections.abc import Iterator
from pathlib import Path

from hotside.sim import Case, CaseError, Prediction, load, predict
from hotside.sim.sections import SPECS
from hotside.sim.setup import prepare

HERE = Path(__file__).resolve().parent
CASES = ("", str(HERE / "tractor_six.toml"), str(HERE / "uneven.toml"))
EXCHANGED = ("wall_heat.model", "burn.model", "knock.model", "knock.window_end", "friction.model", "compressor.model")
COLUMNS = (  # heading, value, figures behind the point
    ("exhaust [degC]", lambda p: p.exhaust_temperature_k - 273.15, 0),
    ("power [kW]", lambda p: p.power_w / 1e3, 1),
    ("residual [%]", lambda p: 100.0 * p.residual_fraction, 2),
    ("octane", lambda p: p.octane_required, 1),
    ("margin [deg]", lambda p: p.knock_margin_deg, 1),
    ("backpressure [bar]", lambda p: p.backpressure_pa / 1e5, 2),
)
Row = tuple[str, Prediction]


def rivals(case: Case, now: Prediction) -> Iterator[tuple[str, dict[str, object]]]:
    """What is exchanged: its words, and the inputs to set."""
    for name in EXCHANGED:
        section, key = name.split(".")
        for choice in SPECS[name].choices:
            if choice == getattr(getattr(case, section), key):
                continue
            changes: dict[str, object] = {name: choice}
            if name == "burn.model" and choice == "imposed":
                if now.ca90_deg is None or now.ca10_deg is None:
                    continue
                changes |= {"burn.ca50": f"{now.ca50_deg:.3f} deg ATDC"}
                changes |= {"burn.duration_10_90": f"{now.ca90_deg - now.ca10_deg:.3f} deg"}
            yield f"{name} = {choice}", changes
    yield "wall_heat.scale = 1, as published", {"wall_heat.scale": 1.0}
    yield "knock.delay_scale = 0.8, a fuel's own", {"knock.delay_scale": 0.8}
    yield from turbines(case)
    burning = "false" if case.exhaust.afterburning else "true"
    yield f"exhaust.afterburning = {burning}", {"exhaust.afterburning": not case.exhaust.afterburning}


def turbines(case: Case) -> Iterator[tuple[str, dict[str, object]]]:
    """The other ways to say what the housing passes, sized to pass the same at most."""
    if case.turbine.model == "hardware":
        area = 5e-4
        trial = case.set_all({"turbine.model": "area", "turbine.area": f"{1e6 * area:.6f} mm2"})
        area *= most(case) / most(trial)
        yield (
            "turbine.model = area, same greatest flow",
            {"turbine.model": "area", "turbine.area": f"{1e6 * area:.4f} mm2"},
        )
    else:
        throat = 5e-4
        for _ in range(6):
            changes = {"turbine.model": "hardware", "turbine.throat_area": f"{1e6 * throat:.6f} mm2"}
            throat *= most(case) / most(case.set_all(changes))
        yield "turbine.model = hardware, same greatest flow", changes


def most(case: Case) -> float:
    """Greatest flow parameter of the turbine [m2]."""
    return float(prepare(case).machine.flow.max())


def spread(case: Case) -> list[Row]:
    """The case as it stands, then with one submodel exchanged in each row."""
    now = predict(case)
    rows = [("as it stands", now)]
    for words, changes in rivals(case, now):
        try:
            rows.append((words, predict(case.set_all(changes))))
        except CaseError:
            continue  # a rival that needs data this case does not give
    return rows


def cells(rows: list[Row]) -> list[list[str]]:
    """The first row in full, then differences, then from the lowest to the highest of each column."""
    now = rows[0][1]
    table = [[rows[0][0], *(show(value(now), places) for _, value, places in COLUMNS)]]
    for words, p in rows[1:]:
        table.append([words, *(difference(value(p), value(now), places) for _, value, places in COLUMNS)])
    span = []
    for _, value, places in COLUMNS:
        found = [v for v in (value(p) for _, p in rows) if v is not None]
        span.append(f"{max(found) - min(found):.{places}f}" if found else "-")
    return [*table, ["from lowest to highest", *span]]


def show(value: float | None, places: int) -> str:
    return "-" if value is None else f"{value:.{places}f}"


def difference(value: float | None, now: float | None, places: int) -> str:
    return "-" if value is None or now is None else f"{round(value - now, places) + 0.0:+.{places}f}"


def markdown(rows: list[Row]) -> str:
    """The same as a table in Markdown."""
    head = ["exchanged", *(name for name, _, _ in COLUMNS)]
    lines = [head, ["---"] * len(head), *cells(rows)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def print_table(title: str, rows: list[Row]) -> None:
    """A case in 80 columns: units stand in the second line."""
    heads = [name.partition(" [") for name, _, _ in COLUMNS]
    print(f"\n{title}")
    for part in (0, 2):
        print(f"{'':26}" + "".join(f"{h[part].rstrip(']').replace('backpressure', 'back')[:8]:>9}" for h in heads))
    for words, *values in cells(rows):
        if len(words) > 26:
            print(words)
            words = ""
        print(f"{words:26}" + "".join(f"{v:>9}" for v in values))


NOTE = """
Boost and spark are held, so a rival that burns or cools otherwise shows in every column. Where a rival was fitted to other
engines than yours, the difference is what you do not know, not an error of either; fitting to your own log narrows it."""


def main() -> None:
    """Print the spread of each case; write a page where one is asked for."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("cases", nargs="*", default=CASES, help="case files with a turbo")
    options.add_argument("--page", help="write the tables here, in Markdown")
    given = options.parse_args()
    page = ["# Spread of the submodels", NOTE.strip()]
    for path in given.cases:
        case = load(path or None)
        if case.is_bench:
            options.error(f"{path}: this example needs a case with a turbo")
        rows = spread(case)
        title = f"{case.title}, {case.run.speed_rpm:.0f} rpm, {rows[0][1].boost_pa / 1e5:.2f} bar"
        print_table(title, rows)
        page += [f"## {title}", markdown(rows)]
    print(NOTE)
    if given.page:
        Path(given.page).write_text("\n\n".join(page) + "\n")


if __name__ == "__main__":
    main()
