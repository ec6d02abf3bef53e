"""The pressure tap of a case: how cool its gauge end is, how late and how smooth its needle, and whether the gauge lives."""

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..models import endurance, tap
from .records import Array
from .sections_gauges import PressureTap
from .settle import March
from .showing import kelvins, shown
from .streams import Stream, has_manifold, mean_and_swing, stream

PIECES = 10  # of one temperature, finer where it is hot; 24 move the pulsation left by less than 1 %
FAINT = 3e-3  # of the largest harmonic; fainter ones are left out, which moves the pulsation left by less than 2 %
RESTRICTOR = 5e-3  # length of a damping orifice [m]
PROFILE = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0)  # distances from the boss at which the wall is stated [m]
SOURCES = {
    "pressure_tap": "tube as a fin (outside: Churchill & Chu, 1975); sound in it after Bergh & Tijdeman, NLR-TR F.238 (1965)"
}
AMPLIFIES = 1.2  # pulsation at the gauge over that at the tap from which a line is said to ring [-]


class Line(NamedTuple):
    """The line in pieces of one temperature, as the physics of sound and lag takes it."""

    bores: Array
    lengths: Array
    temperatures: Array
    pressure: float
    cavity: float

    def transmission(self, frequency: Array) -> NDArray[np.complex128]:
        """Complex ratio of the pulsation at the gauge to that at the tap, at frequencies [Hz]."""
        return tap.spectrum_passed(
            frequency, self.bores, self.lengths, self.temperatures, self.pressure, self.cavity, 0.0
        )

    def lag(self) -> float:
        """Time constant [s]."""
        return float(tap.time_constant(self.bores, self.lengths, self.temperatures, self.pressure, self.cavity, 0.0))


def pressure_tap(march: March) -> dict[str, Any] | None:
    """Everything about the tap of the case, in SI; None where there is none, or no manifold to tap."""
    wanted = march.setup.case.pressure_tap
    if wanted is None or not has_manifold(march):
        return None
    place = stream(march, wanted.cylinder)
    tube, air = tube_of(wanted), float(wanted.air_temperature)
    profile = tap.cooled(tube, place.wall, air)
    line = line_of(wanted, place, *profile)
    row = {
        "cylinder": wanted.cylinder,
        "location": place.name,
        "reading_pa": place.pressure_mean - march.setup.ambient.pressure,
        **_heat(wanted, place, tube, profile),
        "lag_s": line.lag(),
        **_pulsation(march, place, line),
    }
    return row | {"sentences": sentences(row, wanted, march.setup.case.report.units)}


def tube_of(wanted: PressureTap) -> tap.Tube:
    """The tube of a case as the physics takes it."""
    conductivity, emissivity = tap.TUBE_METALS[wanted.metal]
    return tap.Tube(float(wanted.bore), float(wanted.wall), float(wanted.length), conductivity, emissivity)


def line_of(wanted: PressureTap, place: Stream, x: Array, wall: Array) -> Line:
    """The line at this point, hot at the boss; a damping orifice is its last piece."""
    lengths, temperatures = tap.cut(x, wall, PIECES)
    bores = np.full(len(lengths), float(wanted.bore))
    if wanted.restrictor is not None:
        lengths, temperatures = np.append(lengths, RESTRICTOR), np.append(temperatures, temperatures[-1])
        bores = np.append(bores, wanted.restrictor)
    return Line(bores, lengths, temperatures, place.pressure_mean, float(wanted.cavity))


def _heat(wanted: PressureTap, place: Stream, tube: tap.Tube, profile: tuple[Array, Array]) -> dict[str, Any]:
    """Wall along the tube, gas at the gauge, and the length that would keep the gauge cool enough.

    Between pulses the gas column sways in and out, and gas fresh from the manifold comes as far as the swing of pressure
    squeezes it. The warm side takes all of that stretch as hot as the gas itself, and lets the tube cool from there.
    """
    (x, wall), air = profile, float(wanted.air_temperature)
    limit = float(wanted.gauge_limit or endurance.LIMITS[wanted.gauge].continuous)
    sway = 1.0 - place.pressure_low / place.pressure_high
    hottest = max(place.flow_weighted, place.wall)
    warm = tap.gauge_temperature(tube._replace(length=(1.0 - sway) * tube.length), hottest, air)
    needed = tap.length_for(tube, hottest, air, limit) / (1.0 - sway)
    at = [*(d for d in PROFILE if d < tube.length), tube.length]
    return {
        "gauge": wanted.gauge,
        "boss_temperature_k": place.wall,
        "air_temperature_k": air,
        "gauge_end_temperature_k": float(wall[-1]),
        "gauge_end_warm_side_k": warm,
        "gauge_limit_k": limit,
        "gauge_survives": warm <= limit,
        "length_m": tube.length,
        "length_needed_m": needed if math.isfinite(needed) else None,
        "sway_m": sway * tube.length,
        "profile": [
            {"distance_m": d, "wall_temperature_k": t} for d, t in zip(at, np.interp(at, x, wall).tolist(), strict=True)
        ],
    }


