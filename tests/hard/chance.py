"""Decisions read from a string of bytes, which hypothesis draws and shrinks.

One draw for a whole case, since hypothesis makes five near copies of every example that holds alike draws; shrinking the
string towards zeros turns every decision into its first and plainest alternative.
"""

from hypothesis import strategies as st

LENGTH = 700  # bytes; what is decided after the last is plain


class Chance:
    """Reads decisions off a string of bytes."""

    def __init__(self, data):
        self.data, self.at = data, 0

    def __repr__(self):
        return f"Chance({self.data[:8].hex()}...)"

    def _byte(self):
        self.at += 1
        return self.data[self.at - 1] if self.at <= len(self.data) else 0

    def share(self):
        """A number from 0 to 1; one in eight is an end."""
        end, whole = self._byte(), self._byte() * 256 + self._byte()
        if end >= 224:
            return 0.0 if end < 240 else 1.0
        return whole / 65535.0

    def likely(self, probability):
        """True with a probability; a plain case says False."""
        return self._byte() >= 256.0 * (1.0 - probability)

    def pick(self, items):
        """One of some items; a plain case takes the first."""
        return items[(self._byte() * 256 + self._byte()) * len(items) >> 16]

    def some(self, items, most):
        """Up to `most` different items."""
        rest, found = list(items), []
        for _ in range(self.pick(range(min(most, len(rest)) + 1))):
            found.append(rest.pop(rest.index(self.pick(rest))))
        return found

    def order(self, items):
        """All items in some order."""
        rest = list(items)
        return [rest.pop(rest.index(self.pick(rest))) for _ in range(len(rest))]


def chances(length=LENGTH):
    """A strategy for a Chance."""
    return st.binary(min_size=length, max_size=length).map(Chance)
