"""What a chart file is after kill -9: ``python benchmarks/killed.py [KILLS]`` (200), at random moments of the writing.

A process writes two charts in turn over the same three files, again and again; it is killed at a random moment, and
each file must then be one of the two, whole. The seed is fixed; the moments are not, as no two runs go equally fast.
It ends with exit code 1 when a file is anything else.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SEED = 20261125
NAMES = ("leads.parquet", "leads.md", "leads.csv")
WRITER = """
import sys
from pathlib import Path
from gearsearch import charts
from gearsearch.output.chart_files import write_chart
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop

def write(longest, folder):
    chart = charts.every(demo_shop(), Terms(pairs=(1, 2)), between_mm=(400, longest))
    write_chart(chart, [folder / name for name in sys.argv[2:]], overwrite=True)

for name, longest in (("one", 406), ("two", 412)):
    (Path(sys.argv[1]) / name).mkdir(exist_ok=True)
    write(longest, Path(sys.argv[1]) / name)
print("ready", flush=True)
while True:
    write(406, Path(sys.argv[1]))
    write(412, Path(sys.argv[1]))
"""


def killed_once(folder: Path, rng: random.Random) -> tuple[int, int]:
    """Start a writer, kill it at some moment, and look: how many files stand, and how many drafts it left."""
    words = [sys.executable, "-c", WRITER, str(folder), *NAMES]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(rng.uniform(0, 0.6))
        writer.send_signal(signal.SIGKILL)
    standing = [name for name in NAMES if (folder / name).exists()]
    for name in standing:
        whole = [(folder / made / name).read_bytes() for made in ("one", "two")]
        if (folder / name).read_bytes() not in whole:
            raise SystemExit(f"{name} is neither the one chart nor the other")
    drafts = [*folder.glob(".*.part"), *folder.glob(".*.old")]
    for draft in drafts:
        draft.unlink()
    return len(standing), len(drafts)


def main() -> None:
    kills, rng = int(sys.argv[1]) if len(sys.argv) > 1 else 200, random.Random(SEED)
    with tempfile.TemporaryDirectory() as name:
        seen = [killed_once(Path(name), rng) for _ in range(kills)]
    amid = sum(drafts > 0 for _, drafts in seen)
    print(f"{kills} kills, {amid} of them amid the writing: every file was the whole old or the whole new one")


if __name__ == "__main__":
    main()
