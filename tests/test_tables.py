"""Tables on disk: quick to read, whole or rebuilt, shared by processes, harmless when they cannot be kept."""

import os
import subprocess
import sys
import time

import numpy as np
import pytest
from hotside.models import fuels, gas
from hotside.sim import tables

FUEL = fuels.named("isooctane")


@pytest.fixture
def whole():
    """A table as `gas_table` gives it, wherever this run keeps its own."""
    return tables.gas_table(FUEL)


@pytest.fixture
def fresh_folder(whole, tmp_path, monkeypatch):
    """An empty cache folder, an empty memory, and a build that hands out the known table and counts its calls."""
    monkeypatch.setenv("HOTSIDE_CACHE", str(tmp_path))
    monkeypatch.setattr(tables, "_memo", {})
    calls = []

    def build(fuel, progress):
        calls.append(fuel.name)
        return whole

    monkeypatch.setattr(tables, "build", build)
    return tmp_path, calls


def same(a, b):
    return all(np.array_equal(x, y) for x, y in zip(a, b, strict=True))


def forget(monkeypatch):
    monkeypatch.setattr(tables, "_memo", {})


def kept(folder):
    files = list((folder / "tables").iterdir())
    assert len(files) == 1, "one table, no part files left"
    return files[0]


def test_a_table_read_is_the_table_built(fresh_folder, whole, monkeypatch):
    folder, calls = fresh_folder
    assert tables.gas_table(FUEL) is whole
    forget(monkeypatch)
    read = tables.gas_table(FUEL)
    assert read is not whole
    assert same(read, whole)
    assert tables.gas_table(FUEL) is read, "kept in memory"
    assert calls == ["isooctane"]
    assert kept(folder).suffix == ".npz"


def test_what_the_kernel_needs_of_the_arrays(fresh_folder, monkeypatch):
    """One compiled signature: float64, C-contiguous, writable, and plain floats; built and read alike."""
    tables.gas_table(FUEL)
    forget(monkeypatch)
    for value in tables.gas_table(FUEL):
        if isinstance(value, np.ndarray):
            assert value.dtype == np.float64
            assert value.flags.c_contiguous
            assert value.flags.writeable
        else:
            assert type(value) is float


@pytest.mark.parametrize("share", [0.0, 0.001, 0.5, 0.999])
def test_a_file_cut_short_is_built_again(fresh_folder, whole, monkeypatch, share):
    folder, calls = fresh_folder
    tables.gas_table(FUEL)
    path = kept(folder)
    content = path.read_bytes()
    path.write_bytes(content[: int(share * len(content))])
    forget(monkeypatch)
    assert same(tables.gas_table(FUEL), whole)
    assert len(calls) == 2
    assert path.read_bytes()[:4] == content[:4]
    assert len(path.read_bytes()) == len(content)


@pytest.mark.parametrize("place", [0, 40, 200, 5000, 100_000, 1_500_000, -200, -10])
def test_a_damaged_file_is_never_believed(fresh_folder, whole, monkeypatch, place):
    """One byte turned over: either the table is built again or what is read is right all the same."""
    folder, _ = fresh_folder
    tables.gas_table(FUEL)
    path = kept(folder)
    content = bytearray(path.read_bytes())
    content[place] ^= 0xFF
    path.write_bytes(bytes(content))
    forget(monkeypatch)
    assert same(tables.gas_table(FUEL), whole)


def test_a_damaged_number_is_noticed(fresh_folder, monkeypatch):
    folder, calls = fresh_folder
    tables.gas_table(FUEL)
    path = kept(folder)
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 0x01
    path.write_bytes(bytes(content))
    forget(monkeypatch)
    tables.gas_table(FUEL)
    assert len(calls) == 2


def test_a_folder_that_cannot_be_written_costs_a_warning(fresh_folder, whole, monkeypatch):
    folder, calls = fresh_folder
    (folder / "file").write_text("no folder")
    monkeypatch.setenv("HOTSIDE_CACHE", str(folder / "file"))
    with pytest.warns(UserWarning, match="could not be kept"):
        assert tables.gas_table(FUEL) is whole
    assert tables.gas_table(FUEL) is whole
    assert len(calls) == 1


def test_an_interrupted_write_leaves_nothing(fresh_folder, monkeypatch):
    folder, _ = fresh_folder

    def stop(*_args, **_kw):
        raise KeyboardInterrupt

    monkeypatch.setattr(np, "savez", stop)
    with pytest.raises(KeyboardInterrupt):
        tables.gas_table(FUEL)
    assert list((folder / "tables").iterdir()) == []


def test_every_composition_has_its_own_file(fresh_folder, monkeypatch):
    folder, _ = fresh_folder
    for name in ("isooctane", "gasoline_95", "e85"):
        tables.gas_table(fuels.named(name))
    tables.gas_table(FUEL._replace(name="other name", ron=90.0))
    assert len(list((folder / "tables").iterdir())) == 3, "name and octane do not touch the tables"


def in_process(code, folder):
    environment = os.environ | {"HOTSIDE_CACHE": str(folder)}
    return subprocess.Popen([sys.executable, "-c", code], env=environment, stdout=subprocess.PIPE, text=True)


PRINT_DIGEST = """
import hashlib, sys
from hotside.models import fuels
from hotside.sim import tables
reports = []
table = tables.gas_table(fuels.named("methanol"), lambda text, share: reports.append(share))
digest = hashlib.sha256(b"".join(bytes(memoryview(x)) for x in table if not isinstance(x, float))).hexdigest()
print(digest, "cantera" in sys.modules, "scipy.optimize" in sys.modules, len(reports), reports == sorted(reports))
"""


def test_two_processes_build_at_once_then_a_third_reads(tmp_path):
    """The real build, from nothing. The reader neither imports Cantera nor reports progress."""
    both = [in_process(PRINT_DIGEST, tmp_path) for _ in range(2)]
    results = [process.communicate(timeout=300)[0].split() for process in both]
    assert [process.returncode for process in both] == [0, 0]
    digest, *rest = in_process(PRINT_DIGEST, tmp_path).communicate(timeout=60)[0].split()
    assert results[0][0] == results[1][0] == digest
    assert rest == ["False", "False", "0", "True"]
    for _, cantera, _, reports, rising in results:
        assert (cantera, rising) == ("True", "True")
        assert int(reports) > 10
    assert kept(tmp_path).suffix == ".npz"


def test_a_warm_load_takes_less_than_15_ms(fresh_folder, monkeypatch):
    tables.gas_table(FUEL)
    best = np.inf
    for _ in range(7):
        forget(monkeypatch)
        start = time.perf_counter()
        tables.gas_table(FUEL)
        best = min(best, time.perf_counter() - start)
    assert best < 0.015


def test_nodes_are_where_the_kernel_expects_them(whole):
    assert len(whole.phi) == 48
    assert np.all(np.diff(whole.phi) > 0.0)
    assert 1.0 in whole.phi
    assert whole.burned_energy.shape == (48, 3, gas.N_BURNED_T, gas.N_BURNED_P)
    assert (whole.t_freeze - whole.bt0) % whole.bdt == 0.0
    assert np.exp(whole.blp0) == pytest.approx(0.2e5)
    assert np.exp(whole.blp0 + 12 * whole.dblp) == pytest.approx(250e5)
    assert whole.t0 + (len(whole.energy) - 1) * whole.dt == 3500.0
    assert (whole.t0, whole.dt) == (gas.FIRST, gas.STEP), "which the inner loops take as constants"
    for value in (whole.burned_energy, whole.burned_r, whole.frozen, whole.energy, whole.cv):
        assert np.all(np.isfinite(value))
