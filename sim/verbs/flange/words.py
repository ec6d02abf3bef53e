"""What a result of `flange` says in sentences: what is past an edge or doubtful, what is not calculated, the caution."""

from collections.abc import Iterator, Mapping
from typing import Any

from ....models import flange as bolting
from ....models import materials
from ...cautions import GENERAL, HOT_SIDE
from ...showing import FAMILIES, shown
from .result import SPRUNG, Check

MAKER = (
    "Where the turbo's or the manifold's maker gives a torque, that figure rules, for threads in the state it names. Paste and "
    "oil lower friction: a dry torque on pasted threads overloads the stud."
)
WORK = (
    "Work on cold metal: the hot side burns, and a nut turned hot galls and strips. Tighten crosswise in three or more steps, and "
    "check every nut again cold after the first heat. Take new studs and nuts where these have yielded, stretched or rusted."
)
NOT_IN_IT = (
    "Not calculated: creep and relaxation over hours, the lag of the studs while the flange warms, bending by the turbo's weight, "
    "by shaking and by a manifold that grows, warped faces. The wall is that of a pull held until it is as hot as it gets."
)
CAUTIONS = [GENERAL, MAKER, WORK, HOT_SIDE]


def temperature_text(temperature: float, check: Check) -> str:
    """A temperature for a sentence, in the units of the case."""
    return shown(temperature, "temperature", check.case.report.units)


def force_text(force: float, check: Check) -> str:
    """A force for a sentence, to three figures, in the units of the case."""
    if check.case.report.units == "metric":
        return f"{force / 1e3:.3g} kN"
    pounds = float(f"{force / FAMILIES['us']['force'].factor:.3g}")
    return f"{pounds:.0f} lbf"


def length_text(length: float, check: Check, decimals: int = 1) -> str:
    """A length for a sentence, in the units of the case."""
    return (
        f"{length / 0.0254:.{decimals + 2}f} in"
        if check.case.report.units == "us"
        else f"{1e3 * length:.{decimals}f} mm"
    )


def _torque(torque: float, check: Check) -> str:
    """A torque for a sentence, to three figures, in the units of the case."""
    how = FAMILIES[check.case.report.units]["torque"]
    return f"{torque / how.factor:.3g} {how.unit}"


def torque_text(value: float | None, family: str) -> str:
    """A torque with one decimal where it is small."""
    if value is None:
        return "none"
    how = FAMILIES[family]["torque"]
    return f"{value / how.factor:.{0 if value >= 100.0 else 1}f} {how.unit}"


def warnings_of(
    check: Check, clamps: Mapping[str, Mapping[str, bolting.Clamp]], rows: list[dict[str, Any]],
    boss: Mapping[str, Any] | None, lowest: float | None,
) -> list[str]:  # fmt: skip
    """Sentences about one result, the graver first."""
    fitted = clamps[check.fitted]
    found = [*_clamp(check, fitted), *_tightening(check, lowest), *_washers(check, clamps), *_temperatures(check, rows)]
    found += [*_boss(boss, check)] if boss is not None else []
    found += [f"Prediction: {sentence}" for sentence in check.heat.warnings]
    f = check.flange
    if not {"studs", "thread"} & f.model_fields_set:
        found.append(
            f"The case does not describe its flange: a stand-in is checked, {f.studs} studs {f.thread} of {f.stud_metal} through two "
            f"flanges of {length_text(f.near_thickness, check)} and {length_text(f.far_thickness, check)}; write [flange] with your own."
        )
    return found


def _clamp(check: Check, fitted: Mapping[str, bolting.Clamp]) -> Iterator[str]:
    built, usual, least, f = check.built[check.fitted], fitted["usual"], fitted["lowest"], check.flange
    if usual.plastic > 0.0:
        yield (
            f"The studs yield hot: {f.thread} of {f.stud_metal} at {temperature_text(check.hot.stud, check)} bears "
            f"{force_text(built.joint.hot_yield_force, check)}; stretched for good by {length_text(usual.plastic, check, 3)} it comes back cold "
            f"with {force_text(usual.cooled, check)} of {force_text(usual.tightened, check)}. More torque only stretches it further."
        )
    elif fitted["highest"].plastic > 0.0:
        yield (
            f"With slippery threads the studs yield hot, at {force_text(built.joint.hot_yield_force, check)} and "
            f"{temperature_text(check.hot.stud, check)}."
        )
    elif fitted["highest"].hot > materials.PROOF_SHARE * built.joint.hot_yield_force:
        yield (
            f"With slippery threads the hot studs pass their proof stress: {force_text(fitted['highest'].hot, check)}, and they yield "
            f"at {force_text(built.joint.hot_yield_force, check)}."
        )
    for when, name in (("hot", "hot"), ("cold again", "cooled")):
        surely = f.studs * getattr(usual, name) < check.wanted
        yield from _left(
            check, when, getattr(least, name), getattr(least, f"{name.replace('cooled', 'cold')}_gap"), surely
        )


