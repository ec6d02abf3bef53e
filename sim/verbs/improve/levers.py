"""The single changes a person can make, each with how far it can go. Ranges are judgement, no source."""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from ... import angles
from ...case import Case


class Lever(NamedTuple):
    """One thing that is changed by itself."""

    name: str
    now: float  # [SI, degrees]
    low: float
    high: float
    kind: str  # of unit, for printing
    places: int  # decimals of the SI value that are kept, so that a line that is typed again gives the same number
    inputs: Callable[[float], dict[str, Any]]  # the inputs of a case that a value stands for, as written there

    def at(self, way: int, share: float) -> float:
        """The value at a share of the way, rounded as it is written."""
        end = self.high if way > 0 else self.low
        return round(self.now + share * (end - self.now), self.places)

    def share(self, value: float) -> float:
        """How far a value is along its way, 0 to 1."""
        end = self.high if value >= self.now else self.low
        return abs((value - self.now) / (end - self.now)) if end != self.now else 0.0


def levers(case: Case, blends: bool = False) -> list[Lever]:
    """What can be changed in a case; what its submodels do not read is left out. Blends each need a table of their own."""
    found = [
        *(_blend(case) if blends else ()),
        *_running(case),
        *_engine(case),
        *([] if case.is_bench else _turbo(case)),
    ]
    return [x for x in found if x.high > x.low]


def _number(name: str) -> Callable[[float], dict[str, Any]]:
    return lambda x: {name: x}


def _with_unit(*names: str, unit: str, factor: float, places: int) -> Callable[[float], dict[str, Any]]:
    return lambda x: dict.fromkeys(names, f"{x / factor:.{places}f} {unit}")


def _length(name: str, label: str, now: float, low: float, high: float) -> Lever:
    return Lever(
        label, round(now, 6), low * now, high * now, "length", 6, _with_unit(name, unit="mm", factor=1e-3, places=3)
    )


def _area(name: str, label: str, now: float, low: float, high: float) -> Lever:
    return Lever(
        label, round(now, 8), low * now, high * now, "area", 8, _with_unit(name, unit="mm2", factor=1e-6, places=2)
    )


def _running(case: Case) -> Iterator[Lever]:
    """What is set on the running engine."""
    run = case.run
    if run.boost is not None and case.wastegate is not None and case.wastegate.model == "boost":
        bar = _with_unit("run.boost", unit="bar", factor=1e5, places=5)
        yield Lever("boost", round(run.boost, 0), 0.4 * run.boost, 1.6 * run.boost + 0.2e5, "pressure", 0, bar)
    if run.spark_advance is not None and case.burn.model == "spark":
        now = round(run.spark_advance, 3)
        spark = _with_unit("run.spark_advance", unit="deg", factor=1.0, places=3)
        yield Lever("spark advance", now, now - 12.0, now + 12.0, "angle", 3, spark)
    now = round(run.lambda_ratio, 5)
    yield Lever("mixture, lambda", now, min(0.70, now), max(1.0, now), "number", 5, _number("run.lambda"))
    water = case.injection
    if water is None or (water.share is not None and water.alcohol == "none"):
        now = round(water.share or 0.0, 4) if water is not None else 0.0
        yield Lever("water injected, over fuel", now, 0.0, max(0.5, now), "fraction", 4, _number("injection.share"))
    if case.fuel.octane is not None:
        value, scale = case.fuel.octane
        octane = lambda x: {"fuel.octane": f"{x:.2f} {scale}"}  # noqa: E731
        yield Lever(
            f"fuel's octane, {scale}", round(value, 2), value - 6.0, min(value + 10.0, 120.0), "octane", 2, octane
        )


def _blend(case: Case) -> Iterator[Lever]:
    """Ethanol blended into the fuel, whose octane number is then the blend's own, and water with alcohol sprayed in."""
    water = case.injection
    if water is None or water.share is None or water.alcohol != "none":
        now = round((water.share or 0.0) if water is not None else 0.0, 4)
        kind = "methanol" if water is None else water.alcohol
        half = {} if water is not None else {"injection.alcohol": kind, "injection.alcohol_by_volume": 0.5}
        sprayed = lambda x: {**half, "injection.share": x}  # noqa: E731
        label = f"water with {kind} injected, over fuel"
        yield Lever(label, now, 0.0, max(0.5, now), "fraction", 4, sprayed)
    shares = dict(case.fuel.blend or ((str(case.fuel.name), 1.0),))
    if len(shares) == 1 and "ethanol" not in shares:
        base = next(iter(shares))
        mixed = lambda x: {"fuel.blend": {base: round(1.0 - x, 1), "ethanol": x} if x else {base: 1.0}}  # noqa: E731
        yield Lever("ethanol blended into the fuel, by volume", 0.0, 0.0, 0.8, "fraction", 1, mixed)


