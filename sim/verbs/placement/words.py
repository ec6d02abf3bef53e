"""What a ranking of placements says in sentences."""

import math
from collections.abc import Mapping
from typing import Any

from ...showing import kelvins, shown
from ...units import PSI

HARDLY = 0.02  # chance by which placements differ and it hardly matters
CLOSE = 0.05  # chance by which a second is worse and the call still close
Row = Mapping[str, Any]


def place(value: int | str) -> str:
    """A place in words."""
    return f"runner {value}" if isinstance(value, int) else value


def placed(row: Row, article: str = "") -> str:
    """A placement in words: runners 1 and 3 and the collector, where the article is asked for."""
    runners = [str(p) for p in row["places"] if isinstance(p, int)]
    others = [str(p) for p in row["places"] if not isinstance(p, int)]
    named = [f"runner{'s' if len(runners) > 1 else ''} {joined(runners)}"] if runners else []
    return joined([*named, *(o if o[-1].isdigit() else article + o for o in others)])


def the(location: str) -> str:
    """A location with its article where it takes one."""
    return location if location[-1].isdigit() else f"the {location}"


def joined(names: list[str]) -> str:
    """a, b and c."""
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def percent(share: float) -> str:
    """A share in whole percent."""
    if 0.0 < share < 0.005:
        return "under 1 %"
    return f"{100.0 * share:.0f} %"


def sentences(v: Mapping[str, Any], family: str) -> list[str]:
    """Recommendation, how close the call is, geometry by itself, tap, gauges, swapped pulls, what the numbers lean on."""
    told = [
        *_call(v, family),
        *_narrowed(v),
        _geometry(v["by_geometry"], family),
        *_tap(v, family),
        *_display(v, family),
    ]
    return [*told, *([] if v["swaps"] is None else _swaps(v["swaps"], v["above_k"], family)), _grounds(v, family)]


def _call(v: Mapping[str, Any], family: str) -> list[str]:
    best, rows = v["ranking"][v["recommended"]], v["ranking"]
    found = [
        f"{placed(best).capitalize()}: in {percent(best['chance'])} of engines built like this one another cylinder is more than "
        f"{kelvins(v['above_k'], family)} hotter, as a probe of its own would read, than the hottest needle you have (sampling and surface "
        f"+-{100.0 * best['chance_error']:.1f} points); in the mean by {kelvins(best['miss_mean_k'], family)}."
    ]
    if len(rows) == 1:
        return [*found, "There is no other placement of that many probes."]
    if any(not isinstance(p, int) for p in best["places"]):
        found.append(_allowed(v["by_geometry"], family))
    tied = [row for row in rows if row["ties"]]
    others = [row for row in rows if not row["ties"]]
    worst = rows[-1]
    if not others:
        return [*found, f"The choice hardly matters: all {len(rows)} placements lie within {percent(worst['chance'] - rows[0]['chance'])} "
                "of one another, as good as the same."]  # fmt: skip
    if len(tied) > 1:
        others_tied = [placed(row, "the ") for row in tied if row is not best]
        named = joined(others_tied) if len(others_tied) <= 3 else f"{len(others_tied)} other placements"
        found.append(f"It hardly matters whether it is this or {named}: as good as the same." + _which(v, tied))
    second = others[0]
    more = second["chance"] - best["chance"]
    how = "A close call" if more < max(CLOSE, 2.0 * second["chance_error"]) else "A clear call"
    found.append(
        f"{how}: next comes {placed(second, 'the ')}, which misses in {percent(second['chance'])}; last {placed(worst, 'the ')} with {percent(worst['chance'])}."
    )
    return [*found, *_among_runners(rows, v["samples"])]


def _allowed(own: Mapping[str, Any], family: str) -> str:
    """What a collector shows beyond the hottest runner by nature."""
    beyond = joined([signed(k - max(own["departures_k"]), family) for k in own["collector_k"]])
    return (
        f"A collector's probe reads {beyond} against the hottest runner's while all are fed alike, since its gas flows steadily and has "
        "cooled on the way; the chances allow for that, and so must whoever reads it: try the probe once in a runner to check it."
    )