def _left(check: Check, when: str, force: float, gap: float, surely: bool) -> Iterator[str]:
    """Whether the clamp that sticky threads leave is enough; `surely` where usual ones do not leave enough either."""
    clamp, who = check.flange.studs * force, "" if surely else " with sticky threads"
    if force <= 0.0 or gap > 0.0:
        yield f"The joint is loose {when}{who}, with {length_text(gap, check, 3)} of play."
    elif clamp < check.gas:
        yield f"The gas opens the joint {when}{who}: {force_text(clamp, check)} of clamp against {force_text(check.gas, check)}."
    elif clamp < check.wanted:
        yield f"The clamp left {when}{who} is {force_text(clamp, check)}, less than the {force_text(check.wanted, check)} wanted."


def _tightening(check: Check, lowest: float | None) -> Iterator[str]:
    f, state = check.flange, check.state
    if lowest is None:
        yield (
            f"No torque keeps the {force_text(check.wanted, check)} of clamp wanted through the heat: the studs give way first; take "
            "a stronger stud metal, more or thicker studs, or keep them cooler."
        )
    elif lowest > state.highest:
        yield (
            f"No torque does both: {_torque(lowest, check)} is needed with sticky threads, and past {_torque(state.highest, check)} slippery ones "
            "bring the stud to its limit; better lubrication narrows the scatter."
        )
    if f.torque is not None and f.torque > state.highest:
        high = check.preload["highest"]
        worst = "past yield" if high > state.yields else f"to {100.0 * high / state.yields:.0f} % of yield"
        yield (
            f"flange.torque = {_torque(f.torque, check)} is more than the {_torque(state.highest, check)} this stud takes {state.surface}: slippery "
            f"threads bring it {worst}, {force_text(high, check)}."
        )
    if f.torque is not None and lowest is not None and f.torque < lowest:
        yield f"flange.torque = {_torque(f.torque, check)} is less than the {_torque(lowest, check)} that sticky threads need."


def _washers(check: Check, clamps: Mapping[str, Mapping[str, bolting.Clamp]]) -> Iterator[str]:
    """Washers that go solid stop being springs; said of those proposed too."""
    whose = "The conical washers" if check.fitted == SPRUNG else "Conical washers of the size proposed"
    joint, preload = check.built[SPRUNG].joint, check.preload["usual"]
    flat = bolting.stack_force(joint.stack, joint.stack.opposed * joint.stack.disc.cone)
    if preload >= flat:
        yield (
            f"{whose} lie flat at {force_text(flat, check)} and the studs are tightened to {force_text(preload, check)}: solid, they are no "
            "spring; nest more of them, take thicker ones or less torque."
        )
    elif clamps[SPRUNG]["highest"].washers_flat:
        yield f"{whose} go flat, at {force_text(flat, check)} cold, with slippery threads or hot: from there they are no spring."


def _temperatures(check: Check, rows: list[dict[str, Any]]) -> Iterator[str]:
    for row in rows:
        if row["name"].endswith("_temperature_k") and row["exceeded"]:
            part = row["name"].removesuffix("_temperature_k").replace("_", " ")
            yield (
                f"The {part} at {temperature_text(row['value'], check)} is past the {temperature_text(row['limit'], check)} its material usually serves at: "
                "time takes more clamp than is calculated here."
            )
        elif row["name"] == "washer_stress_pa" and row["exceeded"]:
            yield (
                f"The conical washers are stressed to {row['value'] / 1e6:.0f} MPa and set past {row['limit'] / 1e6:.0f} MPa: they "
                "lose some of their cone on the first tightening; nest more of them."
            )
        elif row["name"].endswith("_n") and "strip" in row["name"] and row["exceeded"]:
            yield f"The thread strips: {force_text(row['value'], check)} on a thread that bears {force_text(row['limit'], check)}."


def _boss(boss: Mapping[str, Any], check: Check) -> Iterator[str]:
    whole, needed, height = boss["whole_thread_m"], boss["whole_thread_needed_m"], boss["boss_height_needed_m"]
    if whole < needed:
        cure = f"; a flat boss {length_text(height, check)} above the crown would" if height else ""
        yield f"The hole for {boss['thread']} finds {length_text(whole, check)} of whole thread and asks for {length_text(needed, check)}{cure}."
    for row in boss["margins"][1:]:
        if row["exceeded"]:
            yield f"{row['name'].rsplit('_', 1)[0].replace('_', ' ').capitalize()} is past its limit."