def _engine(case: Case) -> Iterator[Lever]:
    """What needs the engine opened."""
    e = case.engine
    ratio = round(e.compression_ratio, 3)
    yield Lever(
        "compression ratio", ratio, max(ratio - 2.0, 5.0), ratio + 2.0, "number", 3, _number("engine.compression_ratio")
    )
    for side, valve in (("intake", e.intake_valve), ("exhaust", e.exhaust_valve)):
        for event in ("opens", "closes"):
            now = round(float(getattr(valve, event)), 2)
            name = f"engine.{side}_valve.{event}"
            yield Lever(f"{side} valve {event}", now, now - 20.0, now + 20.0, "event", 2, _event(name, side))


def _event(name: str, side: str) -> Callable[[float], dict[str, Any]]:
    return lambda x: {name: angles.card_text(x, side)}


def _turbo(case: Case) -> Iterator[Lever]:
    """Housing, wheels, wastegate, pipe and cooler."""
    yield from _housing(case)
    assert case.wastegate is not None and case.turbine is not None  # noqa: PT018
    assert case.cooler is not None and case.compressor is not None  # noqa: PT018
    gate, given = case.wastegate, case.raw["wastegate"]
    if gate.area > 0.0 and "area" in given:
        yield _area("wastegate.area", "wastegate's area", gate.area, 0.4, 2.0)
    elif gate.diameter:
        yield _length("wastegate.diameter", "wastegate's bore", gate.diameter, 0.6, 1.5)
    x = case.exhaust
    if x.restriction is not None:
        yield from _loss("exhaust.restriction", "pipe after the turbine, its loss", *x.restriction)
    else:
        now = round(x.loss_coefficient, 4)
        yield Lever(
            "pipe after the turbine, its loss", now, 0.0, 2.0 * now, "number", 4, _number("exhaust.loss_coefficient")
        )
    now = round(case.cooler.effectiveness, 4)
    yield Lever("cooler's effectiveness", now, 0.0, max(0.92, now), "fraction", 4, _number("cooler.effectiveness"))
    yield from _loss("cooler.pressure_loss", "cooler's pressure loss", *case.cooler.pressure_loss)


def _loss(name: str, label: str, loss: float, flow: float) -> Iterator[Lever]:
    """A pressure loss stated at a flow."""
    if loss > 0.0:
        text = lambda p: {name: f"{p / 1e3:.3f} kPa at {flow:.6g} kg/s"}  # noqa: E731
        yield Lever(label, round(loss, 0), 0.0, 2.0 * loss, "pressure", 0, text)


def _housing(case: Case) -> Iterator[Lever]:
    """Size of housing and wheels, by what the case knows of them."""
    t, c = case.turbine, case.compressor
    assert t is not None and c is not None  # noqa: PT018
    if t.model == "hardware" and t.a_over_r is not None:
        yield _length("turbine.a_over_r", "housing's A/R", t.a_over_r, 0.6, 1.8)
    elif t.model == "hardware" and t.throat_area is not None:
        yield _area("turbine.throat_area", "housing's throat", t.throat_area, 0.6, 1.8)
    elif t.model == "area" and t.area is not None:
        yield _area("turbine.area", "housing's flow area", t.area, 0.6, 1.8)
    else:
        now = round(t.flow_scale, 4)
        yield Lever(
            "housing, factor on its flow",
            now,
            0.6 * now,
            min(1.8 * now, 2.5),
            "number",
            4,
            _number("turbine.flow_scale"),
        )
    yield _scaled(case, "turbine", "turbine wheel", t.wheel_inlet_diameter, TURBINE_WHEEL)
    if c.model == "wheel":
        yield _scaled(case, "compressor", "compressor wheel", c.wheel_diameter, ("inducer_diameter",))


TURBINE_WHEEL = ("wheel_outlet_diameter", "hub_diameter")  # go with the wheel, where they are given


def _scaled(case: Case, section: str, label: str, now: float, others: tuple[str, ...]) -> Lever:
    """A wheel of another size in the same proportions; what is a stand-in of the case follows by itself."""
    key = "wheel_inlet_diameter" if section == "turbine" else "wheel_diameter"
    given = case.raw.get(section, {})
    kept = {n: float(getattr(getattr(case, section), n)) for n in others if n in given}

    def inputs(x: float) -> dict[str, Any]:
        found: dict[str, Any] = {f"{section}.{key}": f"{1e3 * x:.3f} mm"}
        return found | {f"{section}.{n}": f"{1e3 * v * x / now:.3f} mm" for n, v in kept.items()}

    return Lever(label, round(now, 6), 0.8 * now, 1.3 * now, "length", 6, inputs)
