"""Makes the helper modules of this folder importable by its tests (they are no part of the installed package)."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
