"""Every margin along a curve: where it is least, and the speed at which it binds first."""

from typing import Any

from ...prediction import Prediction


def along(speeds_rpm: list[float], points: list[Prediction | None]) -> list[dict[str, Any]]:
    """A row for each limit, those that are passed first, then by the speed of the least margin.

    Each row: name, least (margin), value, limit, at_rpm (where it is least), binds_from_rpm and binds_to_rpm (the first and the
    last of the speeds past it; None where it is passed at none), worst_everywhere.
    """
    rows: dict[str, list[tuple[float, dict[str, Any]]]] = {}
    for speed, point in zip(speeds_rpm, points, strict=True):
        for margin in point.margins if point is not None else ():
            rows.setdefault(str(margin["name"]), []).append((speed, margin))
    found = [_row(name, known) for name, known in rows.items()]
    return sorted(found, key=lambda r: (r["binds_from_rpm"] is None, r["binds_from_rpm"] or 0.0, r["share"]))


def _row(name: str, known: list[tuple[float, dict[str, Any]]]) -> dict[str, Any]:
    at, least = min(known, key=lambda item: item[1]["margin"])
    past = [speed for speed, row in known if row["exceeded"]]
    limit = abs(float(least["limit"])) or 1.0
    return {
        "name": name,
        "least": least["margin"],
        "value": least["value"],
        "limit": least["limit"],
        "share": least["margin"] / limit,
        "at_rpm": at,
        "binds_from_rpm": min(past) if past else None,
        "binds_to_rpm": max(past) if past else None,
        "speeds_past": len(past),
    }
