#!/bin/sh
# What takes too long for each change, with the environment of test.sh: the long tests, ten times the random examples,
# every boundary case of every operation, faults planted in the method, and the speed beside an earlier checkout, which
# COLDWRIGHT_TEST_BEFORE names (COLDWRIGHT_TEST_FIGURES: where its figures are kept).
set -u
cd "$(dirname "$0")/.."
VENV=${COLDWRIGHT_VENV:-.venv-test}
PATH="$(cd "$VENV/bin" && pwd):$PATH"
export PATH
export OPENBLAS_NUM_THREADS=1
processes=${COLDWRIGHT_TEST_PROCESSES:-2}
failed=0
echo "long tests"
python -m pytest -n "$processes" --dist loadscope -m nightly || failed=1
echo "random examples"
HYPOTHESIS_PROFILE=nightly python -m pytest -n "$processes" --dist loadscope tests/properties tests/contract || failed=1
echo "every case of every operation"
COLDWRIGHT_TEST_EVERY_CASE=1 COLDWRIGHT_TEST_EXAMPLES=100 python -m pytest tests/openapi/test_conformance.py || failed=1
echo "planted faults (prints those that no check finds)"
python tests/planted/plant.py || failed=1
if [ -n "${COLDWRIGHT_TEST_BEFORE:-}" ]; then
    echo "speed beside the checkout of the release before"
    python tests/benchmarks/compare.py "$COLDWRIGHT_TEST_BEFORE" --keep "${COLDWRIGHT_TEST_FIGURES:-figures.json}" || failed=1
fi
exit $failed
