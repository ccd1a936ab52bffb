#!/bin/sh
# Writes what is installed, from the lock file, as a CycloneDX document:  sh deploy/sbom.sh [FILE]
# Uses the virtual environment of test.sh, whose lock holds the library that knows the format.
set -eu
cd "$(dirname "$0")/.."
exec "${COLDWRIGHT_VENV:-.venv-test}/bin/python" deploy/sbom.py "$@"
