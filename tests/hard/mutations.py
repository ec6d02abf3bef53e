"""Damage done to a file of text: letters, lines, numbers, units; to the values of a case; to the cells of a CSV map.

Each takes a Chance and returns the damaged whole. Nothing here knows what a file means, so a new kind of file needs no new
mutation: give its text to `text_damaged`, or to `map_damaged` where its cells are separated by commas.
"""

import copy
import re

JUNK = (
    "", " ", "\n", "\t", "=", "[", "]", "[[", "{", "}", '"', "'", '"""', "#", ",", ";", ".", "..", "-", "nan", "inf", "-inf", "1e999",
    "-1", "0", "\x00", "\x07", "\ufeff", "\u202e", "🔥", "é", "½", "−1", "1,5", "0x10", "1_000", "true", "null", "None", "%", "$",
    "a" * 500, "9" * 400, "[" * 60, "{ a = " * 30, "\\", "\r\n",
)  # fmt: skip
UNITS = ("mm", "in", "bar", "psi", "degC", "K", "deg", "rpm", "kg/s", "cc", "%", "furlong", "")
VALUES = (
    0, -1, 1, 10**30, -(10**30), 0.0, -0.0, 1e-300, 1e300, float("nan"), float("inf"), float("-inf"), True, False, "", " ", "abc",
    "nan", "inf mm", "1e400 bar", "-5 mm", "0 mm", "86", "86 mm", "1.2 bar", "870 degC", "0 K", "-300 degC", "10 deg BTDC", "1 / 0 mm",
    "1,2 bar", "mm", "bar 1.2", "\u202e86 mm", "86 mm\x00", "x" * 5000, [], [[]], [1], [1, 1, 1, 1], [None], {}, {"a": 1}, [[1, 2], [3]],
    [["nan", "inf"]], [[1.0, "0.1 kg/s"], [1.0, "0.1 kg/s"]], [{"number": 1}], [{}],
)  # fmt: skip
NUMBER = re.compile(r"[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?")


def _some_damage(draw, what, kinds):
    """One to three kinds of damage, one after the other."""
    for _ in range(draw.pick((1, 1, 2, 3))):
        what = draw.pick(kinds)(draw, what)
    return what


# ------------------------------------------------------------------------------------------------------------ of text


def text_damaged(draw, text):
    """A text with one to three things wrong with it."""
    return _some_damage(draw, text, TEXT)


def _cut_short(draw, text):
    return text[: draw.pick(range(len(text) + 1))]


def _letter_lost(draw, text):
    k = draw.pick(range(max(len(text), 1)))
    return text[:k] + text[k + 1 :]


def _junk_put_in(draw, text):
    k = draw.pick(range(len(text) + 1))
    return text[:k] + draw.pick(JUNK) + text[k:]


def _letters_swapped(draw, text):
    k = draw.pick(range(max(len(text) - 1, 1)))
    return text[:k] + text[k : k + 2][::-1] + text[k + 2 :]


def _line_lost(draw, text):
    lines = text.split("\n")
    lines.pop(draw.pick(range(len(lines))))
    return "\n".join(lines)


def _line_twice(draw, text):
    lines = text.split("\n")
    lines.insert(draw.pick(range(len(lines))), draw.pick(lines))
    return "\n".join(lines)


def _lines_swapped(draw, text):
    lines = text.split("\n")
    a, b = draw.pick(range(len(lines))), draw.pick(range(len(lines)))
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


def _number_changed(draw, text):
    found = list(NUMBER.finditer(text))
    if not found:
        return text
    spot = draw.pick(found)
    old = spot[0]
    new = draw.pick(
        ("0", "-" + old, old + "0", old + "e9", old + "e-9", "nan", "1e999", old[::-1], old + ".5", "1", "2")
    )
    return text[: spot.start()] + new + text[spot.end() :]


def _unit_changed(draw, text):
    here = [unit for unit in UNITS if unit and unit in text]
    return text.replace(draw.pick(here), draw.pick(UNITS), 1) if here else text


def _quotes_lost(draw, text):
    return text.replace('"', draw.pick(("", "'", '""')), draw.pick((1, 2, 1000)))


def _ends_of_lines(draw, text):
    return text.replace("\n", draw.pick(("\r\n", "\r", "", "\n\n", "\u2028")))