def _among_runners(rows: list[Row], samples: int) -> list[str]:
    """Whether it matters which runners, where no collector is probed."""
    own = [row["chance"] for row in rows if all(isinstance(p, int) for p in row["places"])]
    if len(own) < 2 or max(own) - min(own) > max(HARDLY, 2.0 / math.sqrt(samples)):
        return []
    return [
        f"Which runners hardly matters: all {len(own)} placements in runners alone miss in {percent(min(own))} to {percent(max(own))}."
    ]


def _which(v: Mapping[str, Any], tied: list[Row]) -> str:
    """Why this one of several equals."""
    shares = {round(row["left_mean"], 2) for row in tied}
    return "" if len(shares) == 1 else " It is named first because its log tells most of all cylinders."


def _narrowed(v: Mapping[str, Any]) -> list[str]:
    best = v["ranking"][v["recommended"]]
    known = [row for row in best["left"] if row["reading"] is not None]
    if not known:
        return ["Nothing is spread, so a log has nothing to narrow."]
    near = min(known, key=lambda row: row["reading"])
    far = max(known, key=lambda row: row["reading"])
    even = percent(near["reading"]) == percent(far["reading"])
    rest = (
        "of every other's as much."
        if even
        else f"of cylinder {far['cylinder']}'s reading {percent(far['reading'])} is left."
    )
    mixture = "" if near["mixture"] is None else f", and {percent(near['mixture'])} of that in its mixture"
    return [
        f"A steady row of its log leaves {percent(near['reading'])} of what is unknown of cylinder {near['cylinder']}'s reading{mixture}; "
        f"{rest} One temperature cannot part air, fuel and spark."
    ]


def _geometry(own: Mapping[str, Any], family: str) -> str:
    if own["by_symmetry"]:
        return (
            "Fed alike, the runners differ by nothing: each is the other turned by some firings, and neighbours' pulses come to all "
            f"alike (solved within {kelvins(own['solver_scatter_k'], family, 2)}). {_collector_alone(own, family)}"
        )
    pairs = "" if all(len(g) == 1 for g in own["groups"]) else ", alike where one is the other turned or mirrored"
    return (
        f"Fed alike, the runners already differ by their pipes, firing intervals and neighbours' pulses: "
        f"{_by_cylinder(own['departures_k'], family)} about their mean{pairs}. {_collector_alone(own, family)}"
    )


def _by_cylinder(kelvin: list[float], family: str) -> str:
    digits = 0 if max(map(abs, kelvin)) >= 10.0 else 1
    return ", ".join(f"{k} {signed(d, family, digits)}" for k, d in enumerate(kelvin, 1))


def _collector_alone(own: Mapping[str, Any], family: str) -> str:
    """What the collector's parts do of it."""
    count, alone = own["collector_volumes"], own["collector_alone_k"]
    if count == 1:
        return (
            "The collector is one volume here; as a chain of volumes (exhaust.collector_volumes) its first and last port see "
            "different pulses."
        )
    if own["by_symmetry"]:
        return f"The collector, a chain of {count} volumes, adds nothing to that: the ports are mirror images of one another."
    return (
        f"From the collector alone, a chain of {count} volumes: {_by_cylinder(alone, family)}. Gas inertia is not in it, and each part takes the "
        "dynamic head of what passes."
    )


