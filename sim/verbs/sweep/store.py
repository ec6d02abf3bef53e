"""A sweep on disk: netCDF for programs, CSV for spreadsheets, each written whole and read back to an equal dataset."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ...errors import CaseError
from ...files import check_new, whole
from . import table_text

if TYPE_CHECKING:
    import xarray as xr

ENDINGS = (".nc", ".csv")


def check_ending(path: Path) -> None:
    """Raise CaseError where a name says neither netCDF nor CSV."""
    if path.suffix.lower() not in ENDINGS:
        raise CaseError(f"{path} ends in neither .nc (netCDF) nor .csv; write for example map.nc.")


def write(found: "xr.Dataset", path: Path, force: bool = False) -> None:
    """Write a dataset whole or not at all; raises CaseError."""
    check_ending(path)
    check_new(path, force)
    with whole(path, ".part") as part:
        if path.suffix.lower() == ".csv":
            part.write_text(table_text.text_of(found), encoding="utf-8", newline="")
        else:
            found.to_netcdf(part, engine="scipy", format="NETCDF3_64BIT")


def open_sweep(path: str | Path) -> "xr.Dataset":
    """The dataset of a sweep from its netCDF or CSV file; raises CaseError for a file that is none.

    A netCDF file is read by plain xarray as well: `xarray.open_dataset("map.nc")`.
    """
    path = Path(path)
    check_ending(path)
    try:
        found = table_text.read(path) if path.suffix.lower() == ".csv" else _netcdf(path)
    except OSError as error:
        raise CaseError(f"{path} cannot be read: {error.strerror or error}.") from None
    except (ValueError, KeyError, TypeError, IndexError) as error:
        raise CaseError(
            f"{path} is not a file of a sweep, or is damaged: {' '.join(str(error).split())[:200]}."
        ) from None
    if "sweep_key" not in found.attrs:
        raise CaseError(f"{path} is not a file of a sweep: it has no sweep_key.")
    return found


def _netcdf(path: Path) -> "xr.Dataset":
    import xarray as xr

    found = xr.load_dataset(path, engine="scipy")
    return found.assign({k: texts(v) for k, v in found.data_vars.items() if _is_text(v)}).assign_coords(
        {k: texts(v) for k, v in found.coords.items() if _is_text(v)}
    )


def _is_text(variable: Any) -> bool:
    return variable.dtype.kind in "OST"


def texts(variable: Any) -> Any:
    """Texts as numpy's own, however the file's reader returned them."""
    return variable.copy(data=np.array(variable.values.tolist(), dtype=str).reshape(variable.shape))


def key_of(path: Path) -> str | None:
    """Key of the sweep that a file holds; None where it holds none that can be read."""
    try:
        if path.suffix.lower() == ".csv":
            return str(table_text.head_of(path)["attrs"]["sweep_key"])
        import xarray as xr

        with xr.open_dataset(path, engine="scipy") as found:
            return str(found.attrs["sweep_key"])
    except (OSError, ValueError, KeyError, TypeError, json.JSONDecodeError):
        return None
