"""A nested dict as a case file: what failing cases are printed as, and what mutations of text start from."""

import json


def value_text(value):
    """One value of TOML."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {value_text(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(value_text(v) for v in value) + "]"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return str(value).lower() if isinstance(value, bool) else str(value)


def toml_text(case):
    """The whole file: plain values first, then the tables, then what repeats."""
    return "\n".join(_lines(case, "")) + "\n"


def _lines(table, prefix):
    yield from (f"{key} = {value_text(v)}" for key, v in table.items() if not _is_table(key, v))
    for key, value in table.items():
        if not _is_table(key, value):
            continue
        for item in [value] if isinstance(value, dict) else value:
            heading = f"{prefix}{key}"
            yield ""
            yield f"[{heading}]" if isinstance(value, dict) else f"[[{heading}]]"
            yield from _lines(item, heading + ".")


def _is_table(key, value):
    if isinstance(value, dict):
        return key != "blend"
    return isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)