def _tap(v: Mapping[str, Any], family: str) -> list[str]:
    best, worst, gauge, own = v["taps"][0], v["taps"][-1], v["pressure_gauge"], v["shared"]
    found = [
        f"The pressure tap belongs in {the(best['place'])}: {small(abs(best['off_pa']), family)} off the mean before the turbine, its needle "
        f"swinging +-{small(0.5 * (best['pulsation_at_gauge_pa'] or 0.0), family)}; last comes {the(worst['place'])} with "
        f"{small(abs(worst['off_pa']), family)} and +-{small(0.5 * (worst['pulsation_at_gauge_pa'] or 0.0), family)}."
    ]
    if (best["pulsation_at_gauge_pa"] or 0.0) > best["reading_pa"]:
        found.append(
            "Its needle swings by more than it reads: calm it with a damping orifice (pressure_tap.restrictor)."
        )
    if not best["gauge_survives"]:
        length = best["length_needed_m"]
        found.append("Its line is too short for the gauge" + (f": {long(length, family)} would do." if length else "."))
    scale = " or ".join(
        f"{gauge[f'full_scale_{unit}']:g} {unit}" for unit in ("bar", "psi") if gauge[f"full_scale_{unit}"]
    )
    found.append(
        f"Buy its gauge with {scale or 'a larger scale than is usual'} full scale: a pulsing pressure should stay within 65 % of it "
        f"(EN 837-2, from memory), here {shown(gauge['mean_pa'], 'pressure', family)} at this point."
    )
    share = "may share a runner" if own["may_share"] else "should not share a runner"
    found.append(
        f"Probe and tap {share}: the probe blocks {100.0 * own['blocked_fraction']:.0f} % of the bore and takes "
        f"{small(own['loss_peak_pa'], family)} off at the peak of the flow, the gauge's class is {small(own['gauge_class_pa'] or 0.0, family)}. "
        f"Put the tap upstream of the probe, {long(own['apart_m'], family)} or more away (ten sheaths; common practice, no source)."
    )
    return found


def _display(v: Mapping[str, Any], family: str) -> list[str]:
    top, stands = v["display"]["shows_up_to_k"], v["display"]["probe_stands_k"]
    short = (
        "" if top <= stands else f" That is past the {shown(stands, 'temperature', family)} the probe stands for long."
    )
    return [
        f"The exhaust gauge must show up to {shown(top, 'temperature', family)}, which one engine in a thousand passes at this point in its hottest place, probe class included.{short}"
    ]


def signed(difference: float, family: str, decimals: int = 0) -> str:
    """A difference of temperatures with its sign."""
    return ("+" if difference >= 0.0 else "") + kelvins(difference, family, decimals)


def small(pressure: float, family: str) -> str:
    """A pressure of a few hundredths of a bar."""
    return f"{pressure / PSI:.2f} psi" if family == "us" else f"{pressure / 1e3:.1f} kPa"


def long(metres: float, family: str) -> str:
    """A length along a pipe or tube."""
    return f"{metres / 0.0254:.1f} in" if family == "us" else f"{1e3 * metres:.0f} mm"


def _swaps(s: Mapping[str, Any], above: float, family: str) -> list[str]:
    a, b = s["cylinders"]
    lag = (
        "" if s["shown_share"] is None
        else f" In a pull the needle has shown {percent(s['shown_share'])} of a difference when this speed is passed; that is counted."
    )  # fmt: skip
    count = {key: "more than 99" if s[key] is None else f"{s[key]}" for key in ("needed_at_above", "needed_at_typical")}
    typical = s["typical_difference_k"]
    need = f"{count['needed_at_above']} pull{'' if count['needed_at_above'] == '1' else 's'} in each hole"
    more = f", {count['needed_at_typical']} for the typical {kelvins(typical, family)}" if typical > 0.5 else ""
    first = s["rows"][0]
    return [
        f"Two holes, {a} and {b}, and one gauge: to name the hotter with 95 % where they differ by {kelvins(above, family)} takes {need}{more}; "
        f"one pull in each is right {percent(first['right'])} of the time. Swap in the order A B B A, so that a drift cancels. It is the "
        f"same probe, so its class cancels too.{lag}"
    ]


def _grounds(v: Mapping[str, Any], family: str) -> str:
    s, check = v["spreads"], v["check"]
    guessed = ", ".join(n.removeprefix("spreads.") for n in v["guesses"])
    guess = f" Of these {guessed} are stand-ins: measure them." if guessed else ""
    return (
        f"All of this leans on spreads of {100 * s['air']:.1f} % in air, {100 * s['fuel']:.1f} % in fuel and {s['spark']:.1f} deg in spark from "
        f"cylinder to cylinder (one standard deviation).{guess} The surface is {kelvins(check['rms_k'], family, 1)} off whole predictions (rms of "
        f"{check['draws']:.0f} draws of all cylinders, worst {kelvins(check['worst_k'], family, 1)})."
    )
