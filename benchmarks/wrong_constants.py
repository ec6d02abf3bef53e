"""Whether a wrong physical constant would be noticed: each is put wrong in a copy of the package, and a named test must fail.

    python benchmarks/wrong_constants.py                ends with status 1 where a wrong constant goes unnoticed

Signs turned, or values 10 % off. Each test must pass on the untouched copy first. Kernels run as plain Python: nothing is
compiled, and the tests named take some seconds each.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent


class Wrong(NamedTuple):
    """A constant put wrong: the file, what stands there, what shall, and the test that must fail."""

    file: str
    right: str
    wrong: str
    test: str


CONSTANTS = (
    Wrong("models/knock.py", "EXPONENT = 3.402", "EXPONENT = 3.742", "published/test_submodels.py::test_autoignition_delay"),
    Wrong("models/knock.py", "** -1.7 *", "** 1.7 *", "published/test_submodels.py::test_autoignition_delay"),
    Wrong("models/wall_heat.py", "return 130.0 *", "return 143.0 *", "published/test_submodels.py::test_heat_transfer_coefficients"),
    Wrong("models/wall_heat.py", "- 0.55 * math.log(T)", "+ 0.55 * math.log(T)",
        "published/test_submodels.py::test_heat_transfer_coefficients"),
    Wrong("models/combustion.py", "0.305 - 0.549 *", "0.305 - 0.604 *", "published/test_submodels.py::test_burning_velocity_at_room_state"),
    Wrong("models/friction.py", "CHEN_FLYNN_SPEED = 0.162e5", "CHEN_FLYNN_SPEED = 0.178e5", "published/test_friction.py::test_chen_flynn"),
    Wrong("models/air.py", "LAPSE = 0.0065", "LAPSE = -0.0065", "published/test_air.py::test_standard_atmosphere"),
    Wrong("models/air.py", "R_VAPOUR = 461.52", "R_VAPOUR = 507.67", "published/test_air.py::test_saturation_humidity"),
    Wrong("models/transport.py", "STEFAN_BOLTZMANN = 5.670374419e-8", "STEFAN_BOLTZMANN = 6.237411861e-8",
        "published/test_instruments.py::test_radiating_sphere_of_incropera"),
    Wrong("models/fuels.py", "789.3, 919e3,", "789.3, 827e3,", "test_fuels_air.py::test_components_against_the_chemicals_library"),
    Wrong("models/nitric_oxide.py", "Rate(9.0e6, 1.0, 3270.9)", "Rate(9.9e6, 1.0, 3270.9)", "published/test_nitric_oxide.py::test_rates_of_the_published_mechanism"),
    Wrong("models/turbine.py", "DISCHARGE_ROTOR = 0.90", "DISCHARGE_ROTOR = 0.99", "test_guard.py::test_nothing_moved_unsaid[buggy]"),
    Wrong("models/line_sound.py", "GAMMA = 1.38", "GAMMA = 1.518",
        "published/test_instruments.py::test_line_without_cavity_resonates_at_a_quarter_wave"),
)  # fmt: skip


def copied(folder: Path) -> None:
    """The package as it is installed, without what earlier runs compiled."""
    for name in ("models", "sim"):
        shutil.copytree(ROOT / name, folder / "hotside" / name, ignore=shutil.ignore_patterns("__pycache__"))


def passes(folder: Path, test: str) -> bool:
    """Whether a test passes on the package in a folder."""
    env = os.environ | {
        "PYTHONPATH": os.pathsep.join([str(folder), *filter(None, [os.environ.get("PYTHONPATH")])]),
        "NUMBA_DISABLE_JIT": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    files = [str(ROOT / "tests" / part) for part in test.split()]
    command = [sys.executable, "-m", "pytest", "-x", "-p", "no:cacheprovider", "--no-header", "--tb=no", *files]
    done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        sys.exit(f"{test}: no test was run\n{done.stdout}{done.stderr}")
    return done.returncode == 0


def put_wrong(folder: Path, one: Wrong, back: bool = False) -> None:
    """Edit the copy; what stands there must stand there once."""
    path = folder / "hotside" / one.file
    text, (old, new) = path.read_text(), (one.wrong, one.right) if back else (one.right, one.wrong)
    if text.count(old) != 1:
        sys.exit(
            f"{one.file}: {old!r} stands there {text.count(old)} times; bring benchmarks/wrong_constants.py up to date"
        )
    path.write_text(text.replace(old, new))


def main() -> int:
    """Try every constant; returns how many went unnoticed."""
    unnoticed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copied(folder)
        for test in dict.fromkeys(one.test for one in CONSTANTS):
            if not passes(folder, test):
                sys.exit(f"{test} fails on the constants as they are")
        for one in CONSTANTS:
            put_wrong(folder, one)
            noticed = not passes(folder, one.test)
            put_wrong(folder, one, back=True)
            unnoticed += not noticed
            print(
                f"{'noticed' if noticed else 'UNNOTICED'}: {one.file}: {one.right} -> {one.wrong} ({one.test})",
                flush=True,
            )
    return unnoticed


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
