"""Coverage-guided fuzzing of everything that reads what a person typed.

``python benchmarks/fuzz.py [INPUTS]`` (1 000 000 in all, needs the package atheris). Each reader gets its share of the
inputs in a process of its own; any exception but the package's own, an input that takes over a second, or more than
500 MiB of memory ends the run with exit code 1 and the input on the screen.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

READERS = ("length", "pitch", "thread", "angle", "ratio", "tolerance", "train", "list", "shop")
STARTS = {
    "length": ["412.5 mm", "3 3/8 in", '0.25"', "1-1/4 in", "⅜″"],
    "pitch": ["13 tpi", "4 1/2 threads per inch", "1.5 mm"],
    "thread": [
        "M12x1.75-6g",
        "Tr 40x14(P7)",
        "1 1/2-6 UNC-2A",
        "#10-32",
        "G1/2-14",
        "2BA",
        "Tr 40x7-LH",
        "13 tpi",
        "1.5 mm",
    ],
    "angle": ["17°45'", "17d45m30s", "17d45", "17.75", "540'"],
    "ratio": ["40:1", "3/2", "1.5"],
    "tolerance": ["0.05 mm", "200 ppm", "+0.1/-0 mm", "0.02 mm over 60 mm", "0.5mm/m", "0.05deg helix"],
    "train": ["100/24 32/48", "80:44, 48:100", "40/(56)/72@m1.5 x 20/30@dp20"],
    "list": ["name,wanted,tolerance\nramp,85mm,0.1%\nworm,13 tpi,\n"],
}


def reader(name: str):  # type: ignore[no-untyped-def]
    """The function that reads texts of that kind."""
    from gearsearch.base import units
    from gearsearch.shop import reader as shopfile
    from gearsearch.shop import trains
    from gearsearch.work import lists, threads, tolerance

    return {
        "length": units.parse_length,
        "pitch": units.parse_pitch,
        "thread": threads.read_thread,
        "angle": units.parse_angle,
        "ratio": units.parse_ratio,
        "tolerance": tolerance.Tolerance.parse,
        "train": trains.Train.parse,
        "list": lambda text: lists.read_list(text, "fuzz"),
        "shop": lambda text: shopfile.read_shop(text, "fuzz"),
    }[name]


def fuzz_one(name: str, inputs: int, corpus: str) -> None:
    """Fuzz one reader in this process; the fuzzer ends it."""
    import atheris

    with atheris.instrument_imports(include=["gearsearch"]):
        from gearsearch.base.errors import GearsearchError

        read = reader(name)

    def once(data: bytes) -> None:
        with suppress(GearsearchError):
            read(data.decode("utf-8", "replace"))

    atheris.Setup(
        [sys.argv[0], f"-runs={inputs}", "-timeout=1", "-rss_limit_mb=500", "-max_len=4096", "-seed=20261125", corpus],
        once,
    )
    atheris.Fuzz()


def main() -> int:
    if len(sys.argv) == 4:
        fuzz_one(sys.argv[1], int(sys.argv[2]), sys.argv[3])
        return 0
    share = (int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000) // len(READERS)
    for name in READERS:
        with tempfile.TemporaryDirectory() as corpus:
            for number, text in enumerate(STARTS.get(name) or [_demo()]):
                (Path(corpus) / str(number)).write_text(text, encoding="utf-8")
            done = subprocess.run(
                [sys.executable, __file__, name, str(share), corpus], capture_output=True, text=True, check=False
            )
        if done.returncode:
            print(f"{name}: FAILED\n{done.stdout[-2000:]}\n{done.stderr[-4000:]}")
            return 1
        print(f"{name}: {share} inputs, nothing but the package's own errors, none over 1 s or 500 MiB", flush=True)
    return 0


def _demo() -> str:
    from gearsearch.shop.reader import DEMO_TEXT

    return DEMO_TEXT


if __name__ == "__main__":
    raise SystemExit(main())
