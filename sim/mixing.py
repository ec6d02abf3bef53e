"""Faster repetition: mixing the last few cycles so that the next one starts nearer to the periodic answer.

Anderson mixing (D. G. Anderson, J. ACM 12 (1965) 547-560; the least-squares form of Walker & Ni, SIAM J. Numer. Anal. 49
(2011) 1715-1735; both from memory, confidence high) over everything one cycle hands to the next. It changes where cycles
start, never what a cycle does, so a settled answer is the same with and without it.
"""

import numpy as np

from .records import C_ENERGY, Array, K, Memory
from .surroundings import Z_AIR, Z_INTAKE, Z_OUTLET, Z_WASTE

DEPTH = 3  # cycles remembered
LARGEST = 0.3  # no mixing while the change is above this: the first cycles are far from linear
ENERGY = 1e6  # energy that counts like a unit of mass [J/kg]
SLOW = (Z_AIR, Z_OUTLET, Z_INTAKE, Z_WASTE)


class Mixer:
    """Holds the last starts and changes of a march; `start` before a cycle, `mix` after it."""

    def __init__(self, memory: Memory, z: Array, waste_scale: float, active: bool = True) -> None:
        self.active = active
        self.memory, self.z = memory, z
        masses = memory.content[:, :K].sum(axis=1)
        scale = np.repeat(masses[:, None], K + 1, axis=1)
        scale[:, C_ENERGY] *= ENERGY
        port = np.full((len(memory.kept), K + 1), 0.1 * masses[: len(memory.kept)].max())
        port[:, K] *= ENERGY
        slow = np.array([z[i] for i in SLOW])
        slow[-1] = waste_scale
        walls = np.full(len(memory.wall), 1e4)  # walls follow the gas and matter little
        self.scale = np.concatenate((scale.ravel(), port.ravel(), np.maximum(slow, 1e-12), walls))
        self.starts: list[Array] = []
        self.changes: list[Array] = []
        self.now = self._read()

    def _read(self) -> Array:
        m = self.memory
        slow = np.array([self.z[i] for i in SLOW])
        return np.concatenate((m.content[:, : K + 1].ravel(), m.kept[:, : K + 1].ravel(), slow, m.wall)) / self.scale

    def _write(self, x: Array) -> None:
        m, x = self.memory, x * self.scale
        n = m.content.shape[0] * (K + 1)
        m.content[:, : K + 1] = x[:n].reshape(-1, K + 1)
        k = n + m.kept.shape[0] * (K + 1)
        m.kept[:, : K + 1] = x[n:k].reshape(-1, K + 1)
        for value, i in zip(x[k : k + len(SLOW)], SLOW, strict=True):
            self.z[i] = value
        m.wall[:] = x[k + len(SLOW) :]

    def start(self) -> None:
        """Note where a cycle starts."""
        self.now = self._read()

    def moved(self) -> Array:
        """What the cycle changed, each part on its own scale."""
        return self._read() - self.now

    def back(self, share: float) -> None:
        """Let the next cycle start at a share of the way from the last start to its end."""
        self._write(self.now + share * self.moved())

    def forget(self) -> None:
        """Drop what was remembered: the steps or the aim have changed."""
        self.starts.clear()
        self.changes.clear()

    def mix(self, most_waste: float) -> None:
        """Replace the end of the cycle by a better start of the next; `most_waste` bounds the wastegate [m2]."""
        if not self.active:
            return
        end = self._read()
        change = end - self.now
        size = float(np.abs(change).max())
        if size > LARGEST or (self.changes and size > 3.0 * float(np.abs(self.changes[-1]).max())):
            self.forget()
            return
        self.starts.append(self.now)
        self.changes.append(change)
        if len(self.changes) < 2:
            return
        del self.starts[: -DEPTH - 1], self.changes[: -DEPTH - 1]
        moved = np.diff(self.starts, axis=0)
        turned = np.diff(self.changes, axis=0)
        # a whisper of damping keeps nearly parallel cycles from being weighed against each other
        # (plain sums, not the linear-algebra library: the same bits on any number of threads)
        normal = np.einsum("ik,jk->ij", turned, turned)
        normal[np.diag_indices_from(normal)] *= 1.0 + 1e-10
        try:
            weight = np.linalg.solve(normal, np.einsum("ik,k->i", turned, change))
        except np.linalg.LinAlgError:
            self.forget()
            return
        x = end - np.einsum("i,ik->k", weight, moved + turned)
        if not np.isfinite(x).all() or np.abs(x - end).max() > 3.0 * size:
            self.forget()
            return
        self._write(x)
        self.z[Z_WASTE] = min(max(self.z[Z_WASTE], 0.0), most_waste)