TEXT = (
    _number_changed, _unit_changed, _line_lost, _line_twice, _lines_swapped, _letter_lost, _letters_swapped, _junk_put_in,
    _cut_short, _quotes_lost, _ends_of_lines,
)  # fmt: skip


# ---------------------------------------------------------------------------------------------------- of a case's values


def case_damaged(draw, case):
    """A nested dict with one to three things wrong with it."""
    return _some_damage(draw, copy.deepcopy(case), (_one_value,))


def _one_value(draw, case):
    spots = list(_spots(case))
    if spots:
        holder, key = draw.pick(spots)
        draw.pick(VALUE)(draw, holder, key, case)
    return case


def _spots(value):
    """Every (container, key) below a value."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in list(pairs):
        yield value, key
        yield from _spots(inner)


def _replaced(draw, holder, key, _case):
    holder[key] = copy.deepcopy(draw.pick(VALUES))


def _removed(_draw, holder, key, _case):
    del holder[key]


def _renamed(draw, holder, key, _case):
    if isinstance(holder, dict):
        new = draw.pick((f"{key}s", str(key)[1:] or "x", str(key).upper(), "speed", "boost", f"{key}.x", ""))
        holder[new] = holder.pop(key)


def _moved(draw, holder, key, case):
    target = draw.pick([inner for inner in case.values() if isinstance(inner, dict)] or [case])
    if isinstance(holder, dict):
        target[key] = copy.deepcopy(holder[key])


def _scaled(draw, holder, key, _case):
    value = holder[key]
    if isinstance(value, bool):
        holder[key] = not value
    elif isinstance(value, int | float):
        holder[key] = value * draw.pick((0, -1, 2, 10, 0.1, 1e6))
    elif isinstance(value, str):
        holder[key] = NUMBER.sub(lambda m: f"{float(m[0]) * draw.pick((2, 0.5, 10, 0, -1, 1e6)):g}", value, count=1)
    elif isinstance(value, list):
        holder[key] = draw.pick((value[::-1], value * 2, value[:-1], [*value, None]))


VALUE = (_scaled, _replaced, _removed, _renamed, _moved)


# ----------------------------------------------------------------------------------------------------------- of a map

CELLS = (
    "",
    " ",
    "nan",
    "inf",
    "-1",
    "0",
    "1e999",
    "abc",
    '"',
    "1;2",
    "1,5",
    "2.0 bar",
    "=1+1",
    "\x00",
    "é",
    "-0.0",
    "1e-320",
)


def map_damaged(draw, text):
    """A CSV with one to three things wrong with it: cells, rows, columns, or the text as a whole."""
    return _some_damage(draw, text, MAP)


def _cells(text):
    return [line.split(",") for line in text.split("\n")]


def _joined(rows):
    return "\n".join(",".join(row) for row in rows)


def _cell_changed(draw, text):
    rows = _cells(text)
    row = draw.pick(rows)
    row[draw.pick(range(len(row)))] = draw.pick(CELLS)
    return _joined(rows)


def _cell_lost(draw, text):
    rows = _cells(text)
    row = draw.pick(rows)
    row.pop(draw.pick(range(len(row))))
    return _joined(rows)


def _columns_moved(draw, text):
    rows = _cells(text)
    order = draw.order(range(max(len(row) for row in rows)))
    return _joined([[row[k] for k in order if k < len(row)] for row in rows])


def _column_constant(draw, text):
    rows = _cells(text)
    k, value = draw.pick(range(max(len(row) for row in rows))), draw.pick(("1", "0", "2.5"))
    return _joined([rows[0], *[[value if i == k else cell for i, cell in enumerate(row)] for row in rows[1:]]])


def _rows_turned(_draw, text):
    rows = _cells(text)
    return _joined([rows[0], *rows[:0:-1]])


def _other_comma(draw, text):
    return text.replace(",", draw.pick((";", "\t", "|", ",,", " ")))


def _nothing_but_heading(_draw, text):
    return text.split("\n")[0]


MAP = (
    _number_changed, _cell_changed, _cell_lost, _columns_moved, _column_constant, _rows_turned, _other_comma,
    _nothing_but_heading, text_damaged,
)  # fmt: skip