def _pulsation(march: March, place: Stream, line: Line) -> dict[str, Any]:
    """What is left of the pulses at the gauge: every harmonic of the cycle goes through the line by itself.

    Where the pressure is held by hand there are no pulses to pass. Linear sound: where it rings, an upper bound.
    """
    wave = np.fft.rfft(place.pressure)
    cycle = 1.0 / float(place.dt.sum())
    order = firing_order(march, place)
    size = np.abs(wave)
    heard = size > FAINT * size[1:].max()
    heard[0], heard[order] = False, True
    harmonics = np.flatnonzero(heard)
    through = line.transmission(cycle * harmonics.astype(np.float64))
    passed = np.zeros_like(wave)
    passed[0], passed[harmonics] = wave[0], wave[harmonics] * through
    left = np.fft.irfft(passed, len(place.pressure))
    swing = None if place.stands_in else place.pressure_high - place.pressure_low
    swing_left = None if place.stands_in else mean_and_swing(left)[1]
    bare = quarter_wave(line)
    return {
        "pulsation_pa": swing,
        "pulsation_at_gauge_pa": swing_left,
        "pulsation_left": None if swing is None or swing_left is None else swing_left / swing,
        "pulse_frequency_hz": order * cycle,
        "gain_at_pulses": float(abs(through[np.searchsorted(harmonics, order)])),
        "quarter_wave_hz": bare,
        "resonance_hz": resonance(line, bare),
    }


def quarter_wave(line: Line) -> float:
    """Resonance of the bare tube, shut at its end and without losses [Hz]; a cavity and the wall make it lower."""
    length = float(line.lengths.sum())
    return tap.quarter_wave(length, float(line.lengths @ line.temperatures) / length)


def resonance(line: Line, shut: float) -> float:
    """The same with the gauge's cavity at its end [Hz]: cot(k L) = k V / A, lossless, in the gas of the tube's mean.

    shut : `quarter_wave` of the line [Hz]

    Newton's rule from the left, where it takes no step beyond: 1/m - cot m is convex, so its chord bounds it.
    """
    length, area = float(line.lengths.sum()), 0.25 * math.pi * float(line.bores[0]) ** 2
    load = line.cavity * tap.GAMMA / (area * length)  # a gauge's small cavity keeps to its wall's temperature
    m = 1.0 / math.sqrt(load + 4.0 / math.pi**2)
    for _ in range(5):
        m -= (load * m - 1.0 / math.tan(m)) / (load + 1.0 / math.sin(m) ** 2)
    return shut * m / (0.5 * math.pi)


def firing_order(march: March, place: Stream) -> int:
    """Pulses in a cycle at a place: one in a runner, one for each cylinder of a collector."""
    n = march.setup.engine.cylinders
    collectors = march.setup.engine.collectors
    return 1 if place.name.startswith("runner") else max(1, round(n / collectors))


def sentences(row: dict[str, Any], wanted: PressureTap, family: str) -> list[str]:
    """What the numbers say to the person with the drill."""
    names = ("gauge_end_temperature_k", "gauge_end_warm_side_k", "gauge_limit_k")
    end, warm, stands = (shown(row[k], "temperature", family) for k in names)
    over = kelvins(row["gauge_end_temperature_k"] - row["air_temperature_k"], family)
    gauge = f"{'an' if wanted.gauge[0] in 'aeiou' else 'a'} {wanted.gauge}"
    said = [
        f"At the gauge the tube and its gas are at {end}, {over} above the air around it; with hot gas swaying "
        f"{_length(row['sway_m'], family)} in and out no more than {warm}. {gauge.capitalize()} stands "
        f"{stands}: {_verdict(row, family)}"
    ]
    if row["pulsation_left"] is None:
        return [
            *said,
            f"The needle follows in {_milliseconds(row['lag_s'])}; the pressure is held by hand, so it does not pulse.",
        ]
    said.append(
        f"The needle follows in {_milliseconds(row['lag_s'])}; {100.0 * row['pulsation_left']:.0f} % of the pulsation of "
        f"{shown(row['pulsation_pa'], 'pressure', family)} reaches it."
    )
    if row["pulsation_left"] > AMPLIFIES:
        said.append(
            f"The line rings: it resonates near {row['resonance_hz']:.0f} Hz (bare quarter wave "
            f"{row['quarter_wave_hz']:.0f} Hz), the pulses come at {row['pulse_frequency_hz']:.0f} Hz and its multiples. The theory "
            "is one of small pulses, so take the figure as a bound; a damping orifice or another length calms the needle."
        )
    return said


def _verdict(row: dict[str, Any], family: str) -> str:
    needed = row["length_needed_m"]
    if needed is None:
        return "the air around it is too hot for it, whatever the length; move it to cooler air."
    length = f"{_length(needed, family)} of this tube would do, before any margin of your own."
    return f"it stands this; {length}" if row["gauge_survives"] else f"it does not stand this; {length}"


def _length(metres: float, family: str) -> str:
    return f"{metres / 0.0254:.1f} in" if family == "us" else f"{1e3 * metres:.0f} mm"


def _milliseconds(seconds: float) -> str:
    return f"{1e3 * seconds:.0f} ms" if seconds >= 1e-3 else "less than 1 ms"
