#!/bin/sh
# Makes a virtual environment if needed, installs the locked dependencies, runs lint, types and all tests.
set -eu
cd "$(dirname "$0")/.."
unset VIRTUAL_ENV PYTHONPATH PYTHONHOME || true
VENV=${COLDWRIGHT_VENV:-.venv-test}
LOCK=deploy/requirements-test.lock
. deploy/environment.sh
install_locked
PATH="$(cd "$VENV/bin" && pwd):$PATH"
export PATH
export OPENBLAS_NUM_THREADS=1
echo "lint";   ruff check .
ruff format --check --quiet .
# beside the types, on another core: what compiles the tests with their assertions once, else each process does so for itself
env -u PYTHONDONTWRITEBYTECODE python -m pytest --collect-only -qq >/dev/null 2>&1 &
echo "types";  mypy
echo "layers"; lint-imports --no-cache
wait
command -v chromium >/dev/null || command -v chromium-browser >/dev/null || command -v google-chrome >/dev/null ||
    echo "not run: tests/browser, the pages in a real browser, for want of a Chromium on the path (apt install chromium)"
# Three keep two cores busy, since many tests wait for services that they start. In the order of the folders: by the number of
# tests, as xdist would have it, the long files of few tests come last, and one process ends alone.
echo "tests";  exec python -m pytest -n "${COLDWRIGHT_TEST_PROCESSES:-3}" --dist loadscope --no-loadscope-reorder "$@"
