"""The sections of the page of one operating point."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ...case import Case
from ...cautions import cautions
from ...errors import CaseError
from ...gauge_tables import place_text, shortened
from ...knock_words import in_place
from ...names import RESULTS, kind_of, label_of
from ...prediction import Prediction
from ...report.page import Section, write_report
from ...report.tables import Cell, Table
from ...style import scale
from ...table_parts import _difference, value_text
from ...table_print import CYLINDER_COLUMNS, SHORT, SPRAY, margin_kind, spray_cells
from ..page import case_tables, made_with
from .plot import draw

JOB = (
    "Before metal is cut or boost turned up: what every gauge of this engine should read at one operating point, how near each "
    "limit is, and which inputs were guesses. Mixture, timing and boost set the exhaust; the turbine turns it into pressure before "
    "itself; that pressure comes back into the cylinder as residual gas, heat, pumping work and knock. The loop is solved closed."
)
GROUPS = ("operating point", "hot side", "cylinder", "burn and knock", "book-keeping")
OTHERS = "how it ended"


def save_report(p: Prediction, case: Case, family: str, command: str, path: Path, force: bool = False) -> None:
    """Write the page of a prediction made with `trace=True`, step-up card included; raises CaseError."""
    write_report(path, case.title, lead(p, case, family), sections(p, case, family, command), force)


def lead(result: Prediction, case: Case, family: str) -> str:
    """The sentence under the title: the point, and whether it stands inside its limits."""
    boost = "" if result.boost_pa is None else f", {value_text(result.boost_pa, 'pressure', family)} of boost"
    spark = (
        "" if result.spark_advance_deg is None else f", spark {result.spark_advance_deg:.1f} deg before top dead centre"
    )
    past = [label_of(str(m["name"])) for m in result.margins if m["exceeded"]]
    verdict = f"Past its limit: {', '.join(past)}." if past else "No limit of the case is passed."
    state = "" if result.converged else f" Not settled: {result.status}."
    return f"{result.speed_rpm:.0f} rpm{boost}, lambda {result.lambda_ratio:.3f}{spark}. {verdict}{state}"


def sections(result: Prediction, case: Case, family: str, command: str = "hotside predict") -> list[Section]:
    """The page of a prediction made with `trace=True`, in the unit family "metric" or "us"."""
    from ...report.living import living  # matplotlib takes half a second: only for a page

    given = result.to_dict()
    return [
        Section("The job", [JOB, f"Made by: {command}"]),
        Section("Margins", list(_margins(result.margins, family)) + ([result.warnings] if result.warnings else [])),
        Section("Caution", [cautions(turbo=not case.is_bench, tap=case.pressure_tap is not None)], kind="caution"),
        Section("One cycle", [living(draw(result, case, family), _shown(result, case, family))]),
        Section("Readings", [t for g in GROUPS[:4] for t in _readings(g, given, family)] + _spray(result, family)),
        Section("Gauges and hot parts", list(_gauges(given, family))),
        Section("Cylinders", list(_cylinders(result.cylinders, family))),
        *_card(case, family),
        Section("Closure and energy", [*_readings(GROUPS[4], given, family), *_others(given, family)]),
        Section("The case", list(case_tables(case)), folded=True),
        Section("Submodels and their sources", [_words("submodels", result.models)]),
        Section("Versions", [made_with()]),
    ]


def _shown(result: Prediction, case: Case, family: str) -> str:
    """What the picture of the cycle shows, in words."""
    (y, unit), (warm, degree) = scale("pressure", family), scale("temperature", family)
    spark = "" if result.spark_advance_deg is None else f"spark at {-result.spark_advance_deg:.1f} deg, "
    said = (
        f"Absolute pressures; {spark}the highest in the cylinder, {y(result.peak_pressure_pa):.5g} {unit}, at {result.peak_pressure_deg:.1f} "
        f"deg; in the mean of the cycle {y(result.pre_turbine_pressure_pa):.3g} {unit} before the turbine and "
        f"{y(result.intake_pressure_pa):.3g} {unit} in the intake."
    )
    if case.is_bench:
        return said
    reads = "; ".join(
        f"{place_text(p)} reads {warm(p['reading_k']):.0f} {degree} in gas of {warm(p['gas_temperature_k']):.0f} {degree} by flow"
        for p in result.probes
    )
    return f"{said} The gas swings with every cylinder that fires, a probe does not follow: {reads or 'no probe is fitted'}."


def _readings(group: str, given: Mapping[str, Any], family: str) -> Iterator[Table]:
    """A group of scalar results: as a person reads it, and in SI as in the JSON."""
    names = [n for n, row in RESULTS.items() if row.group == group and row.kind != "list" and n in given]
    yield from _scalars(group, names, given, family)


def _others(given: Mapping[str, Any], family: str) -> Iterator[Table]:
    names = [n for n, v in given.items() if n not in RESULTS and (v is None or isinstance(v, bool | int | float | str))]
    yield from _scalars(OTHERS, names, given, family)


def _scalars(caption: str, names: list[str], given: Mapping[str, Any], family: str) -> Iterator[Table]:
    rows = [
        (label_of(n), Cell(value_text(given[n], kind_of(n), family), given[n], n), n)
        for n in names
        if given[n] is not None
    ]
    if rows:
        yield Table(caption, ("reading", "value", "name in Python and JSON"), rows, "named")


def _spray(result: Prediction, family: str) -> list[Any]:
    """Readings at both ends of what is not known of a spray."""
    if not result.spray_band:
        return []
    rows = [tuple(spray_cells(row, family, in_place(vars(result)))) for row in result.spray_band]
    heads = ("from the charge", "air", "power", "knock margin", "bad cycle", "hottest probe")
    return [Table("the spray's heat, as far as it is not known", heads, rows), [SPRAY]]


def _margins(margins: list[dict[str, Any]], family: str) -> Iterator[Table]:
    rows: list[tuple[Cell | str, ...]] = []
    for k, m in enumerate(margins):
        kind = margin_kind(str(m["name"]))
        past = bool(m["exceeded"])
        rows.append((
            label_of(str(m["name"])),
            *(Cell(value_text(m[part], kind, family), m[part], f"margins.{k}.{part}") for part in ("value", "limit")),
            Cell(_difference(m["margin"], kind, family), m["margin"], f"margins.{k}.margin", alarm=past),
            Cell("past its limit" if past else "inside", alarm=past),
        ))  # fmt: skip
    if rows:
        yield Table(
            "every limit as a margin; an edge is no target",
            ("limit", "now", "limit at", "margin", "state"),
            rows,
            "named",
        )


def _gauges(given: Mapping[str, Any], family: str) -> Iterator[Table]:
    """Probes, the pressure tap, surfaces."""

    def warm(row: Mapping[str, Any], place: str, name: str) -> Cell:
        return Cell(value_text(row.get(name), "temperature", family), row.get(name), f"{place}.{name}")

    names = (
        "gas_time_mean_k",
        "gas_temperature_k",
        "reading_k",
        "reading_low_k",
        "reading_high_k",
        "wall_temperature_k",
    )
    rows: list[tuple[Cell | str, ...]] = [
        (place_text(p), *(warm(p, f"probes.{k}", n) for n in names))
        for k, p in enumerate(given["probes"])
        if "reading_low_k" in p
    ]
    if rows:
        yield Table(
            "exhaust probes",
            ("probe", "gas by time", "gas by flow", "reads", "class from", "class to", "wall at"),
            rows,
        )
    tap = given["pressure_tap"]
    if tap:
        end = (Cell(value_text(tap["reading_pa"], "pressure", family), tap["reading_pa"], "pressure_tap.reading_pa"),
               *(warm(tap, "pressure_tap", n) for n in ("gauge_end_warm_side_k", "gauge_limit_k")))  # fmt: skip
        yield Table("pressure tap", ("tap", "reads", "gauge end", "it stands"), [(place_text(tap), *end)])
        yield tap["sentences"]
    parts = given["parts"]
    if parts:
        listed: list[tuple[Cell | str, ...]] = [
            (str(p["part"]), value_text(p["surface_k"], "temperature", family)) for p in shortened(parts)
        ]
        yield Table("surfaces", ("part", "surface"), listed)


def _cylinders(cylinders: list[dict[str, Any]], family: str) -> Iterator[Table]:
    names = [n for n in CYLINDER_COLUMNS[1:] if n in cylinders[0]]
    rows: list[tuple[Cell | str, ...]] = [
        (str(c["cylinder"]), *(Cell(value_text(c[n], kind_of(n), family), c[n], f"cylinders.{k}.{n}") for n in names))
        for k, c in enumerate(cylinders)
    ]
    yield Table("each cylinder", ("cylinder", *(SHORT.get(n, label_of(n)) for n in names)), rows)


def _card(case: Case, family: str) -> Iterator[Section]:
    """The step-up card, or why there is none."""
    from ..plan.report import card
    from ..plan.run import plan

    try:
        yield card(plan(case), family)
    except CaseError as error:
        yield Section("Step-up card", [f"None: {error}"])


def _words(caption: str, rows: Mapping[str, Any]) -> Table:
    shown = [(name if "." in name else name.replace("_", " "), str(text)) for name, text in rows.items()]
    return Table(caption, ("", ""), shown, "words")
