"""Time from process start to `/health/ready`, aim under 2 s: `python tests/benchmarks/bench_start.py`."""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from running import RunningService


def main() -> None:
    """A few starts: the first with a new store, the rest with one that is there."""
    with tempfile.TemporaryDirectory() as name:
        for number in range(5):
            began = time.perf_counter()
            service = RunningService(Path(name)).wait_ready()
            print(f"start {number + 1}: ready after {time.perf_counter() - began:.2f} s")
            service.stop()
            time.sleep(4)  # its workers end and let go of the processor


if __name__ == "__main__":
    main()
