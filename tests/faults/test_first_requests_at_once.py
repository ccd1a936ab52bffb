"""The first requests after a start come from several threads at once, and none of them may end the process."""

import subprocess
import sys

READ_AT_ONCE = """
import sys, threading
import msgspec
from coldwright.contract.reading import convert, read
from coldwright.registry import Registry
sys.setswitchinterval(1e-6)
questions = [(s.calculator.given, s.calculator.examples[0].given) for s in Registry().served.values()]
barrier, answered = threading.Barrier(8), []
def ask(first):
    barrier.wait()
    for given, example in questions[first:] + questions[:first]:
        answered.append(read(given, msgspec.json.encode(example)) == convert(given, example))
threads = [threading.Thread(target=ask, args=(n % 3,)) for n in range(8)]
for thread in threads: thread.start()
for thread in threads: thread.join()
assert all(answered) and len(answered) == 8 * len(questions)
"""


def test_types_are_prepared_by_one_thread_at_a_time() -> None:
    """A process of its own, since a memory fault would end this one."""
    done = subprocess.run(
        [sys.executable, "-c", READ_AT_ONCE], capture_output=True, text=True, timeout=120, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
