#!/bin/sh
# Holds the locked dependencies against the published advisories. Needs the network, so it is no part of the tests.
# Uses the virtual environment of test.sh.
set -eu
cd "$(dirname "$0")/.."
for lock in deploy/build.lock deploy/parquet.lock deploy/requirements.lock deploy/requirements-test.lock; do
    "${COLDWRIGHT_VENV:-.venv-test}/bin/python" -m pip_audit --strict --require-hashes --disable-pip --requirement "$lock" "$@"
done
