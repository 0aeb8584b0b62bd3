"""What importing `timing` costs beside importing numpy alone. Run: `python -m tests.bench.bench_import`."""

import statistics
import subprocess
import sys
import time

ROUNDS = 9
CASES = {
    "numpy": "import numpy",
    "timing": "import numpy, timing",
    "timing, every module but the pictures and documents": (
        "import numpy, timing.coil, timing.crank, timing.curve, timing.distributor, timing.ignition_map, "
        "timing.review, timing.roadlog, timing.strobe, timing.surface, timing.unit, timing.units, timing.vacuum"
    ),
    "scipy.interpolate, for scale": "import numpy, scipy.interpolate",
}


def seconds(code: str) -> float:
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True)
    return time.perf_counter() - started


def main() -> None:
    bare = []
    taken: dict[str, list[float]] = {name: [] for name in CASES}
    for _ in range(ROUNDS):  # interleaved, so that a busy moment of the machine falls on all alike
        bare.append(seconds("pass"))
        for name, code in CASES.items():
            taken[name].append(seconds(code))
    start = min(bare)
    numpy_alone = min(taken["numpy"]) - start
    print(f"numpy alone takes {numpy_alone * 1000:.0f} ms beyond starting Python ({start * 1000:.0f} ms)")
    for name, runs in taken.items():
        ratio, median = (min(runs) - start) / numpy_alone, statistics.median(runs) * 1000
        print(f"{ratio:5.2f} x numpy  {name}  (median {median:.0f} ms)")


if __name__ == "__main__":
    main()
